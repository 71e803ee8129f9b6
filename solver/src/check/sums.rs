//! Which lengths pieces add up to: the exact search behind what a strip could have been.

use std::collections::BTreeMap;

/// Steps that one question may take before it is given up.
const STEPS_PER_QUESTION: u64 = 300_000;
/// Steps that all questions of one check may take together: about a second.
const STEPS_PER_CHECK: u64 = 5_000_000;

/// An answer that may be out of reach.
///
/// `Unknown` means that the steps ran out. A plan is never accused on an unknown answer, so past the limit the check
/// is lenient: it may accept a plan that it would otherwise refuse, never the other way round.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Answer {
    Yes,
    No,
    Unknown,
}

impl Answer {
    /// The first answer where it is yes, or where the steps ran out in finding it; else the other.
    pub(super) fn or(self, other: impl FnOnce() -> Answer) -> Answer {
        match self {
            Answer::Yes | Answer::Unknown => self,
            Answer::No => other(),
        }
    }
}

/// The steps that are left.
pub(super) struct Work {
    check: u64,
    question: u64,
}

impl Work {
    pub(super) fn new() -> Work {
        Work {
            check: STEPS_PER_CHECK,
            question: 0,
        }
    }

    /// Starts a question.
    pub(super) fn start(&mut self) {
        self.question = STEPS_PER_QUESTION.min(self.check);
    }

    /// Takes steps; false where too few are left.
    pub(super) fn take(&mut self, steps: usize) -> bool {
        let steps = u64::try_from(steps).unwrap_or(u64::MAX);
        let enough = steps <= self.question;
        let taken = steps.min(self.question);
        self.question -= taken;
        self.check -= taken;
        enough
    }
}

/// The smallest part of a size that can be stitched: one repeat where it may stop early, else the whole file.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Piece {
    /// Unscaled length in nanometres, more than 0.
    pub(super) length: i128,
    /// Repeats in it; each may carry a nanometre of rounding.
    pub(super) repeats: i128,
    /// How many of it one segment may have.
    pub(super) in_segment: i128,
}

/// What pieces have to add up to, in nanometres. Each repeat lets a sum be a nanometre off the strip's length and
/// still count as equal to it.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Target {
    /// A sum from the first to the second number.
    Between(i128, i128),
    /// A sum that counts as equal to the first number, a length, and is from the second to the third.
    Exactly(i128, i128, i128),
    /// A sum from the first to the second number that does not count as equal to the third, a length.
    Scaled(i128, i128, i128),
}

impl Target {
    /// Whether a sum that some pieces reach with the fewest, others with the most repeats will do.
    fn is_met(self, sum: i128, (fewest, most): (i128, i128)) -> bool {
        match self {
            Target::Between(least, largest) => (least..=largest).contains(&sum),
            Target::Exactly(length, least, largest) => {
                (least..=largest).contains(&sum) && (sum - length).abs() <= most
            }
            Target::Scaled(least, largest, length) => {
                (least..=largest).contains(&sum) && (sum - length).abs() > fewest
            }
        }
    }

    /// No sum beyond this can meet the target.
    fn largest(self, pieces: &[Piece]) -> i128 {
        match self {
            Target::Between(_, largest) | Target::Scaled(_, largest, _) => largest,
            Target::Exactly(length, _, largest) => {
                // Σ − L ≤ K ≤ Σ·ρ with ρ repeats per nanometre, so Σ ≤ L·(1 + 2ρ) where ρ is at most 1/2. With
                // repeats of 1 nm nothing is known but the cap; no design has them.
                let slack = |piece: &Piece| 2 * length * piece.repeats / piece.length + 1;
                largest.min(length + pieces.iter().map(slack).max().unwrap_or(0))
            }
        }
    }

    /// Whether copies of one piece, at most `copies` of them, meet the target.
    fn is_met_by_one(self, piece: &Piece, copies: i128) -> bool {
        let met = |count: i128| {
            let count = count.min(copies);
            let repeats = count * piece.repeats;
            count >= 1 && self.is_met(count * piece.length, (repeats, repeats))
        };
        // Copies that bring the sum nearer to L from below keep it equal to L if it was, as each adds no fewer
        // nanometres than repeats; above L it stays equal up to a last count. So the counts that are equal to L follow
        // each other, and it is enough to look at the ends of their row.
        match self {
            Target::Between(least, _) => met(ceil_div(least, piece.length).max(1)),
            Target::Exactly(length, least, largest) => {
                let first = ceil_div(least, piece.length);
                let last = largest.div_euclid(piece.length);
                let below = length.div_euclid(piece.length);
                [below, below + 1]
                    .into_iter()
                    .any(|count| met(count.max(first).min(last)))
            }
            Target::Scaled(least, _, length) => {
                let first = ceil_div(least, piece.length).max(1);
                // count·length − L > count·repeats
                let growth = piece.length - piece.repeats;
                met(first) || (growth > 0 && met(first.max(length.div_euclid(growth) + 1)))
            }
        }
    }
}

