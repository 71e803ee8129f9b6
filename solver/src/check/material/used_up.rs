//! Tape and thread: what is used up by length, and bought by the roll or spool where its size is known.

use std::collections::{BTreeMap, HashMap};

use super::list::{Amount, Line};
use crate::exact::{Exact, round_half_up};
use crate::job::Material;
use crate::length::Length;
use crate::plan::{Plan, StripEntry};
use crate::scenario::{Scenario, Size};

pub(super) fn line<'a>(
    material: Material,
    name: &'a str,
    long: Exact,
    roll: Option<Length>,
    price_each: Option<Exact>,
) -> Line<'a> {
    // Every nanometre that is begun counts.
    let long = -(-long.numerator()).div_euclid(long.denominator());
    Line {
        material,
        name,
        stock: None,
        size: Vec::new(),
        amount: match roll {
            Some(roll) => Amount::Rolls(long, i128::from(roll.nanometres())),
            None => Amount::Length(long),
        },
        price_each,
    }
}

/// The tape, where its use is told.
pub(super) fn tape(scenario: &Scenario, plan: &Plan) -> Option<Line<'static>> {
    let tape = scenario.materials.tape?;
    let long = tape_length(scenario, plan)?;
    Some(line(Material::Tape, "tape", long, tape.roll, tape.price))
}

/// The nanometres of tape, where its use is told.
pub(super) fn tape_length(scenario: &Scenario, plan: &Plan) -> Option<Exact> {
    let tape = scenario.materials.tape?;
    let runs: usize = plan.strips.iter().map(|entry| entry.runs.len()).sum();
    let long = i128::from(tape.each_run.nanometres()) * i128::try_from(runs).ok()?;
    Exact::new(long, 1)
}

/// The threads on top, and the bobbin's, which takes as much as all of them. There are none where the stitches of a size that is used
/// are not known.
pub(super) fn threads<'a>(scenario: &'a Scenario, plan: &Plan) -> Vec<Line<'a>> {
    let thread = &scenario.materials.thread;
    let lengths = thread_lengths(scenario, plan).unwrap_or_default();
    let lines = lengths
        .into_iter()
        .map(|(name, long)| line(Material::Thread, name, long, thread.spool, thread.price));
    lines.collect()
}

/// The nanometres of each thread, as fractions; the bobbin's last.
pub(super) fn thread_lengths<'a>(
    scenario: &'a Scenario,
    plan: &Plan,
) -> Option<Vec<(&'a str, Exact)>> {
    let designs: HashMap<&str, usize> = (0..)
        .zip(&scenario.designs)
        .map(|(number, design)| (design.id.as_str(), number))
        .collect();
    let sizes: Vec<HashMap<&str, &Size>> = scenario
        .designs
        .iter()
        .map(|design| {
            design
                .sizes
                .iter()
                .map(|size| (size.id.as_str(), size))
                .collect()
        })
        .collect();
    // Of each design, what its strips have.
    let mut of_design: BTreeMap<usize, Stitches> = BTreeMap::new();
    for entry in &plan.strips {
        let design = *designs.get(entry.design.as_str())?;
        of_design
            .entry(design)
            .or_default()
            .add(sizes.get(design)?, entry)?;
    }
    // By name: stitches as fractions, since those that are not told by thread are shared alike among a design's threads.
    let mut by_name: BTreeMap<&str, (i128, i128)> = BTreeMap::new();
    for (design, own) in &of_design {
        let threads = &scenario.designs[*design].threads;
        let alone = ["upper thread"];
        let names: Vec<&str> = if threads.is_empty() {
            alone.to_vec()
        } else {
            threads.iter().map(String::as_str).collect()
        };
        let share = i128::try_from(names.len()).ok()?;
        for (number, name) in names.into_iter().enumerate() {
            let (upper, lower) = by_name.get(name).copied().unwrap_or((0, 1));
            let told = own.by_thread.get(number).copied().unwrap_or(0);
            let own = own.alike.checked_add(told.checked_mul(share)?)?;
            let sum = upper
                .checked_mul(share)?
                .checked_add(own.checked_mul(lower)?)?;
            let sum = Exact::new(sum, lower.checked_mul(share)?)?;
            by_name.insert(name, (sum.numerator(), sum.denominator()));
        }
    }
    let thread = &scenario.materials.thread;
    let each = i128::from((thread.stitch + thread.thickness).nanometres());
    let grown = thread.extra.numerator() + thread.extra.denominator();
    let long = |upper: i128, lower: i128| {
        let upper = upper.checked_mul(each)?.checked_mul(grown)?;
        Exact::new(upper, lower.checked_mul(thread.extra.denominator())?)
    };
    let all = of_design
        .values()
        .try_fold(0_i128, |all, own| all.checked_add(own.all))?;
    let mut lengths = Vec::new();
    for (name, (upper, lower)) in by_name {
        lengths.push((name, long(upper, lower)?));
    }
    lengths.push(("bobbin thread", long(all, 1)?));
    Some(lengths)
}

/// The stitches of a design's strips, each segment's to the nearest whole one.
#[derive(Default)]
struct Stitches {
    /// All of them.
    all: i128,
    /// Those of sizes that do not tell them by thread.
    alike: i128,
    /// Those of sizes that do, for each thread.
    by_thread: Vec<i128>,
}

impl Stitches {
    fn add(&mut self, sizes: &HashMap<&str, &Size>, entry: &StripEntry) -> Option<()> {
        for segment in entry.runs.iter().flat_map(|run| &run.segments) {
            let size = sizes.get(segment.size.as_str())?;
            let of_segment = |of_file: u64| {
                let stitched = i128::from(of_file) * i128::from(segment.repeats);
                round_half_up(stitched, i128::from(size.repeats))
            };
            let all = of_segment(size.stitches?);
            self.all = self.all.checked_add(all)?;
            if size.by_thread.is_empty() {
                self.alike = self.alike.checked_add(all)?;
                continue;
            }
            let threads = self.by_thread.len().max(size.by_thread.len());
            self.by_thread.resize(threads, 0);
            for (sum, of_file) in self.by_thread.iter_mut().zip(&size.by_thread) {
                *sum = sum.checked_add(of_segment(*of_file))?;
            }
        }
        Some(())
    }
}
