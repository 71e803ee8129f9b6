//! How long the work of a plan takes, and what thread it uses.

use crate::exact::round_half_up;
use crate::length::Measure;
use crate::plan::laid::LaidRun;
use crate::plan::{ThreadEntry, WorkEntry};
use crate::scenario::{Scenario, Size, Thread};
use crate::task::Task;
use crate::time::Time;

/// The work of laid runs, given the hoops of the hoopings in their order.
pub(super) fn work(task: &Task<'_>, hoops: &[usize], laid: &[Vec<LaidRun<'_>>]) -> WorkEntry {
    let scenario = task.scenario;
    let rates = &scenario.rates;
    let thread_changes: i64 = laid
        .iter()
        .zip(&task.top.strips)
        .map(|(runs, strip)| count(runs.len()) * scenario.designs[strip.design].thread_changes())
        .sum();
    let runs = count(laid.iter().map(Vec::len).sum());
    let hoop_changes = count(hoops.windows(2).filter(|pair| pair[0] != pair[1]).count());
    let by_hand = rates.hooping * count(hoops.len())
        + rates.placement * runs
        + rates.thread_change * thread_changes
        + rates.hoop_change * hoop_changes;
    let segments = || laid.iter().flatten().flat_map(|run| &run.segments);
    let stitches: Option<i64> = segments().map(stitches_of).sum();
    let at_machine: Option<Time> = segments()
        .map(|(size, repeats)| Some(rates.of_repeat(size)? * i64::from(*repeats)))
        .sum();
    WorkEntry {
        stitches,
        machine_minutes: at_machine.map(Time::in_minutes),
        hands_on_minutes: by_hand.in_minutes(),
        minutes: at_machine.map(|time| (time + by_hand).in_minutes()),
        thread_changes,
        thread: stitches.map(|stitches| thread_of(scenario, stitches)),
    }
}

fn count(number: usize) -> i64 {
    i64::try_from(number).unwrap_or(i64::MAX)
}

/// The stitches of so many repeats, to the nearest whole one.
fn stitches_of((size, repeats): &(&Size, u32)) -> Option<i64> {
    let all = i128::from(size.stitches?) * i128::from(*repeats);
    i64::try_from(round_half_up(all, size.repeats.into())).ok()
}

/// The thread for so many stitches: see [`Thread`].
fn thread_of(scenario: &Scenario, stitches: i64) -> ThreadEntry {
    let Thread {
        stitch,
        thickness,
        extra,
        ..
    } = scenario.materials.thread;
    let length = i128::from(stitches) * i128::from((stitch + thickness).nanometres());
    let unit = i128::from(scenario.unit.nanometres());
    let each = Measure::from_ratio(
        length.saturating_mul(extra.numerator() + extra.denominator()),
        extra.denominator() * unit,
    );
    ThreadEntry {
        upper: each.clone(),
        bobbin: each,
    }
}
