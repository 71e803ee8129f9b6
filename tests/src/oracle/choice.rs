//! Every way to stitch one strip: its runs, its overhang, and the pattern at its ends.

use std::collections::BTreeSet;

use sashwright_solver::exact::round_half_up;
use sashwright_solver::length::Length;
use sashwright_solver::scenario::{Align, DoneEnd, Scenario, Size, Term};
use sashwright_solver::strips::{End, QuiltTop, Stage, Strip};
use sashwright_solver::time::Time;

use super::corner::{EndPattern, done_pattern, end_pattern, outer_pattern};
use super::covering::{Covering, Segment, coverings};
use super::hooping::fits_alone;
use super::score::PARTS_OF_A_MINUTE;
use super::wishes::Wishes;
use super::work::{TooMuchWork, Work};

/// All that a hooping has to know of a run; nanometres.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct Run {
    /// t: stitched length.
    pub length: i128,
    /// w: the strip's width.
    pub width: i128,
    /// m: margin along, both ends together.
    pub margin_along: i128,
    /// a: margin across, both sides together.
    pub margin_across: i128,
    /// How many of its ends the next run will butt up to.
    pub open_ends: u8,
    /// Its strip (index), where something is wished; otherwise strips need not be told apart.
    pub strip: usize,
}

/// The segments of a run in order: size, repeats.
pub type Repeats = Vec<(String, i128)>;

/// One way to stitch one strip.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct Choice {
    /// The runs, in order along the strip; of what is left of a begun one, from the stretch outward.
    pub runs: Vec<Run>,
    /// T − L in nanometres.
    pub overhang: i128,
    /// What its runs take, stitched and laid, in ten-thousandths of a minute; 0 where the goal does not count minutes.
    pub time: i128,
    /// The pattern at start and end; `None` where no corner that counts is there.
    pub ends: Option<[EndPattern; 2]>,
    /// The segments of each run, where the strip is wished to be like another.
    pub segments: Vec<Repeats>,
}

/// Every way to stitch a strip; empty where it cannot be stitched. Ways that nothing could tell apart are listed once.
pub fn choices(
    scenario: &Scenario,
    top: &QuiltTop,
    index: usize,
    has_corners: bool,
    wishes: &Wishes<'_>,
    work: &mut Work,
) -> Result<Vec<Choice>, TooMuchWork> {
    let strip = &top.strips[index];
    if let Stage::Done { ends } = strip.stage {
        return Ok(vec![Choice {
            runs: Vec::new(),
            overhang: 0,
            time: 0,
            ends: has_corners.then(|| ends.map(shown)),
            segments: Vec::new(),
        }]);
    }
    let is_rest = strip.stage.butts().is_some();
    let told_apart = if wishes.tell_apart() { index } else { 0 };
    let rules = &scenario.rules;
    let sizes: Vec<&Size> = scenario.designs[strip.design]
        .sizes
        .iter()
        .filter(|size| size.width == strip.width)
        .collect();
    let most = rules
        .max_overhang
        .map(|length| i128::from(length.nanometres()));
    let length = i128::from(strip.length.nanometres());
    let mut found = BTreeSet::new();
    for covering in coverings(length, &sizes, !strip.stage.is_unscaled(), most, work)? {
        let used: BTreeSet<&str> = covering
            .segments
            .iter()
            .map(|segment| segment.size.id.as_str())
            .collect();
        if !wishes.allow_sizes(index, used.len()) {
            continue;
        }
        for joints in splits(&covering, rules.combine_sizes, work)? {
            let runs = runs(&covering, &joints, is_rest, told_apart);
            let may_lie = |hoop| wishes.may_lie_in(index, hoop);
            if !runs.iter().all(|run| fits_alone(run, scenario, &may_lie)) {
                continue;
            }
            let segments = groups(&covering, &joints).into_iter();
            let segments = segments.map(|group| {
                let segments = group.iter();
                let named = segments.map(|segment| (segment.size.id.clone(), segment.repeats));
                named.collect::<Repeats>()
            });
            let segments: Vec<Repeats> = segments.collect();
            let places = places(&covering, &joints, strip, rules.align);
            if !wishes.allow_order(index, length, &places, &segments) {
                continue;
            }
            let pattern = |end| end_pattern(&covering, end, rules.align);
            let ends = match (has_corners, pattern(End::Start), pattern(End::End)) {
                (true, _, _) if is_rest => outer_pattern(&covering).map(|outer| [outer; 2]),
                (true, Some(start), Some(end)) => Some([start, end]),
                _ => None,
            };
            found.insert(Choice {
                runs,
                overhang: covering.overhang(),
                time: time(scenario, strip, &covering, &joints),
                ends,
                segments: if wishes.is_like_another(index) {
                    segments
                } else {
                    Vec::new()
                },
            });
        }
    }
    if !is_rest && !rules.split_short && found.iter().any(|choice| choice.runs.len() == 1) {
        found.retain(|choice| choice.runs.len() == 1);
    }
    found.retain(|choice| wishes.allow(index, choice));
    Ok(found.into_iter().collect())
}

