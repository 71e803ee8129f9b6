//! Where a strip that is longer than the cloth is wide is sewn together: away from the joints of its stitching and from its ends.

use crate::length::Length;

/// A strip is not sewn together from more parts than this: cloth that is hardly wider than its seams is not worth it.
const MOST_PARTS: usize = 1_000;

/// The lengths of the parts of a strip, first to last, seam allowance included; each but the last as long as the cloth and what has to
/// stay clear allow. `None` where no place is left for a join.
///
/// `length` is the strip's cut length, `across` the usable width of the cloth, `joints` where runs butt up, measured from the cut
/// start. Joins stay `clear` of these and of the ends.
pub fn parts(
    length: Length,
    across: Length,
    seam: Length,
    clear: Length,
    joints: &[Length],
) -> Option<Vec<Length>> {
    let mut parts = Vec::new();
    // Where the last join lies; the first part has its cut end there, and no seam before it.
    let mut last = Length::ZERO;
    let mut before = Length::ZERO;
    while length - last + before > across {
        let mut join = (last - before + across - seam).min(length - clear);
        // Joints are passed from the far end: moving clear of one may come near the one before it.
        for joint in joints.iter().rev() {
            if join > *joint - clear && join < *joint + clear {
                join = *joint - clear;
            }
        }
        let least = if parts.is_empty() {
            clear
        } else {
            last + seam * 2
        };
        if join <= least.max(last) || parts.len() + 1 >= MOST_PARTS {
            return None;
        }
        parts.push(join - last + before + seam);
        last = join;
        before = seam;
    }
    parts.push(length - last + before);
    Some(parts)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn parted(length: i64, across: i64, joints: &[i64]) -> Option<Vec<i64>> {
        let length_of = Length::from_nanometres;
        let joints: Vec<Length> = joints.iter().map(|joint| length_of(*joint)).collect();
        let parts = parts(
            length_of(length),
            length_of(across),
            length_of(2),
            length_of(8),
            &joints,
        )?;
        Some(parts.into_iter().map(Length::nanometres).collect())
    }

    /// In eighths of an inch, seams of a quarter, clear by an inch. A strip of 100 in from a cloth 40 in wide: joins 39 3/4 in along
    /// it, and 39 1/2 in further; with joints at 39 in and 38 in the first join moves to 37 in.
    #[test]
    fn joins_lie_as_far_as_the_cloth_reaches_and_clear_of_joints() {
        assert_eq!(parted(800, 320, &[]), Some(vec![320, 320, 168]));
        assert_eq!(parted(320, 320, &[]), Some(vec![320]));
        assert_eq!(parted(800, 320, &[304, 312]), Some(vec![298, 320, 190]));
        // Near its end a join moves back: 323 long is one more than the cloth and would leave a part of 9.
        assert_eq!(parted(323, 320, &[]), Some(vec![317, 10]));
        // Joints everywhere leave no place.
        let everywhere: Vec<i64> = (0..100).map(|number| number * 8).collect();
        assert_eq!(parted(800, 320, &everywhere), None);
    }

    /// Cloth a hair wide ends the strip at its limit, whatever its length.
    #[test]
    fn no_strip_is_sewn_from_endless_parts() {
        let length = Length::from_nanometres;
        let none = Length::ZERO;
        assert_eq!(parts(Length::LONGEST, length(1), none, none, &[]), None);
        let most = parts(length(1000), length(1), none, none, &[]);
        assert_eq!(most.map(|parts| parts.len()), Some(MOST_PARTS));
    }

    /// Parts sewn together are the strip again: each join takes a seam from either part.
    #[test]
    fn parts_add_up() {
        for length in [321, 400, 799, 1234, 5000] {
            let parts = parted(length, 320, &[300, 610]).expect("there is room");
            let joins = i64::try_from(parts.len()).expect("few") - 1;
            assert_eq!(parts.iter().sum::<i64>() - joins * 4, length);
            assert!(parts.iter().all(|part| *part <= 320));
        }
    }
}
