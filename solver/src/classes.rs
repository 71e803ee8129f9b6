//! Classes of alike strips: same length, width and design, so that one decision serves every member.

use std::collections::{BTreeMap, BTreeSet};

use crate::length::Length;
use crate::scenario::Scenario;
use crate::strips::{QuiltTop, Stage};
use crate::wishes::{StripWishes, Wishes};

/// Strips that are alike in everything that a plan can tell.
#[derive(Clone, Debug)]
pub struct Class {
    /// L: finished length.
    pub length: Length,
    /// w: finished width.
    pub width: Length,
    /// Index of the design in the scenario.
    pub design: usize,
    /// Whether the pattern of these strips has to meet at corners that count.
    pub cornered: bool,
    /// How much of them there is to stitch.
    pub stage: Stage,
    /// What is wished of them.
    pub wishes: StripWishes,
    /// The strips (indices into the quilt top), in the scenario's order.
    pub members: Vec<usize>,
}

/// Groups the strips of a quilt top. `corners_count` tells whether the goal looks at the corners at all.
pub fn of(top: &QuiltTop, wishes: &Wishes, corners_count: bool) -> Vec<Class> {
    let mut cornered = vec![false; top.strips.len()];
    for corner in top.corners.iter().filter(|_| corners_count) {
        for (strip, _) in corner.ends {
            cornered[strip] = true;
        }
    }
    // Strips that are stitched alike show the same at their ends, whether a corner looks at them or not.
    let group = |strip: usize| wishes.group(strip);
    let shown: BTreeSet<usize> = (0..top.strips.len())
        .filter(|strip| cornered[*strip])
        .filter_map(group)
        .collect();
    for (strip, cornered) in cornered.iter_mut().enumerate() {
        *cornered |= group(strip).is_some_and(|group| shown.contains(&group));
    }
    let mut index_of = BTreeMap::new();
    let mut classes: Vec<Class> = Vec::new();
    for (index, strip) in top.strips.iter().enumerate() {
        let wished = wishes.of_strip(index);
        let key = (
            // Both rests of one strip are told apart by what is wished.
            strip.shape(),
            cornered[index],
            wished.clone(),
        );
        let class = *index_of.entry(key).or_insert_with(|| {
            classes.push(Class {
                length: strip.length,
                width: strip.width,
                design: strip.design,
                cornered: cornered[index],
                stage: strip.stage.of_any(),
                wishes: wished,
                members: Vec::new(),
            });
            classes.len() - 1
        });
        classes[class].members.push(index);
    }
    classes
}

/// Up to this many alike strips are planned one by one where they are split into runs.
const FEW: usize = 2;

impl Class {
    /// How many strips get a cover together: all where they are wished alike, otherwise each gets its own.
    pub fn strips_each(&self) -> usize {
        match self.wishes.alike {
            Some(_) => self.members.len(),
            None => 1,
        }
    }

    /// How many covers are chosen for its strips.
    pub fn choices(&self) -> usize {
        self.members.len() / self.strips_each().max(1)
    }

    /// A class for each member where they are few, else the class: for strips that are split into runs. The runs of one strip must not
    /// share a hooping: with a class for each strip every pattern keeps to that, with one for all it has to be dealt out.
    pub fn apart(self) -> Vec<Class> {
        if self.members.len() > FEW || self.wishes.alike.is_some() {
            return vec![self];
        }
        let members = self.members.iter();
        members
            .map(|member| Class {
                members: vec![*member],
                ..self.clone()
            })
            .collect()
    }

    /// The sizes of the design that are for this width, as indices into the design's sizes.
    pub fn sizes(&self, scenario: &Scenario) -> Vec<usize> {
        let sizes = scenario.designs[self.design].sizes.iter();
        let fitting = sizes
            .enumerate()
            .filter(|(_, size)| size.width == self.width);
        fitting.map(|(index, _)| index).collect()
    }
}
