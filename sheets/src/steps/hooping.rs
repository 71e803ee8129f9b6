//! What is done in one hooping, from the stabilizer to the trimmed end.

use sashwright_solver::job::{Step, StepKind, StepsOfHooping};
use sashwright_solver::length::Length;
use sashwright_solver::plan::{HoopingEntry, Placement, RunEntry, StripEntry};
use sashwright_solver::scenario::BattingBy;
use sashwright_solver::strips::End;

use super::grouped::Grouped;
use super::sewing::stitching;
use super::{Told, step};
use crate::words::{Lie, listed, reversed};

/// A run that is stitched in the hooping.
struct Run<'a> {
    strip: &'a StripEntry,
    entry: &'a RunEntry,
    placement: &'a Placement,
    /// Its place among the strip's runs, from 0.
    index: usize,
    lie: Lie,
}

/// What there is at an end of a run.
#[derive(Clone, Copy, PartialEq, Eq)]
enum At {
    /// The strip's own end.
    Closed,
    /// Stitching that was done before: in the hooping of that run, or before this plan.
    Done(Option<(usize, u32)>),
    /// Nothing yet; that run, in that hooping, comes later.
    Later(usize, u32),
}

impl Run<'_> {
    fn at(&self, end: End) -> At {
        if !self.placement.open.contains(&end) {
            return At::Closed;
        }
        let other = match end {
            End::Start => self.index.checked_sub(1),
            End::End => Some(self.index + 1),
        };
        let other = other.and_then(|other| Some((other, self.strip.runs.get(other)?.hooping)));
        match other {
            Some((other, hooping)) if hooping > self.entry.hooping => At::Later(other, hooping),
            done => At::Done(done),
        }
    }

    /// The names of its ends that are so, in words.
    fn ends(&self, is: impl Fn(At) -> bool) -> Vec<&'static str> {
        [End::Start, End::End]
            .into_iter()
            .filter(|end| is(self.at(*end)))
            .map(|end| self.lie.end(end))
            .collect()
    }

    /// Whether nothing of its strip is stitched yet.
    fn is_first(&self) -> bool {
        !matches!(self.at(End::Start), At::Done(_)) && !matches!(self.at(End::End), At::Done(_))
    }
}

/// The steps of a hooping.
pub(super) fn steps(told: &Told<'_>, hooping: &HoopingEntry) -> StepsOfHooping {
    let runs: Vec<Run<'_>> = hooping
        .placements
        .iter()
        .filter_map(|placement| run(told, placement))
        .collect();
    // Two runs of one strip never share a hooping: its name says which run is meant.
    let names: Vec<&str> = runs.iter().map(|run| run.strip.id.as_str()).collect();
    let all = listed(&names);
    let mut steps = vec![hoop(told, hooping)];
    steps.push(step(
        StepKind::PlacementLine,
        format!("Stitch the placement line for the batting of {all}."),
    ));
    let said = |kind, verb, say: &dyn Fn(&Run<'_>) -> String| {
        let mut grouped = Grouped::default();
        for run in &runs {
            grouped.add(&run.strip.id, say(run));
        }
        grouped.steps(kind, verb).collect::<Vec<Step>>()
    };
    steps.extend(said(StepKind::Batting, "Lay the batting of", &|run| {
        batting(told, run)
    }));
    steps.push(trim_batting(told, &runs));
    steps.push(step(
        StepKind::PlacementLine,
        format!("Stitch the placement line for the fabric of {all}."),
    ));
    steps.extend(said(StepKind::Fabric, "Lay the fabric of", &|run| {
        fabric(told, run)
    }));
    steps.push(hold(told));
    steps.extend(said(StepKind::TackDown, "Tack down", &tack_down));
    steps.extend(said(StepKind::Design, "Stitch", &|run| {
        stitching(told, run.strip, run.entry)
    }));
    steps.push(step(
        StepKind::Unhoop,
        "Take the hoop off the machine and the work out of the hoop.",
    ));
    steps.extend(trim_stabilizer(&runs));
    StepsOfHooping {
        hooping: hooping.number,
        steps,
    }
}

fn run<'a>(told: &Told<'a>, placement: &'a Placement) -> Option<Run<'a>> {
    let strip = told.book.strip(&placement.strip)?;
    let index = usize::try_from(placement.run).ok()?.checked_sub(1)?;
    Some(Run {
        strip,
        entry: strip.runs.get(index)?,
        placement,
        index,
        lie: told.book.lie(&placement.strip),
    })
}

fn hoop(told: &Told<'_>, hooping: &HoopingEntry) -> Step {
    let size = told.ruler.size(&hooping.stabilizer);
    let letter = told
        .pieces
        .get(format!("hooping {}", hooping.number).as_str());
    let piece = match letter {
        Some(letter) => format!("stabilizer {letter}, {size},"),
        None => format!("stabilizer, {size},"),
    };
    step(
        StepKind::Hoop,
        format!("Hoop {piece} flat and taut in hoop {}.", hooping.hoop),
    )
}

