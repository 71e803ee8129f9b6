//! Where the stitching of each begun strip lies, and what is left of it on either side.

use std::collections::BTreeMap;

use crate::length::{Length, Measure, Unit};
use crate::plan::RunEntry;
use crate::replan::Asked;
use crate::replan::done::{Measured, StripWork, TOLERANCE, Work};
use crate::scenario::{Begun, Design, DoneEnd, Size};
use crate::strips::{self, End};

/// What became of a strip of the quilt.
pub(super) struct Fate {
    /// Its id.
    pub id: String,
    /// Its finished length as the scenario has it.
    pub planned: Length,
    /// Its finished length as it is now.
    pub length: Length,
    /// Whether it is to be stitched anew, all of it.
    pub restarts: bool,
    /// What is stitched of it.
    pub stretch: Option<Stretch>,
    /// How much longer its runs came out than planned in all.
    pub drift: Length,
    /// What does not come out at an end.
    pub notes: Vec<Note>,
}

/// The one stretch of a strip that is stitched.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Stretch {
    pub from: Length,
    pub to: Length,
    pub start: Option<DoneEnd>,
    pub end: Option<DoneEnd>,
    /// Whether what is left goes on unscaled.
    pub unscaled: bool,
}

/// What does not come out at an end of a strip.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Note {
    pub end: End,
    pub what: Missed,
    pub by: Length,
}

/// How an end does not come out.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Missed {
    /// All its runs are stitched, and the seam line is not reached: too little for another run.
    Short,
    /// All its runs are stitched, and so much is left that it has to be stitched as well.
    Further,
    /// The stitching ends past the seam line, further than planned.
    Past,
    /// The stitching reaches past the seam line before all runs are stitched.
    Early,
}

/// The fate of every strip of the quilt that is begun, is cut anew, or measures something else.
pub(super) fn fates(asked: &Asked, work: &Work<'_>) -> Vec<Fate> {
    let scenario = &asked.scenario;
    let begun: BTreeMap<&str, &Begun> = scenario
        .begun
        .iter()
        .map(|begun| (begun.strip.as_str(), begun))
        .collect();
    let mut parts: BTreeMap<&str, Vec<&StripWork<'_>>> = BTreeMap::new();
    for of in &work.strips {
        parts.entry(&of.whole).or_default().push(of);
    }
    let mut fates = Vec::new();
    for strip in strips::whole(scenario).strips {
        let id = strip.id.as_str();
        let parts = parts.get(id).map(Vec::as_slice).unwrap_or_default();
        let restarts = work.recut.contains(id) || parts.iter().any(|of| of.restarts);
        let before = begun.get(id).copied().filter(|_| !restarts);
        let told = work.lengths.get(id).copied();
        let mut fate = Fate {
            id: strip.id.clone(),
            planned: strip.length,
            length: told.unwrap_or(strip.length),
            restarts,
            stretch: None,
            drift: Length::ZERO,
            notes: Vec::new(),
        };
        let stitched = parts.iter().any(|of| of.runs.iter().any(Option::is_some));
        if !restarts && (before.is_some() || stitched) {
            let design = &scenario.designs[strip.design];
            Growing {
                design,
                sizes: design
                    .sizes
                    .iter()
                    .filter(|size| size.width == strip.width)
                    .collect(),
                unit: scenario.unit,
                lengths: &work.lengths,
                fate: &mut fate,
            }
            .grow(before, parts);
        }
        if restarts || fate.stretch.is_some() || fate.length != fate.planned {
            fates.push(fate);
        }
    }
    fates
}

/// A strip whose stretch is worked out.
struct Growing<'a, 'f> {
    design: &'a Design,
    sizes: Vec<&'a Size>,
    unit: Unit,
    lengths: &'a BTreeMap<String, Length>,
    fate: &'f mut Fate,
}

/// One end of a stretch on its way outward.
struct Side<'a> {
    /// The outermost stitched run that is new, and what it measures.
    last: Option<(&'a RunEntry, Measured)>,
    /// The runs still to come, and whether there are any.
    to_come: &'a [RunEntry],
    /// The stitching past the seam line that the plan has there.
    planned_past: Length,
}