/// Every way to cut the sequence into runs: for each place between two segments, whether a joint is there.
fn splits(
    covering: &Covering<'_>,
    combine: bool,
    work: &mut Work,
) -> Result<Vec<Vec<bool>>, TooMuchWork> {
    let places = covering.segments.len() - 1;
    if !combine {
        return Ok(vec![vec![true; places]]);
    }
    let count = u32::try_from(places)
        .ok()
        .and_then(|places| 1_u64.checked_shl(places))
        .ok_or(TooMuchWork)?;
    work.spend(count)?;
    let joints = |number: u64| (0..places).map(|place| number >> place & 1 == 1).collect();
    Ok((0..count).map(joints).collect())
}

/// What a done strip shows at an end; nothing is looked at where it does not say so.
fn shown(end: Option<DoneEnd>) -> EndPattern {
    let none = DoneEnd {
        repeat: Length::from_nanometres(1),
        past: Length::ZERO,
    };
    done_pattern(end.unwrap_or(none))
}

/// Twice the distance of each joint from the strip's start, as a fraction of nanometres. What is left of a begun strip is
/// covered from the stretch outward.
fn places(
    covering: &Covering<'_>,
    joints: &[bool],
    strip: &Strip,
    align: Align,
) -> Vec<(i128, i128)> {
    let length = i128::from(strip.length.nanometres());
    let mut before = 0;
    let mut found = Vec::new();
    for (segment, joint) in covering.segments.iter().zip(joints) {
        before += segment.length();
        if *joint {
            let (along, parts) = covering.share(before);
            let doubled = match (strip.stage.butts(), align) {
                (Some(End::Start), _) | (None, Align::Start) => 2 * along,
                (Some(End::End), _) => 2 * (length * parts - along),
                (None, Align::Centred) => 2 * along - covering.overhang() * parts,
            };
            found.push((doubled, parts));
        }
    }
    found
}

/// The segments of each run.
fn groups<'a>(covering: &Covering<'a>, joints: &[bool]) -> Vec<Vec<Segment<'a>>> {
    let mut groups: Vec<Vec<Segment<'a>>> = vec![vec![covering.segments[0]]];
    for (segment, joint) in covering.segments[1..].iter().zip(joints) {
        match groups.last_mut() {
            Some(group) if !joint => group.push(*segment),
            _ => groups.push(vec![*segment]),
        }
    }
    groups
}

fn runs(covering: &Covering<'_>, joints: &[bool], is_rest: bool, strip: usize) -> Vec<Run> {
    let groups = groups(covering, joints);
    let last = groups.len() - 1;
    let run = |(index, group): (usize, &Vec<Segment<'_>>)| {
        let widest = |margin: fn(&Size) -> i64| {
            let margins = group.iter().map(|segment| i128::from(margin(segment.size)));
            margins.max().unwrap_or(0)
        };
        Run {
            length: covering.stitched(group),
            width: i128::from(group[0].size.width.nanometres()),
            margin_along: widest(margin_along),
            margin_across: widest(|size| size.field[1].nanometres() - size.width.nanometres()),
            open_ends: u8::from(index > 0 || is_rest) + u8::from(index < last),
            strip,
        }
    };
    groups.iter().enumerate().map(run).collect()
}

/// What the runs of a covering take by the scenario's rates; each run is laid once and stops once for each further thread.
fn time(scenario: &Scenario, strip: &Strip, covering: &Covering<'_>, joints: &[bool]) -> i128 {
    if !scenario.goal.counts(Term::Minutes) {
        return 0;
    }
    let rates = &scenario.rates;
    let runs = 1 + joints.iter().filter(|joint| **joint).count() as i128;
    let threads = scenario.designs[strip.design].threads.len() as i128;
    let laid = minutes(rates.placement) + (threads - 1).max(0) * minutes(rates.thread_change);
    let speed = rates.stitches_per_minute;
    let stitched = covering.segments.iter().map(|segment| {
        let stitches = i128::from(segment.size.stitches.unwrap_or(0));
        let upper = stitches * PARTS_OF_A_MINUTE * speed.denominator();
        let lower = i128::from(segment.size.repeats) * speed.numerator();
        segment.repeats * round_half_up(upper, lower)
    });
    runs * laid + stitched.sum::<i128>()
}

/// A time in ten-thousandths of a minute.
pub fn minutes(time: Time) -> i128 {
    i128::from(time.parts())
}

/// m: what a size's field is longer than its stitching. Within a nanometre for each repeat the two count as equal.
fn margin_along(size: &Size) -> i64 {
    let repeats = i64::from(size.repeats);
    let margin = size.field[0].nanometres() - size.repeat.nanometres() * repeats;
    if margin > 0 && margin <= repeats {
        0
    } else {
        margin
    }
}
