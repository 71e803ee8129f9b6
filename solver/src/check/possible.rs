//! What a strip could have been: whether some hoop takes it in one run, and whether it can be stitched at all.
//!
//! Both questions are about sums of [`Piece`]s. A covering may have any pieces at first: as long as the strip stays
//! covered, pieces can be taken away until none is superfluous, and what is left asks for no more room, has no more
//! overhang, or has become an exact or scaled covering, which is shorter still. So it is enough to ask for the
//! length, not for the absence of superfluous segments.

use std::collections::HashMap;

use super::geometry::Strip;
use super::sums::{Answer, Piece, Target, Work, any_sum, ceil_div, one_segment};
use crate::length::Length;
use crate::scenario::{Scenario, Size, Wished};

/// Answers questions about strips, each length, width and design once.
pub(super) struct Possible<'a> {
    scenario: &'a Scenario,
    /// (along, across) of every hoop, either way round where it may be turned, and its index.
    ways: Vec<(i128, i128, usize)>,
    /// By strip what wishes leave of hoops and sizes.
    wished: HashMap<&'a str, Leave<'a>>,
    one_run: HashMap<(Length, Length, usize, Leave<'a>), Answer>,
    stitchable: HashMap<(Length, Length, usize, bool), Answer>,
    work: Work,
}

/// What wishes leave for a strip.
#[derive(Clone, PartialEq, Eq, Hash, Default)]
struct Leave<'a> {
    /// The lists of hoops that it may be stitched in, all of which count.
    hoops: Vec<&'a [String]>,
    /// Whether one size alone has to do.
    one_size: bool,
}

impl<'a> Leave<'a> {
    /// What each strip that wishes are about is left.
    fn of(scenario: &'a Scenario) -> HashMap<&'a str, Leave<'a>> {
        let mut all: HashMap<&str, Leave<'_>> = HashMap::new();
        for wish in &scenario.wishes {
            for strip in &wish.strips {
                let leave = all.entry(strip).or_default();
                match &wish.what {
                    Wished::OnlyIn(hoops) => leave.hoops.push(hoops),
                    Wished::OneSize => leave.one_size = true,
                    // These keep no strip from being stitched in one run.
                    Wished::Together
                    | Wished::Apart
                    | Wished::First
                    | Wished::AtMost(_)
                    | Wished::JointsAway { .. }
                    | Wished::Symmetric
                    | Wished::Alike => {}
                }
            }
        }
        all
    }

    fn takes(&self, hoop: &String) -> bool {
        self.hoops.iter().all(|hoops| hoops.contains(hoop))
    }
}

/// A piece and the sums Σ with which it may be used where s = L/Σ.
struct Scalable {
    piece: Piece,
    least: i128,
    most: i128,
}

impl<'a> Possible<'a> {
    pub(super) fn new(scenario: &'a Scenario) -> Possible<'a> {
        let mut ways = Vec::new();
        for (index, hoop) in scenario.hoops.iter().enumerate() {
            let [first, second] = hoop.field.map(|side| i128::from(side.nanometres()));
            ways.push((first, second, index));
            if hoop.turn {
                ways.push((second, first, index));
            }
        }
        // The largest come first, as they are the likeliest to take a strip.
        ways.sort_unstable_by(|one, other| other.cmp(one));
        let wished = Leave::of(scenario);
        if wished.is_empty() {
            ways.dedup_by_key(|way| (way.0, way.1));
        }
        Possible {
            scenario,
            ways,
            wished,
            one_run: HashMap::new(),
            stitchable: HashMap::new(),
            work: Work::new(),
        }
    }

    /// Whether some hoop that wishes leave takes the strip in one run.
    pub(super) fn in_one_run(&mut self, strip: &Strip) -> Answer {
        let leave = self
            .wished
            .get(strip.id.as_str())
            .cloned()
            .unwrap_or_default();
        let key = (strip.length, strip.width, strip.design, leave);
        if let Some(answer) = self.one_run.get(&key) {
            return *answer;
        }
        self.work.start();
        let answer = self.find_one_run(strip, &key.3);
        self.one_run.insert(key, answer);
        answer
    }

    /// Whether some covering of the strip splits into runs that each fit some hoop alone.
    pub(super) fn is_stitchable(&mut self, strip: &Strip) -> Answer {
        let key = (strip.length, strip.width, strip.design, strip.is_unscaled());
        if let Some(answer) = self.stitchable.get(&key) {
            return *answer;
        }
        self.work.start();
        let answer = self.find_runs(strip);
        self.stitchable.insert(key, answer);
        answer
    }

    fn sizes(&self, strip: &Strip) -> Vec<&'a Size> {
        let design = self.scenario.designs.get(strip.design);
        let sizes = design.map_or(&[][..], |design| &design.sizes);
        sizes
            .iter()
            .filter(|size| size.width == strip.width)
            .collect()
    }

