//! The hoopings and runs of another plan as a draft: where a search begins that should change no more than it gains by.

use std::collections::BTreeMap;

use crate::columns::FoundPlan;
use crate::cover::{Cover, EndPatterns, Runs, Tally, phases, settle};
use crate::deal::Dealt;
use crate::plan::{HoopingEntry, Placement, StripEntry, by_id};
use crate::strips::End;
use crate::task::Task;

/// What is kept of another plan. Only its hoops, lanes, runs and segments are looked at; positions follow anew.
#[derive(Clone, Debug)]
pub(crate) struct Kept {
    /// The strips, by the ids that they have now.
    pub strips: Vec<StripEntry>,
    /// The hoopings in the order of the work, numbered from 1.
    pub hoopings: Vec<HoopingEntry>,
    /// Whether it is kept even where another plan would be better.
    pub firmly: bool,
}

impl Kept {
    /// The draft; `None` where it is none for this task.
    pub(crate) fn found(&self, task: &Task<'_>) -> Option<FoundPlan> {
        let mut covers = vec![None; task.top.strips.len()];
        // Strip id and run along the strip: strip, and the run's number in its cover.
        let mut numbers: BTreeMap<(&str, usize), (usize, usize)> = BTreeMap::new();
        let entries = by_id(&self.strips);
        for (class, of) in task.classes.iter().enumerate() {
            for strip in &of.members {
                if of.stage.is_done() {
                    covers[*strip] = Some((class, task.covers[class].covers.first()?.clone()));
                    continue;
                }
                let entry = entries.get(task.top.strips[*strip].id.as_str())?;
                let (cover, order) = cover(task, class, entry)?;
                covers[*strip] = Some((class, cover));
                for (along, number) in order.into_iter().enumerate() {
                    numbers.insert((entry.id.as_str(), along), (*strip, number));
                }
            }
        }
        let hoopings = self.hoopings.iter();
        let hoopings: Option<Vec<Dealt>> = hoopings
            .map(|hooping| dealt(task, hooping, &numbers))
            .collect();
        let hoopings = hoopings?;
        let placed: usize = hoopings.iter().flat_map(|of| &of.lanes).map(Vec::len).sum();
        (placed == numbers.len()).then_some(FoundPlan { covers, hoopings })
    }
}

fn dealt(
    task: &Task<'_>,
    hooping: &HoopingEntry,
    numbers: &BTreeMap<(&str, usize), (usize, usize)>,
) -> Option<Dealt> {
    let hoops = &task.scenario.hoops;
    let mut lanes: BTreeMap<u32, Vec<&Placement>> = BTreeMap::new();
    for placement in &hooping.placements {
        lanes.entry(placement.lane).or_default().push(placement);
    }
    let lane = |mut runs: Vec<&Placement>| -> Option<Vec<(usize, usize)>> {
        let unit = task.scenario.unit;
        runs.sort_by_key(|placement| placement.along.length(unit));
        let number = |placement: &Placement| {
            let run = usize::try_from(placement.run).ok()?.checked_sub(1)?;
            numbers.get(&(placement.strip.as_str(), run)).copied()
        };
        runs.into_iter().map(number).collect()
    };
    Some(Dealt {
        hoop: hoops.iter().position(|hoop| hoop.id == hooping.hoop)?,
        turned: hooping.turned,
        lanes: lanes.into_values().map(lane).collect::<Option<_>>()?,
    })
}

/// The cover of a strip, and for each of its runs along the strip the number in the cover.
fn cover(task: &Task<'_>, class: usize, entry: &StripEntry) -> Option<(Cover, Vec<usize>)> {
    let (of_class, stage) = (&task.covers[class], task.classes[class].stage);
    let sizes = &of_class.sizes;
    let (mut pieces, mut tally) = (Vec::new(), Tally::NOTHING);
    for run in &entry.runs {
        let mut repeats: BTreeMap<usize, u32> = BTreeMap::new();
        for segment in &run.segments {
            let mut list = sizes.list.iter();
            let bit = list.position(|(_, size)| size.id == segment.size)?;
            *repeats.entry(bit).or_default() += segment.repeats;
        }
        let used = repeats.keys().fold(0, |set, bit| set | 1 << bit);
        let sum = repeats
            .iter()
            .map(|(bit, count)| sizes.list[*bit].1.repeat * i64::from(*count))
            .sum();
        let alike = |piece: &crate::cover::Piece| piece.sum == sum && piece.sizes == used;
        let piece = of_class.pieces.iter().position(alike)?;
        tally = tally.with(&of_class.pieces[piece]);
        pieces.push(piece);
    }
    let settled = settle(task.scenario, task.classes[class].length, sizes, tally)?;
    let repeat = |at_end: bool| {
        let run = if at_end {
            entry.runs.last()?
        } else {
            entry.runs.first()?
        };
        let segment = if at_end {
            run.segments.last()?
        } else {
            run.segments.first()?
        };
        let mut list = sizes.list.iter();
        Some(list.find(|(_, size)| size.id == segment.size)?.1.repeat)
    };
    let repeats = match stage.butts() {
        Some(End::Start) => [repeat(true)?; 2],
        Some(End::End) => [repeat(false)?; 2],
        None => [repeat(false)?, repeat(true)?],
    };
    let (runs, order) = numbered(stage.butts(), &pieces)?;
    let ends = task.classes[class].cornered.then(|| EndPatterns {
        repeats,
        phases: phases(task.scenario, stage, &settled, repeats),
    });
    let cover = Cover {
        settled,
        runs,
        ends,
    };
    Some((cover, order))
}

/// Pieces in order along the strip as the runs of a cover, and the number of each there.
fn numbered(butts: Option<End>, pieces: &[usize]) -> Option<(Runs, Vec<usize>)> {
    let count = pieces.len();
    let (outer, first): (Vec<usize>, usize) = match (butts, count) {
        (_, 0) => return None,
        (None, 1) => return Some((Runs::Single(pieces[0]), vec![0])),
        (None, _) => (vec![0, count - 1], 1),
        (Some(End::Start), _) => (vec![count - 1], 0),
        (Some(End::End), _) => (vec![0], 0),
    };
    let mut inner: Vec<usize> = (0..count).filter(|run| !outer.contains(run)).collect();
    inner.sort_by_key(|run| pieces[*run]);
    let mut order = vec![0; count];
    for (place, run) in inner.iter().enumerate() {
        order[*run] = first + place;
    }
    order[outer[outer.len() - 1]] = count - 1;
    let inner: Vec<usize> = inner.into_iter().map(|run| pieces[run]).collect();
    let runs = match outer.as_slice() {
        [start, end] => Runs::Several {
            outer: [pieces[*start], pieces[*end]],
            inner,
        },
        _ => Runs::Rest {
            inner,
            outer: pieces[outer[0]],
        },
    };
    Some((runs, order))
}