/// How the batting of a run is laid.
fn batting(told: &Told<'_>, run: &Run<'_>) -> String {
    let of = told.scenario.materials.batting.as_ref();
    let past = match of
        .map(|batting| batting.reach)
        .filter(|reach| *reach > Length::ZERO)
    {
        Some(reach) => format!("{} past it", told.brief(reach)),
        None => "past it".into(),
    };
    let by_run = of.is_some_and(|batting| batting.by == BattingBy::Run);
    let done = run.ends(|at| matches!(at, At::Done(_)));
    let later = run.ends(|at| matches!(at, At::Later(..)));
    let closed = run.ends(|at| at == At::Closed);
    let mut text = format!(" over the line, {past} at both sides");
    if !closed.is_empty() {
        text.push_str(&format!(" and at the {}", listed(&closed)));
    }
    if !done.is_empty() {
        let done = listed(&done);
        text.push_str(&match by_run {
            true => {
                format!("; at the {done} it meets the batting that is stitched down, edge to edge")
            }
            false => format!(
                "; at the {done} it goes on from what is stitched down, flat and not pulled"
            ),
        });
    }
    if !later.is_empty() {
        let later = listed(&later);
        text.push_str(&match by_run {
            true => format!("; at the {later} it ends with the line"),
            false => format!("; past the {later} the rest of the piece stays loose"),
        });
    }
    text.push('.');
    text
}

fn trim_batting(told: &Told<'_>, runs: &[Run<'_>]) -> Step {
    let open = runs.iter().any(|run| !run.placement.open.is_empty());
    let by = told
        .scenario
        .materials
        .batting
        .as_ref()
        .map(|batting| batting.by);
    let where_to = match (open, by) {
        (false, _) => "close to the line all around",
        (true, Some(BattingBy::Run)) => {
            "close to the line at sides and closed ends, and flush with it at open ends"
        }
        (true, _) => "close to the line at sides and closed ends, not across open ends",
    };
    step(
        StepKind::Trim,
        format!(
            "Take the hoop off the machine, the work still in it. Trim the batting {where_to}; do not cut into the stabilizer. \
             Put the hoop back."
        ),
    )
}

/// How the fabric of a run is laid.
fn fabric(told: &Told<'_>, run: &Run<'_>) -> String {
    let past = told.brief(told.scenario.allowances.reach());
    let closed = run.ends(|at| at == At::Closed);
    let mut text = match (run.is_first(), closed.len()) {
        (true, 2) => format!(" right side up, {past} past the line all around"),
        (_, 0) => format!(" right side up, {past} past the line at both sides"),
        _ => format!(
            " right side up, {past} past the line at both sides and at the {}",
            listed(&closed)
        ),
    };
    for end in [End::Start, End::End] {
        let name = run.lie.end(end);
        match run.at(end) {
            At::Closed => {}
            At::Done(Some((other, hooping))) => text.push_str(&format!(
                "; at the {name} the line across meets the end of run {} from hooping {hooping}, without gap or overlap",
                other + 1
            )),
            At::Done(None) => text.push_str(&format!(
                "; at the {name} the line across meets the end of what is stitched already, without gap or overlap"
            )),
            At::Later(..) => text.push_str(&format!(
                "; at the {name} the strip goes on: fold the rest back, out of the needle's way"
            )),
        }
    }
    if run.placement.reversed {
        text.push_str("; ");
        text.push_str(&reversed(run.lie));
    }
    text.push('.');
    text
}

fn hold(told: &Told<'_>) -> Step {
    let with = match &told.scenario.materials.tape {
        Some(tape) => format!("tape, about {} for each", told.brief(tape.each_run)),
        None => "tape or pins".into(),
    };
    step(
        StepKind::Hold,
        format!("Hold the fabric with {with}, outside of everything that will be stitched."),
    )
}

/// Along which edges a run is tacked down.
fn tack_down(run: &Run<'_>) -> String {
    let closed = run.ends(|at| at == At::Closed);
    let open = run.ends(|at| at != At::Closed);
    match (&closed[..], &open[..]) {
        (_, []) => " at both sides and both ends.".into(),
        ([], _) => " at both sides only: no line across either end.".into(),
        (closed, open) => format!(
            " at both sides and the {}: no line across the {}.",
            listed(closed),
            listed(open)
        ),
    }
}

/// Where the stabilizer has to end with the stitching, and where strips are cut apart.
fn trim_stabilizer(runs: &[Run<'_>]) -> Vec<Step> {
    let mut steps = Vec::new();
    if runs.len() > 1 {
        steps.push(step(
            StepKind::Trim,
            "Cut the stabilizer apart between the strips.",
        ));
    }
    let mut flush = Grouped::default();
    for run in runs {
        for end in [End::Start, End::End] {
            if let At::Later(other, hooping) = run.at(end) {
                flush.add(
                    &run.strip.id,
                    format!(
                        ", at the {}: run {} butts up there in hooping {hooping}. Do not cut the fabric.",
                        run.lie.end(end),
                        other + 1
                    ),
                );
            }
        }
    }
    steps.extend(flush.steps(
        StepKind::Trim,
        "Trim the stabilizer flush with the end of the stitching of",
    ));
    steps
}
