//! Every way to cover a strip with a sequence of segments.

use sashwright_solver::exact::round_half_up;
use sashwright_solver::scenario::Size;

use super::work::{TooMuchWork, Work};

/// One stitching of one size.
#[derive(Clone, Copy, Debug)]
pub struct Segment<'a> {
    /// The size.
    pub size: &'a Size,
    /// k: how many of its repeats are stitched.
    pub repeats: i128,
}

impl Segment<'_> {
    /// k·p in nanometres, unscaled.
    pub fn length(&self) -> i128 {
        self.repeats * i128::from(self.size.repeat.nanometres())
    }
}

/// A valid covering of one strip.
#[derive(Clone, Debug)]
pub struct Covering<'a> {
    /// The segments, in order along the strip.
    pub segments: Vec<Segment<'a>>,
    /// L: the strip's finished length.
    length: i128,
    /// Whether the pattern ends at both seam lines (s = L/Σ); otherwise s = 1.
    closes: bool,
}

impl Covering<'_> {
    fn sum(&self) -> i128 {
        sum(&self.segments)
    }

    /// t: the stitched length of consecutive segments, to the nearest nanometre, ties up. Where Σ counts as equal to L,
    /// rounding alone makes no run longer than its own segments.
    pub fn stitched(&self, run: &[Segment<'_>]) -> i128 {
        let share = round_half_up(self.length * sum(run), self.sum());
        let equal = (self.sum() - self.length).abs() <= repeats(&self.segments);
        match (self.closes, equal) {
            (true, true) => share.min(sum(run)),
            (true, false) => share,
            (false, _) => sum(run),
        }
    }

    /// How much of the strip segments of this unscaled length cover, as a fraction.
    pub fn share(&self, length: i128) -> (i128, i128) {
        if self.closes {
            (length * self.length, self.sum())
        } else {
            (length, 1)
        }
    }

    /// T − L.
    pub fn overhang(&self) -> i128 {
        if self.closes {
            0
        } else {
            self.sum() - self.length
        }
    }

    /// P = s × the size's repeat, as a fraction.
    pub fn scaled_repeat(&self, size: &Size) -> (i128, i128) {
        let repeat = i128::from(size.repeat.nanometres());
        if self.closes {
            (repeat * self.length, self.sum())
        } else {
            (repeat, 1)
        }
    }
}

fn sum(segments: &[Segment<'_>]) -> i128 {
    segments.iter().map(Segment::length).sum()
}

fn repeats(segments: &[Segment<'_>]) -> i128 {
    segments.iter().map(|segment| segment.repeats).sum()
}

/// Every valid covering of a strip of `length` by these sizes, in every order of its segments; without any scale where none
/// may be.
pub fn coverings<'a>(
    length: i128,
    sizes: &[&'a Size],
    may_scale: bool,
    max_overhang: Option<i128>,
    work: &mut Work,
) -> Result<Vec<Covering<'a>>, TooMuchWork> {
    let options: Vec<Segment<'a>> = sizes.iter().flat_map(|size| segments_of(size)).collect();
    let mut found = Vec::new();
    let mut unfinished = vec![Vec::new()];
    while let Some(segments) = unfinished.pop() {
        for option in &options {
            work.spend(1)?;
            let mut longer = segments.clone();
            longer.push(*option);
            if let Some(covering) = valid(&longer, length, may_scale, max_overhang) {
                found.push(covering);
            }
            // A covering that is valid without stretching falls short without its last segment, and one that is
            // squeezed was squeezed less without it: beyond this every further sequence is invalid.
            let worth_more = sizes.iter().any(|size| {
                size.scale.least.numerator() * sum(&longer)
                    < size.scale.least.denominator() * length
            });
            if worth_more {
                unfinished.push(longer);
            }
        }
    }
    Ok(found)
}

fn segments_of(size: &Size) -> Vec<Segment<'_>> {
    let most = size.repeats;
    let least = if size.stop_early { 1 } else { most };
    let segment = |repeats: u32| Segment {
        size,
        repeats: i128::from(repeats),
    };
    (least..=most).map(segment).collect()
}

/// The covering that these segments make, where it keeps the rules.
fn valid<'a>(
    segments: &[Segment<'a>],
    length: i128,
    may_scale: bool,
    max_overhang: Option<i128>,
) -> Option<Covering<'a>> {
    let (total, count) = (sum(segments), repeats(segments));
    let covering = |closes| Covering {
        segments: segments.to_vec(),
        length,
        closes,
    };
    let allowed = |segment: &Segment<'_>| {
        let scale = segment.size.scale;
        scale.least.numerator() * total <= length * scale.least.denominator()
            && length * scale.most.denominator() <= scale.most.numerator() * total
    };
    if (total - length).abs() <= count || may_scale && segments.iter().all(allowed) {
        return Some(covering(true));
    }
    // As above, what is short by its repeats' rounding alone is not short.
    let covers = |total: i128, count: i128| total + count >= length;
    let superfluous =
        |segment: &Segment<'_>| covers(total - segment.length(), count - segment.repeats);
    let stops_late = |segment: &Segment<'_>| {
        segment.size.stop_early
            && segment.repeats > 1
            && covers(
                total - i128::from(segment.size.repeat.nanometres()),
                count - 1,
            )
    };
    let fine = total >= length
        && !segments.iter().any(superfluous)
        && !segments.iter().any(stops_late)
        && max_overhang.is_none_or(|most| total - length <= most);
    fine.then(|| covering(false))
}