    /// The longest sum that is not too long for the strip, scaling aside.
    fn longest(&self, length: i128) -> i128 {
        match self.scenario.rules.max_overhang {
            Some(most) => length + i128::from(most.nanometres()),
            None => i128::MAX,
        }
    }

    fn find_one_run(&mut self, strip: &Strip, leave: &Leave<'_>) -> Answer {
        let sizes = self.sizes(strip);
        if !leave.one_size {
            return self.find_run_of(strip, &sizes, leave);
        }
        let answers = sizes
            .iter()
            .map(|size| self.find_run_of(strip, &[size], leave));
        let decided = |answer: &Answer| *answer != Answer::No;
        answers
            .collect::<Vec<_>>()
            .into_iter()
            .find(decided)
            .unwrap_or(Answer::No)
    }

    /// Whether some hoop takes the strip in one run of these sizes.
    fn find_run_of(&mut self, strip: &Strip, sizes: &[&Size], leave: &Leave<'_>) -> Answer {
        let width = i128::from(strip.width.nanometres());
        let mut margins: Vec<i128> = sizes.iter().map(|size| margin_along(size)).collect();
        margins.sort_unstable();
        margins.dedup();
        for (along, across, hoop) in self.ways.clone() {
            if !leave.takes(&self.scenario.hoops[hoop].id) {
                continue;
            }
            // The run's margin is the largest of its segments', so each size stands for those of no more margin.
            for &margin in &margins {
                if !self.work.take(sizes.len()) {
                    return Answer::Unknown;
                }
                let fitting: Vec<&Size> = sizes
                    .iter()
                    .copied()
                    .filter(|size| margin_across(size) + width <= across)
                    .filter(|size| margin_along(size) <= margin)
                    .collect();
                let answer = self.run_of(strip, &fitting, along - margin);
                if answer != Answer::No {
                    return answer;
                }
            }
        }
        Answer::No
    }

    /// Whether one run of these sizes covers the strip with a stitched length of at most `room`.
    fn run_of(&mut self, strip: &Strip, sizes: &[&Size], room: i128) -> Answer {
        let length = i128::from(strip.length.nanometres());
        let pieces: Vec<Piece> = sizes.iter().map(|size| piece_of(size)).collect();
        let combine = self.scenario.rules.combine_sizes;
        let longest = self.longest(length).min(room);
        let work = &mut self.work;
        let mut ask = |pieces: &[Piece], target: Target| {
            if combine {
                return any_sum(pieces, target, work);
            }
            let first = |answer: Answer, piece| answer.or(|| one_segment(piece, target));
            pieces.iter().fold(Answer::No, first)
        };
        // A run whose sum counts as equal to its strip's length is as long as the shorter of the two.
        if room < length {
            return ask(&pieces, Target::Exactly(length, 0, room));
        }
        ask(&pieces, Target::Exactly(length, 0, i128::MAX))
            .or(|| ask(&pieces, Target::Between(length, longest)))
            .or(|| {
                let scalable: Vec<Scalable> =
                    sizes.iter().map(|size| scalable(size, length, 1)).collect();
                scaled(&scalable, length, ask)
            })
    }

