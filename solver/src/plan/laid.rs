//! How the runs of a strip lie along it, once the order of the hoopings is known.

use std::collections::BTreeMap;

use crate::cover::{Part, Piece, Runs, SequenceRule, Sides, Sizes, most_segments, placed};
use crate::draft::Draft;
use crate::length::Length;
use crate::scenario::Size;
use crate::strips::End;
use crate::task::Task;

/// A run of a strip as it lies on it.
#[derive(Clone, Debug)]
pub(super) struct LaidRun<'a> {
    /// Index of its hooping.
    pub hooping: usize,
    /// What it is stitched with.
    pub piece: &'a Piece,
    /// Its segments in order along the strip: size, repeats.
    pub segments: Vec<(&'a Size, u32)>,
    /// Its stitched length.
    pub length: Length,
    /// The ends to which the next run will butt up.
    pub open: &'static [End],
    /// Where it is in the draft: run number.
    pub number: usize,
}

/// For each strip whose order of runs is told the runs along it from its start. Strips that are stitched alike get the same
/// order.
pub(super) fn along(
    task: &Task<'_>,
    draft: &Draft,
    hooping_of: &[Vec<usize>],
) -> BTreeMap<usize, Vec<usize>> {
    let mut found = BTreeMap::new();
    for class in task.classes {
        let Some(rule) = SequenceRule::of(task.scenario, class) else {
            continue;
        };
        let sides = Sides::of(task.scenario.rules.growth, class.stage);
        for strips in class.members.chunks(class.strips_each().max(1)) {
            let Some(choice) = strips.first().and_then(|strip| draft.covers[*strip]) else {
                continue;
            };
            let cover = task.cover(choice);
            let parts = cover.runs.each();
            let worked = |strip: &usize| {
                let mut worked: Vec<(usize, Part)> = parts.iter().copied().enumerate().collect();
                worked.sort_by_key(|(run, _)| hooping_of[*strip].get(*run));
                worked
            };
            let worked: Vec<_> = strips.iter().map(worked).collect();
            let sequences = rule.sequences(&task.covers[choice.0].pieces, cover).list;
            let runs = sequences.iter().find_map(|sequence| {
                let each = worked.iter().map(|worked| placed(sequence, worked, sides));
                each.collect::<Option<Vec<_>>>()
            });
            found.extend(strips.iter().copied().zip(runs.unwrap_or_default()));
        }
    }
    found
}

