//! Pieces: what the segments of one run can add up to.
//!
//! Two choices of segments with the same sum and the same set of sizes are interchangeable: margins, scale range and
//! the rule against superfluous segments look only at the set. So a piece stands for all of them.

use std::collections::hash_map::Entry;
use std::collections::{BTreeMap, HashMap};
use std::ops::RangeInclusive;

use crate::classes::Class;
use crate::cover::{PieceList, Settled};
use crate::exact::Exact;
use crate::hooping::kind::{Kind, Openness};
use crate::length::Length;
use crate::scenario::{ScaleRange, Scenario, Size, Term};
use crate::time::Time;

/// The most pieces of one class; past it the list is cut and called incomplete.
const MOST_PIECES: usize = 20_000;
/// The most choices of repeats that are looked at for them: many of these are one piece.
const MOST_CHOICES: usize = 1_000_000;
/// The most pieces of a small list.
const FEW_PIECES: usize = 2_000;

/// However far a size may be squeezed, more than nine times the longest strip is no covering.
pub(super) const LONGEST_SUM: Length = Length::from_nanometres(9 * Length::LONGEST.nanometres());

/// How much is listed.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Extent {
    /// Every piece.
    Every,
    /// Those of one size each, for want of time or memory.
    OneSizeEach,
}

/// A set of sizes of one design, as bits over [`Sizes`].
pub type SizeSet = u128;

/// The sizes that a class of strips can be covered with.
#[derive(Clone, Debug)]
pub struct Sizes<'s> {
    /// Index in the design, and the size itself.
    pub list: Vec<(usize, &'s Size)>,
    /// Whether nothing may be scaled, whatever the sizes say.
    pub unscaled: bool,
    /// How long a run takes beside its stitching, and one repeat of each size; nothing where the goal does not count minutes.
    run_time: Time,
    repeat_times: Vec<Time>,
}

/// What one run of a strip is stitched with.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Piece {
    /// u: the sum of its repeats, unscaled.
    pub sum: Length,
    /// The sizes that it uses.
    pub sizes: SizeSet,
    /// Repeats of each used size (index into [`Sizes`]).
    pub repeats: Vec<(usize, u32)>,
    /// m: the largest margin along of its sizes.
    pub margin_along: Length,
    /// a: the largest margin across of its sizes.
    pub margin_across: Length,
    /// How long a run of it takes, stitched and laid; nothing where the goal does not count minutes.
    pub time: Time,
}

impl Piece {
    /// The kind of a run of a strip of a class and sum that is stitched with the piece; `number` tells it apart from
    /// others where it is one of several, or where wishes bind it.
    pub fn kind(
        &self,
        number: usize,
        class: &Class,
        settled: &Settled,
        openness: Openness,
    ) -> Kind {
        let told_apart = openness != Openness::Closed || class.wishes.bound;
        Kind {
            openness,
            class: told_apart.then_some(number),
            hoops: class.wishes.hoops,
            length: settled.stitched(self.sum),
            width: class.width,
            margin_along: self.margin_along,
            margin_across: self.margin_across,
        }
    }

    /// The number of repeats in all: how many nanometres of rounding the sum may carry.
    pub fn count(&self) -> i64 {
        self.repeats
            .iter()
            .map(|(_, count)| i64::from(*count))
            .sum()
    }
}