/// `numerator / denominator`, rounded up. The denominator is positive.
pub(super) fn ceil_div(numerator: i128, denominator: i128) -> i128 {
    -(-numerator).div_euclid(denominator)
}

/// Whether one segment meets the target.
pub(super) fn one_segment(piece: &Piece, target: Target) -> Answer {
    if target.is_met_by_one(piece, piece.in_segment) {
        Answer::Yes
    } else {
        Answer::No
    }
}

/// Whether any number of pieces, at least one, add up to the target.
pub(super) fn any_sum(pieces: &[Piece], target: Target, work: &mut Work) -> Answer {
    if !work.take(1 + pieces.len()) {
        return Answer::Unknown;
    }
    if pieces
        .iter()
        .any(|piece| target.is_met_by_one(piece, i128::MAX))
    {
        return Answer::Yes;
    }
    if pieces.len() < 2 {
        return Answer::No;
    }
    let limit = target.largest(pieces);
    // All reachable sums in rising order, each with the fewest and the most repeats that reach it.
    let mut reached = BTreeMap::from([(0_i128, (0_i128, 0_i128))]);
    while let Some((sum, (fewest, most))) = reached.pop_first() {
        if sum > 0 && target.is_met(sum, (fewest, most)) {
            return Answer::Yes;
        }
        if !work.take(pieces.len()) {
            return Answer::Unknown;
        }
        for piece in pieces {
            let next = sum + piece.length;
            if next <= limit {
                let range = reached.entry(next).or_insert((i128::MAX, 0));
                range.0 = range.0.min(fewest + piece.repeats);
                range.1 = range.1.max(most + piece.repeats);
            }
        }
    }
    Answer::No
}

#[cfg(test)]
mod tests {
    use super::*;

    fn piece(length: i128) -> Piece {
        Piece {
            length,
            repeats: 1,
            in_segment: 5,
        }
    }

    /// The largest number that 6, 9 and 20 do not add up to is 43 (the Frobenius number of a textbook example).
    #[test]
    fn sums_of_6_9_and_20() {
        let pieces = [piece(6), piece(9), piece(20)];
        let reach = |length| any_sum(&pieces, Target::Between(length, length), &mut started());
        assert_eq!(reach(43), Answer::No);
        for length in 44..60 {
            assert_eq!(reach(length), Answer::Yes, "{length}");
        }
    }

    fn started() -> Work {
        let mut work = Work::new();
        work.start();
        work
    }

    #[test]
    fn one_piece_needs_no_search() {
        let mut work = started();
        let long = Target::Between(99_999_999_999, 100_000_000_000);
        assert_eq!(any_sum(&[piece(2)], long, &mut work), Answer::Yes);
        assert_eq!(one_segment(&piece(2), Target::Between(9, 10)), Answer::Yes);
        assert_eq!(one_segment(&piece(2), Target::Between(11, 12)), Answer::No);
        assert_eq!(one_segment(&piece(2), Target::Between(9, 9)), Answer::No);
    }

    /// Three repeats of 3333 are 1 short of 10 000, which their rounding covers; with one of 101 234 they make
    /// 111 233, which four repeats bring to 111 237.
    #[test]
    fn rounding_of_repeats_counts_as_equal() {
        let pieces = [piece(3333), piece(101_234)];
        let exactly = |length, least, most| {
            any_sum(
                &pieces,
                Target::Exactly(length, least, most),
                &mut started(),
            )
        };
        assert_eq!(exactly(10_000, 0, 20_000), Answer::Yes);
        assert_eq!(exactly(10_003, 0, 20_000), Answer::No);
        assert_eq!(exactly(10_000, 10_000, 20_000), Answer::No);
        assert_eq!(exactly(111_237, 0, 200_000), Answer::Yes);
        assert_eq!(exactly(111_238, 0, 200_000), Answer::No);
        assert_eq!(exactly(111_237, 111_234, 200_000), Answer::No);
        assert_eq!(exactly(111_237, 0, 111_232), Answer::No);
    }

    #[test]
    fn the_steps_run_out() {
        let mut work = started();
        let fine = [piece(1_000_001), piece(1_000_003)];
        let target = Target::Between(99_999_999_999, 99_999_999_999);
        assert_ne!(any_sum(&fine, target, &mut work), Answer::No);
    }
}