impl Growing<'_, '_> {
    fn grow(mut self, before: Option<&Begun>, parts: &[&StripWork<'_>]) {
        match before {
            None => {
                if let Some(whole) = parts.first() {
                    self.begin(whole);
                }
            }
            Some(before) => self.go_on(before, parts),
        }
    }

    fn position(&self, measure: &Measure) -> Length {
        measure.length(self.unit).unwrap_or_default()
    }

    /// The first stretch of a strip.
    fn begin(&mut self, of: &StripWork<'_>) {
        let runs = &of.entry.runs;
        let stitched = |run: &Option<Measured>| run.is_some();
        let (Some(first), Some(last)) = (
            of.runs.iter().position(stitched),
            of.runs.iter().rposition(stitched),
        ) else {
            return;
        };
        let drift: Length = of.runs.iter().flatten().map(|run| run.drift).sum();
        let (planned, now) = (self.fate.planned, self.fate.length);
        let (from, to) = (
            self.position(&runs[first].from),
            self.position(&runs[last].to),
        );
        // A stretch that begins at the strip's start stays there, one that ends at its end stays there, and one in the middle
        // gives way to both sides.
        let (from, to) = if first == 0 {
            (from, to + drift)
        } else if last == runs.len() - 1 {
            (from + (now - planned) - drift, to + (now - planned))
        } else {
            let half = |length: Length| Length::from_nanometres(length.nanometres() / 2);
            let from = from + half(now - planned - drift);
            (from, from + (to + drift - self.position(&runs[first].from)))
        };
        let past = |length: Length| length.max(Length::ZERO);
        let start = Side {
            last: Some((&runs[first], measured(of, first))),
            to_come: &runs[..first],
            planned_past: past(-self.position(&runs[0].from)),
        };
        let end = Side {
            last: Some((&runs[last], measured(of, last))),
            to_come: &runs[last + 1..],
            planned_past: past(self.position(&runs[runs.len() - 1].to) - planned),
        };
        self.fate.drift = drift;
        let (before, start) = self.finish(End::Start, from, &start, None);
        let (after, end) = self.finish(End::End, now - to, &end, None);
        let overhangs = of.entry.overhang != Measure::whole(0);
        self.fate.stretch = Some(Stretch {
            from: before,
            to: now - after,
            start,
            end,
            unscaled: overhangs && drift == Length::ZERO && now == planned,
        });
    }

    /// A stretch that has grown, or not.
    fn go_on(&mut self, before: &Begun, parts: &[&StripWork<'_>]) {
        let at = |end: End| {
            let butts = if end == End::Start {
                End::End
            } else {
                End::Start
            };
            parts
                .iter()
                .find(|of| of.strip.stage.butts() == Some(butts))
        };
        let (first, last) = (at(End::Start), at(End::End));
        // What is left may measure something else; of the whole strip, what is still open takes it up.
        let told = |of: Option<&&StripWork<'_>>| {
            let of = of?;
            Some(*self.lengths.get(&of.strip.id)? - of.strip.length)
        };
        let more = self.fate.length - self.fate.planned;
        let open = [before.from > Length::ZERO, before.to < self.fate.planned];
        let half = Length::from_nanometres(more.nanometres() / 2);
        let (at_start, at_end) = match (open[0], open[1]) {
            (true, true) => (half, more - half),
            (true, false) => (more, Length::ZERO),
            (false, _) => (Length::ZERO, more),
        };
        let at_start = told(first).unwrap_or(at_start);
        let at_end = told(last).unwrap_or(at_end);
        let now = self.fate.planned + at_start + at_end;
        self.fate.length = now;
        let drift = |of: Option<&&StripWork<'_>>| -> Length {
            let runs = of.into_iter().flat_map(|of| of.runs.iter().flatten());
            runs.map(|run| run.drift).sum()
        };
        let grown = |of: Option<&&StripWork<'_>>| -> Length {
            let runs = of.into_iter().flat_map(|of| of.runs.iter().flatten());
            runs.map(|run| run.length).sum()
        };
        self.fate.drift = drift(first) + drift(last);
        let from = before.from + at_start - grown(first);
        let to = before.to + at_start + grown(last);
        let mut ends = [before.start, before.end];
        let mut left = [Length::ZERO; 2];
        for (place, end, of, gap) in [(0, End::Start, first, from), (1, End::End, last, now - to)] {
            let Some(of) = of.copied() else {
                // Finished before, or left out of the plan.
                left[place] = if open[place] { gap } else { Length::ZERO };
                continue;
            };
            let runs = &of.entry.runs;
            let stitched = of.runs.iter().flatten().count();
            let (to_come, outermost) = match end {
                End::Start => (&runs[..runs.len() - stitched], runs.len() - stitched),
                End::End => (&runs[stitched..], stitched.saturating_sub(1)),
            };
            let side = Side {
                last: (stitched > 0).then(|| (&runs[outermost], measured(of, outermost))),
                to_come,
                planned_past: self.position(&of.entry.overhang),
            };
            (left[place], ends[place]) = self.finish(end, gap, &side, ends[place]);
        }
        let right = self.fate.drift == Length::ZERO && now == self.fate.planned;
        let overhangs = |of: Option<&&StripWork<'_>>| {
            of.is_some_and(|of| of.entry.overhang != Measure::whole(0))
        };
        self.fate.stretch = Some(Stretch {
            from: left[0],
            to: now - left[1],
            start: ends[0],
            end: ends[1],
            unscaled: right && (before.unscaled || overhangs(first) || overhangs(last)),
        });
    }

    /// What is left at an end that is `gap` away from the stitching, and the pattern there where nothing is.
    fn finish(
        &mut self,
        end: End,
        gap: Length,
        side: &Side<'_>,
        known: Option<DoneEnd>,
    ) -> (Length, Option<DoneEnd>) {
        let all = side.to_come.is_empty();
        let smallest = self.sizes.iter().map(|size| size.repeat).min();
        let smallest = smallest.unwrap_or(Length::from_nanometres(1));
        let repeat = side
            .last
            .and_then(|(run, measured)| self.repeat(run, measured, end));
        let repeat = repeat
            .or(known.map(|known| known.repeat))
            .unwrap_or(smallest);
        let done = |past: Length| {
            let past = past.nanometres().rem_euclid(repeat.nanometres());
            Some(DoneEnd {
                repeat,
                past: Length::from_nanometres(past),
            })
        };
        let mut note = |what: Missed, by: Length| {
            self.fate.notes.push(Note { end, what, by });
        };
        if gap <= TOLERANCE && (all || gap <= -TOLERANCE) {
            let past = (-gap).max(Length::ZERO);
            if !all {
                note(Missed::Early, past);
            } else if past > side.planned_past + TOLERANCE {
                note(Missed::Past, past);
            }
            return (Length::ZERO, done(past));
        }
        if all && gap * 2 < smallest {
            note(Missed::Short, gap);
            return (Length::ZERO, done(-gap));
        }
        if all {
            note(Missed::Further, gap);
        }
        // A gap of next to nothing with runs to come is rounding: something is left for them.
        let gap = gap.max(Length::from_nanometres(1));
        (self.as_it_fits(gap, side.to_come), None)
    }

    /// The repeat of the run's segment at an end as it was stitched.
    fn repeat(&self, run: &RunEntry, measured: Measured, end: End) -> Option<Length> {
        let size = |id: &str| self.design.sizes.iter().find(|size| size.id == id);
        let segments = run.segments.iter();
        let own: Option<i128> = segments
            .map(|of| {
                Some(i128::from(
                    (size(&of.size)?.repeat * i64::from(of.repeats)).nanometres(),
                ))
            })
            .sum();
        let at = match end {
            End::Start => run.segments.first(),
            End::End => run.segments.last(),
        };
        let repeat = i128::from(size(&at?.size)?.repeat.nanometres());
        let scaled = repeat * i128::from(measured.length.nanometres()) / own?.max(1);
        let nanometres = i64::try_from(scaled).ok()?.max(1);
        Some(Length::from_nanometres(nanometres))
    }

    /// The length that is left, moved by no more than rounding so that the planned runs still fit what they fitted.
    fn as_it_fits(&self, left: Length, to_come: &[RunEntry]) -> Length {
        let size = |id: &str| self.sizes.iter().find(|size| size.id == id);
        let own = |run: &RunEntry| -> Option<i128> {
            let segments = run.segments.iter();
            segments
                .map(|of| {
                    Some(i128::from(
                        (size(&of.size)?.repeat * i64::from(of.repeats)).nanometres(),
                    ))
                })
                .sum()
        };
        let runs: Option<Vec<(i128, i128)>> = to_come
            .iter()
            .map(|run| {
                let length = self.position(&run.to) - self.position(&run.from);
                Some((own(run)?, i128::from(length.nanometres())))
            })
            .collect();
        let Some(runs) = runs.filter(|runs| !runs.is_empty()) else {
            return left;
        };
        let sum: i128 = runs.iter().map(|(own, _)| own).sum();
        let repeats: i64 = to_come
            .iter()
            .flat_map(|run| &run.segments)
            .map(|of| i64::from(of.repeats))
            .sum();
        let off = |length: i64| i128::from(length) - sum;
        // Within the rounding of its repeats it is as long as they are.
        let near = i128::from(repeats) + i128::from(TOLERANCE.nanometres());
        if off(left.nanometres()).abs() <= near {
            return Length::from_nanometres(i64::try_from(sum).unwrap_or(left.nanometres()));
        }
        let scales = |length: i64| {
            let length = i128::from(length);
            let used = to_come.iter().flat_map(|run| &run.segments);
            let mut sizes = used.filter_map(|of| size(&of.size));
            sizes.all(|size| {
                let (least, most) = (size.scale.least, size.scale.most);
                least.numerator() * sum <= length * least.denominator()
                    && length * most.denominator() <= most.numerator() * sum
            })
        };
        let no_longer = |length: i64| {
            runs.iter().all(|(own, planned)| {
                let share = crate::exact::round_half_up(i128::from(length) * own, sum);
                share <= *planned
            })
        };
        let at = left.nanometres();
        let tolerance = TOLERANCE.nanometres();
        let near = (0..=20).flat_map(|off| [at - off, at + off]);
        let mut fitting = near.clone().filter(|length| *length > 0 && scales(*length));
        let best = fitting.clone().find(|length| no_longer(*length));
        let edge = [at - tolerance, at + tolerance];
        let best = best.or_else(|| fitting.next());
        let best = best.or_else(|| {
            edge.into_iter()
                .find(|length| *length > 0 && scales(*length))
        });
        // A drifted strip takes its own length: nothing here is rounding then.
        Length::from_nanometres(
            best.filter(|_| self.fate.drift == Length::ZERO)
                .unwrap_or(at),
        )
    }
}

/// A stitched run's measure.
fn measured(of: &StripWork<'_>, run: usize) -> Measured {
    of.runs[run].unwrap_or(Measured {
        length: Length::ZERO,
        drift: Length::ZERO,
    })
}