/// The order of a strip's runs along it. The outer run that is stitched last is at the end unless the pattern at the
/// ends says otherwise; the inner runs follow each other in the order of the work, away from the other outer run.
pub(super) fn lay_runs<'a>(
    task: &Task<'a>,
    choice: (usize, usize),
    hooping_of: &[usize],
    along: Option<&Vec<usize>>,
) -> Vec<LaidRun<'a>> {
    let cover = task.cover(choice);
    let of_class = &task.covers[choice.0];
    let hooping = |run: usize| hooping_of.get(run).copied().unwrap_or(0);
    let ends = cover.ends.map(|ends| ends.repeats);
    let run = |number: usize,
               piece: usize,
               open: &'static [End],
               start: Option<Length>,
               end: Option<Length>| {
        let piece = &of_class.pieces[piece];
        LaidRun {
            hooping: hooping(number),
            piece,
            segments: segments(&of_class.sizes, piece, start, end),
            length: cover.settled.stitched(piece.sum),
            open,
            number,
        }
    };
    let butts = task.classes[choice.0].stage.butts();
    if let Some(along) = along {
        let (parts, last) = (cover.runs.each(), along.len().saturating_sub(1));
        let laid = along.iter().enumerate().map(|(place, number)| {
            let open_at = |end: End| match end {
                End::Start => place > 0 || butts == Some(End::Start),
                End::End => place < last || butts == Some(End::End),
            };
            let open: &'static [End] = match (open_at(End::Start), open_at(End::End)) {
                (true, true) => &[End::Start, End::End],
                (true, false) => &[End::Start],
                (false, true) => &[End::End],
                (false, false) => &[],
            };
            // No corner looks at an end that butts up.
            let shown = |end: End, here: bool| {
                let repeats = ends.filter(|_| here && butts != Some(end))?;
                Some(repeats[usize::from(end == End::End)])
            };
            let start = shown(End::Start, place == 0);
            run(
                *number,
                parts[*number].0,
                open,
                start,
                shown(End::End, place == last),
            )
        });
        return laid.collect();
    }
    match &cover.runs {
        Runs::Single(piece) => {
            vec![run(
                0,
                *piece,
                &[],
                ends.map(|ends| ends[0]),
                ends.map(|ends| ends[1]),
            )]
        }
        Runs::Nothing => Vec::new(),
        Runs::Rest { inner, outer } => {
            let last = inner.len();
            let mut order: Vec<(usize, usize)> = inner.iter().copied().enumerate().collect();
            // The first to be stitched lies next to what is stitched already.
            order.sort_by_key(|(number, _)| hooping(*number));
            let inner = order
                .into_iter()
                .map(|(number, piece)| run(number, piece, &[End::Start, End::End], None, None));
            let mut runs: Vec<LaidRun<'_>> = inner.collect();
            match butts {
                Some(End::End) => {
                    let start = ends.map(|ends| ends[0]);
                    runs.push(run(last, *outer, &[End::End], start, None));
                    runs.reverse();
                }
                _ => {
                    let end = ends.map(|ends| ends[1]);
                    runs.push(run(last, *outer, &[End::Start], None, end));
                }
            }
            runs
        }
        Runs::Several { outer, inner } => {
            let last = inner.len() + 1;
            let mut inner: Vec<(usize, usize)> = inner
                .iter()
                .enumerate()
                .map(|(index, piece)| (index + 1, *piece))
                .collect();
            inner.sort_by_key(|(number, _)| hooping(*number));
            if hooping(0) > hooping(last) {
                inner.reverse();
            }
            let mut runs = vec![run(
                0,
                outer[0],
                &[End::End],
                ends.map(|ends| ends[0]),
                None,
            )];
            for (number, piece) in inner {
                runs.push(run(number, piece, &[End::Start, End::End], None, None));
            }
            runs.push(run(
                last,
                outer[1],
                &[End::Start],
                None,
                ends.map(|ends| ends[1]),
            ));
            runs
        }
    }
}

/// Splits a piece into segments, with a segment of the wanted repeat at the start and at the end.
fn segments<'a>(
    sizes: &Sizes<'a>,
    piece: &Piece,
    start: Option<Length>,
    end: Option<Length>,
) -> Vec<(&'a Size, u32)> {
    let mut left: Vec<(usize, u32)> = piece.repeats.clone();
    let mut take_one = |wanted: Option<Length>, both: bool| {
        let wanted = wanted?;
        let at = left
            .iter()
            .position(|(bit, count)| sizes.list[*bit].1.repeat == wanted && *count > 0)?;
        let (bit, count) = left[at];
        let size = sizes.list[bit].1;
        // As much as one segment holds, but leaving a repeat for the other end where that needs one too.
        let keep =
            u32::from(both && most_segments(sizes, (bit, count)) > 1 && count <= size.repeats);
        let taken = if size.stop_early {
            size.repeats.min(count - keep)
        } else {
            size.repeats
        };
        left[at].1 -= taken;
        Some((size, taken))
    };
    let several = piece.repeats.len() > 1;
    let first = take_one(start.filter(|_| several), start == end);
    let last = take_one(end.filter(|_| several), false);
    let mut segments: Vec<(&Size, u32)> = first.into_iter().collect();
    for (bit, mut count) in left {
        let size = sizes.list[bit].1;
        while count > 0 {
            let taken = size.repeats.min(count);
            segments.push((size, taken));
            count -= taken;
        }
    }
    segments.extend(last);
    segments
}