    /// Whether the strip can be covered at all: every segment may have a run and a hoop of its own, and a size that
    /// may stop early can be stitched repeat by repeat.
    fn find_runs(&mut self, strip: &Strip) -> Answer {
        let length = i128::from(strip.length.nanometres());
        let width = i128::from(strip.width.nanometres());
        let mut plain = Vec::new();
        let mut scalables = Vec::new();
        // Pieces, and the least sum with which each is short enough for its run.
        let mut roomy = Vec::new();
        for size in self.sizes(strip) {
            let wide_enough = |way: &&(i128, i128, usize)| margin_across(size) + width <= way.1;
            let longest = self.ways.iter().filter(wide_enough).map(|way| way.0).max();
            let Some(room) = longest.map(|along| along - margin_along(size)) else {
                continue;
            };
            let piece = piece_of(size);
            if piece.length <= room {
                plain.push(piece);
            }
            if room > 0 {
                // round(L·b/Σ) ≤ room, ties up, where 2·L·b < (2·room + 1)·Σ.
                let least = (2 * length * piece.length).div_euclid(2 * room + 1) + 1;
                scalables.push(scalable(size, length, least));
                roomy.push((piece, if piece.length <= room { 0 } else { least }));
            }
        }
        let longest = self.longest(length);
        if longest == i128::MAX && !plain.is_empty() {
            return Answer::Yes;
        }
        let work = &mut self.work;
        let mut ask = |pieces: &[Piece], target: Target| any_sum(pieces, target, work);
        let unscaled =
            exact(&roomy, length, &mut ask).or(|| ask(&plain, Target::Between(length, longest)));
        if strip.is_unscaled() {
            return unscaled;
        }
        unscaled.or(|| scaled(&scalables, length, ask))
    }
}

/// Whether some of the pieces add up to a Σ that counts as equal to the length, each of them used only with a Σ of at
/// least its own number.
fn exact(
    pieces: &[(Piece, i128)],
    length: i128,
    ask: &mut impl FnMut(&[Piece], Target) -> Answer,
) -> Answer {
    let mut starts: Vec<i128> = pieces.iter().map(|(_, least)| *least).collect();
    starts.sort_unstable();
    starts.dedup();
    starts.into_iter().fold(Answer::No, |answer, start| {
        let allowed = pieces.iter().filter(|(_, least)| *least <= start);
        let allowed: Vec<Piece> = allowed.map(|(piece, _)| *piece).collect();
        answer.or(|| ask(&allowed, Target::Exactly(length, start, i128::MAX)))
    })
}

/// Whether some of the pieces add up to a Σ with which all of them may be scaled by L/Σ.
///
/// The sums that a set of pieces allows reach from the largest of their least to the smallest of their most sums, so
/// every pair of such ends is asked for, with all pieces that allow what lies between.
fn scaled(
    pieces: &[Scalable],
    length: i128,
    mut ask: impl FnMut(&[Piece], Target) -> Answer,
) -> Answer {
    let mut starts: Vec<i128> = pieces.iter().map(|piece| piece.least).collect();
    let mut ends: Vec<i128> = pieces.iter().map(|piece| piece.most).collect();
    for sorted in [&mut starts, &mut ends] {
        sorted.sort_unstable();
        sorted.dedup();
    }
    for &start in &starts {
        for &end in ends.iter().filter(|end| **end >= start) {
            let allowed: Vec<Piece> = pieces
                .iter()
                .filter(|piece| piece.least <= start && end <= piece.most)
                .map(|piece| piece.piece)
                .collect();
            let answer = ask(&allowed, Target::Scaled(start, end, length));
            if answer != Answer::No {
                return answer;
            }
        }
    }
    Answer::No
}

fn margin_along(size: &Size) -> i128 {
    i128::from(size.margin_along().nanometres())
}

fn margin_across(size: &Size) -> i128 {
    i128::from(size.margin_across().nanometres())
}

fn piece_of(size: &Size) -> Piece {
    let repeat = i128::from(size.repeat.nanometres());
    let repeats = i128::from(size.repeats);
    if size.stop_early {
        Piece {
            length: repeat,
            repeats: 1,
            in_segment: repeats,
        }
    } else {
        Piece {
            length: repeat * repeats,
            repeats,
            in_segment: 1,
        }
    }
}

/// The sums Σ ≥ `least` with lo·Σ ≤ L ≤ hi·Σ.
fn scalable(size: &Size, length: i128, least: i128) -> Scalable {
    let scale = size.scale;
    let stretched = ceil_div(length * scale.most.denominator(), scale.most.numerator());
    let shrunk = length * scale.least.denominator();
    Scalable {
        piece: piece_of(size),
        least: least.max(stretched),
        most: shrunk.div_euclid(scale.least.numerator()),
    }
}