impl<'s> Sizes<'s> {
    /// The sizes with the given indices in a design. At most 100 per design, so that a set fits its bits.
    pub fn of(scenario: &'s Scenario, design: usize, indices: &[usize]) -> Sizes<'s> {
        let design = &scenario.designs[design];
        let rates = Some(&scenario.rates).filter(|_| scenario.goal.counts(Term::Minutes));
        let repeat = |index: &usize| rates?.of_repeat(&design.sizes[*index]);
        Sizes {
            list: indices
                .iter()
                .map(|index| (*index, &design.sizes[*index]))
                .collect(),
            unscaled: false,
            run_time: rates.map_or(Time::ZERO, |rates| rates.of_run(design)),
            repeat_times: indices
                .iter()
                .map(|index| repeat(index).unwrap_or_default())
                .collect(),
        }
    }

    /// The sizes that the strips of a class can be covered with.
    pub fn of_class(scenario: &'s Scenario, class: &Class) -> Sizes<'s> {
        Sizes {
            unscaled: class.stage.is_unscaled(),
            ..Sizes::of(scenario, class.design, &class.sizes(scenario))
        }
    }

    /// How long a run of these repeats takes, where the goal counts minutes.
    fn time_of(&self, repeats: &[(usize, u32)]) -> Time {
        let stitched = repeats.iter();
        let stitched = stitched.map(|(bit, count)| self.repeat_times[*bit] * i64::from(*count));
        self.run_time + stitched.sum()
    }

    /// The members of a set.
    pub fn members(&self, set: SizeSet) -> impl Iterator<Item = &'s Size> + '_ {
        let members = self.list.iter().enumerate();
        members
            .filter(move |(bit, _)| set >> bit & 1 == 1)
            .map(|(_, (_, size))| *size)
    }

    /// The scale range that all sizes of a set share.
    pub fn scale(&self, set: SizeSet) -> ScaleRange {
        self.members(set).fold(ScaleRange::WIDEST, |range, size| {
            let own = self.scale_of(size);
            ScaleRange {
                least: range.least.max(own.least),
                most: range.most.min(own.most),
            }
        })
    }

    /// The scale range of a size.
    pub fn scale_of(&self, size: &Size) -> ScaleRange {
        if self.unscaled {
            ScaleRange::NONE
        } else {
            size.scale
        }
    }

    /// An unscaled strip's overhang has to stay below this: the smallest stretch that could be left out, which is a
    /// repeat of a size that may stop early and the whole of one that may not.
    pub fn smallest_step(&self, set: SizeSet) -> Length {
        let steps = self.members(set).map(step);
        steps.min().unwrap_or(Length::ZERO)
    }

    /// The different repeats of a set.
    pub fn repeats(&self, set: SizeSet) -> Vec<Length> {
        let mut repeats: Vec<Length> = self.members(set).map(|size| size.repeat).collect();
        repeats.sort_unstable();
        repeats.dedup();
        repeats
    }
}

impl ScaleRange {
    /// The range that any other narrows.
    const WIDEST: ScaleRange = ScaleRange {
        least: Exact::ZERO,
        most: Exact::LARGEST,
    };

    /// The range of what cannot be scaled.
    pub(crate) const NONE: ScaleRange = ScaleRange {
        least: Exact::ONE,
        most: Exact::ONE,
    };
}

/// The smallest stretch of a size that can be left out of a covering.
pub(crate) fn step(size: &Size) -> Length {
    if size.stop_early {
        size.repeat
    } else {
        size.stitched()
    }
}

/// The pieces of a class and whether they are all that there are.
#[derive(Clone, Debug)]
pub struct Pieces {
    /// The pieces, longest first.
    pub list: PieceList,
    /// Whether none is missing.
    pub complete: bool,
}

/// The longest run, unscaled, that the sizes of a set can be stitched in; `None` where no hoop takes them.
fn longest_sum(scenario: &Scenario, sizes: &Sizes<'_>, set: SizeSet) -> Option<Length> {
    let (along, across) = margins(sizes, set);
    let width = sizes.members(set).next()?.width;
    let ways = scenario.hoops.iter().flat_map(|hoop| hoop.ways());
    let room = ways
        .filter(|way| width + across <= way.1)
        .map(|way| way.0 - along)
        .max()?;
    // s·u rounds to at most `room`, so u stays below (room + 1)/lo. Where the strip counts as covered exactly, u may be longer
    // than what is stitched by a nanometre for each repeat.
    let least = sizes.scale(set).least;
    let longest = (i128::from(room.nanometres()) + 1) * least.denominator() / least.numerator();
    let repeats = sizes.members(set).map(|size| size.repeat.nanometres());
    let smallest = i128::from(repeats.min()?);
    let rounding = longest / (smallest - 1).max(1) + 1;
    Some(Length::from_nanometres(
        i64::try_from(longest + rounding).ok()?,
    ))
}

/// What tells pieces apart: their sum, their sizes, and which of these can stand at both ends.
type Key = (Length, SizeSet, SizeSet);

/// For each piece the repeats of each size: those that take the least time.
type Found = BTreeMap<Key, Vec<(usize, u32)>>;

/// Pieces in the order in which they were grown.
#[derive(Default)]
struct Grown {
    list: Vec<(Key, Vec<(usize, u32)>)>,
    places: HashMap<Key, usize>,
}

impl Grown {
    /// Adds a choice of repeats, or puts it in the place of one that makes the same piece and takes longer. So what is grown on from here
    /// is one choice for each piece: what follows takes the same time after either.
    fn add(&mut self, sizes: &Sizes<'_>, key: Key, repeats: Vec<(usize, u32)>) {
        match self.places.entry(key) {
            Entry::Vacant(place) => {
                place.insert(self.list.len());
                self.list.push((key, repeats));
            }
            Entry::Occupied(place) => {
                let known = &mut self.list[*place.get()].1;
                if sizes.time_of(&repeats) < sizes.time_of(known) {
                    *known = repeats;
                }
            }
        }
    }
}

/// Makes pieces, size by size.
struct Growth<'a, 's> {
    scenario: &'a Scenario,
    sizes: &'a Sizes<'s>,
    /// What they may add up to.
    range: RangeInclusive<Length>,
    ends_matter: bool,
    /// The longest run of each set of sizes, as far as it was asked.
    rooms: HashMap<SizeSet, Option<Length>>,
}

impl Growth<'_, '_> {
    fn room(&mut self, set: SizeSet) -> Option<Length> {
        let of_set = || longest_sum(self.scenario, self.sizes, set);
        let room = *self.rooms.entry(set).or_insert_with(of_set);
        Some(room?.min(*self.range.end()))
    }

    /// Adds pieces of several sizes, where these are `mixed`, or of one each, in the order of the sizes. False where they are more than `most`:
    /// then only some are added.
    fn grow(&mut self, mixed: bool, most: usize, found: &mut Found) -> bool {
        let shortest = *self.range.start();
        let combines = self.scenario.rules.combine_sizes;
        let known = found.len();
        let nothing: Key = (Length::ZERO, 0, 0);
        let mut states = vec![(nothing, Vec::new())];
        let (mut complete, mut choices) = (true, 0);
        for (bit, (_, size)) in self.sizes.list.iter().enumerate() {
            let mut grown = Grown::default();
            for ((sum, set, twice), repeats) in &states {
                if !complete {
                    break;
                }
                let set = set | 1 << bit;
                let Some(room) = self.room(set) else {
                    continue;
                };
                let per_step = if size.stop_early { 1 } else { size.repeats };
                let last_step = if combines {
                    (room - *sum).nanometres().max(0) / step(size).nanometres()
                } else {
                    i64::from(size.repeats / per_step)
                };
                // The last size has to bring the sum into the range.
                let last = bit + 1 == self.sizes.list.len() || !mixed;
                let missing = (shortest - *sum).nanometres().max(0);
                let fewest = -(-missing).div_euclid(step(size).nanometres());
                let first = if last { fewest.max(1) } else { 1 };
                for steps in first..=last_step {
                    let sum = *sum + step(size) * steps;
                    if sum > room {
                        break;
                    }
                    choices += 1;
                    let many = grown.list.len() + found.len() - known >= most;
                    if many || choices > MOST_CHOICES {
                        complete = false;
                        break;
                    }
                    let both = self.ends_matter && steps > 1;
                    let twice = twice | SizeSet::from(both) << bit;
                    let count = u32::try_from(steps).unwrap_or(u32::MAX);
                    let mut repeats: Vec<(usize, u32)> = repeats.clone();
                    repeats.push((bit, count.saturating_mul(per_step)));
                    grown.add(self.sizes, (sum, set, twice), repeats);
                }
            }
            let long = grown.list.iter().filter(|(key, _)| key.0 >= shortest);
            for (key, repeats) in long {
                let place = found.entry(*key);
                let place = place.or_insert_with(|| repeats.clone());
                if self.sizes.time_of(repeats) < self.sizes.time_of(place) {
                    place.clone_from(repeats);
                }
            }
            if !complete {
                return false;
            }
            if mixed {
                states.extend(grown.list);
            }
        }
        true
    }
}

/// Whether some run may be as long as this: one of several sizes is no longer than one of the size with the smallest repeat alone, which has
/// at least as much room, may be squeezed as far at least, and carries as much rounding.
fn reaches(scenario: &Scenario, sizes: &Sizes<'_>, sum: Length) -> bool {
    let single = (0..sizes.list.len()).map(|bit| longest_sum(scenario, sizes, 1 << bit));
    let longest = single.flatten().max();
    longest.is_some_and(|longest| longest >= sum)
}

/// The largest margins of a set: along, across.
fn margins(sizes: &Sizes<'_>, set: SizeSet) -> (Length, Length) {
    let lowest = Length::from_nanometres(i64::MIN / 4);
    sizes
        .members(set)
        .fold((lowest, lowest), |(along, across), size| {
            (
                along.max(size.margin_along()),
                across.max(size.margin_across()),
            )
        })
}

/// Every piece that some hoop can take by itself, of a sum within `range`, as far as the extent goes. Where the ends of a class's strips matter,
/// pieces differ also in which sizes can stand at both of their ends. Where they are too many those of one size each are among them.
pub fn all(
    scenario: &Scenario,
    sizes: &Sizes<'_>,
    range: RangeInclusive<Length>,
    class: &Class,
    extent: Extent,
) -> Pieces {
    if !reaches(scenario, sizes, *range.start()) {
        return Pieces {
            list: PieceList::default(),
            complete: true,
        };
    }
    let mut growth = Growth {
        scenario,
        sizes,
        range,
        ends_matter: class.cornered,
        rooms: HashMap::new(),
    };
    let (mut found, mut complete) = (Found::new(), false);
    // Whether sizes go together in one run.
    let together = scenario.rules.combine_sizes && !class.wishes.one_size && sizes.list.len() > 1;
    if extent == Extent::Every {
        complete = growth.grow(together, MOST_PIECES, &mut found);
    }
    if !complete {
        let few = growth.grow(false, FEW_PIECES, &mut found);
        complete = few && !together;
    }
    let pieces = found.into_iter().rev().map(|((sum, set, _), repeats)| {
        let (margin_along, margin_across) = margins(sizes, set);
        Piece {
            sum,
            sizes: set,
            time: sizes.time_of(&repeats),
            repeats,
            margin_along,
            margin_across,
        }
    });
    Pieces {
        list: without_dominated(sizes, pieces.collect(), class).into(),
        complete,
    }
}

/// Leaves out each piece that another of the same sum can stand in for in every covering: no larger margins, no longer
/// time, the same scale range, no smaller step, the same repeats where the ends matter, and the same sizes where a strip is
/// kept to one.
fn without_dominated(sizes: &Sizes<'_>, pieces: Vec<Piece>, class: &Class) -> Vec<Piece> {
    let ends_matter = class.cornered;
    let stands_in = |strong: &Piece, weak: &Piece| {
        strong.margin_along <= weak.margin_along
            && strong.margin_across <= weak.margin_across
            && strong.time <= weak.time
            && strong.count() >= weak.count()
            && sizes.scale(strong.sizes) == sizes.scale(weak.sizes)
            && sizes.smallest_step(strong.sizes) >= sizes.smallest_step(weak.sizes)
            && (!class.wishes.one_size || strong.sizes == weak.sizes)
            && (!ends_matter
                || strong.sizes == weak.sizes && gives_segments_of(sizes, strong, weak))
    };
    let mut kept: Vec<Piece> = Vec::new();
    // Pieces of one sum stand together.
    let mut group_start = 0;
    for piece in pieces {
        if kept
            .get(group_start)
            .is_some_and(|first| first.sum != piece.sum)
        {
            group_start = kept.len();
        }
        if kept[group_start..]
            .iter()
            .any(|strong| stands_in(strong, &piece))
        {
            continue;
        }
        let mut index = group_start;
        while index < kept.len() {
            if stands_in(&piece, &kept[index]) {
                kept.remove(index);
            } else {
                index += 1;
            }
        }
        kept.push(piece);
    }
    kept
}

/// Whether, of each size, `strong` can give two segments where `weak` can. Both use the same sizes.
fn gives_segments_of(sizes: &Sizes<'_>, strong: &Piece, weak: &Piece) -> bool {
    let mut pairs = strong.repeats.iter().zip(&weak.repeats);
    pairs.all(|(strong, weak)| most_segments(sizes, *strong) >= most_segments(sizes, *weak).min(2))
}

/// The most segments that the repeats of one size in a piece can be split into.
pub(crate) fn most_segments(sizes: &Sizes<'_>, (bit, count): (usize, u32)) -> u32 {
    let size = sizes.list[bit].1;
    if size.stop_early {
        count
    } else {
        count / size.repeats
    }
}
