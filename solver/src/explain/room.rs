//! Room that is left in the hoopings of a plan, and strips that would fit there.

use std::collections::{BTreeMap, HashMap};

use crate::deadline::Deadline;
use crate::explain::stock::{Single, Stock, Stocked};
use crate::explain::{Fitting, LaneRoom, Room};
use crate::hooping::arrange::arrange;
use crate::hooping::caps::Bonds;
use crate::length::Length;
use crate::plan::{HoopingEntry, Placement, Plan, StripEntry};
use crate::scenario::{Hoop, Scenario, Size};
use crate::strips::QuiltTop;
use crate::wishes::{StripWishes, Wishes, leaves};

/// Hoopings that are told of.
const MOST_TOLD: usize = 20;
/// Hoopings that are looked at.
const MOST_LOOKED_AT: usize = 2_000;
/// Copies of a strip that are tried in one hooping.
const MOST_COPIES: usize = 50;

/// A run that lies in a lane, or could.
#[derive(Clone, Copy)]
struct Lying {
    length: Length,
    width: Length,
    margin_along: Length,
    margin_across: Length,
    open_ends: usize,
}

/// The lanes of a hooping and the room that they are in.
#[derive(Clone)]
struct Laid {
    lanes: Vec<Vec<Lying>>,
    along: Length,
    across: Length,
    between: Length,
}

/// The hoopings with room: those where a strip fits, then the others, the largest room first. Those that the deadline does not leave
/// time for are not told of.
pub fn of(
    scenario: &Scenario,
    top: &QuiltTop,
    plan: &Plan,
    stock: &Stock,
    deadline: &Deadline,
) -> Vec<Room> {
    if !scenario.rules.share_hoopings {
        return Vec::new();
    }
    let strips: HashMap<&str, &StripEntry> = plan
        .strips
        .iter()
        .map(|strip| (strip.id.as_str(), strip))
        .collect();
    let numbers: HashMap<&str, usize> = top
        .strips
        .iter()
        .enumerate()
        .map(|(number, strip)| (strip.id.as_str(), number))
        .collect();
    let wishes = Wishes::of(scenario, top);
    let mut found: Vec<(i128, Room)> = Vec::new();
    for hooping in plan.hoopings.iter().take(MOST_LOOKED_AT) {
        if deadline.over() {
            break;
        }
        let Some((number, hoop)) = scenario
            .hoops
            .iter()
            .enumerate()
            .find(|(_, hoop)| hoop.id == hooping.hoop)
        else {
            continue;
        };
        let Some(laid) = Laid::of(scenario, hoop, hooping, &strips) else {
            continue;
        };
        let unit = scenario.unit;
        let beside = laid.beside();
        let lanes = laid.lanes.iter().enumerate();
        let free = lanes
            .map(|(lane, _)| (lane, laid.free(lane)))
            .filter(|(_, free)| *free > Length::ZERO);
        let free: Vec<(usize, Length)> = free.collect();
        if beside <= Length::ZERO && free.is_empty() {
            continue;
        }
        let held: Vec<StripWishes> = hooping
            .placements
            .iter()
            .filter_map(|run| numbers.get(run.strip.as_str()))
            .map(|strip| wishes.of_strip(*strip))
            .collect();
        let places = Places {
            laid: &laid,
            hoop: number,
            held: &held,
            beside,
            longest_free: free.iter().map(|(_, free)| *free).max().unwrap_or_default(),
        };
        let mut fits: Vec<Fitting> = stock
            .classes
            .iter()
            .filter(|stocked| places.may_take(stocked))
            .take_while(|_| !deadline.over())
            .filter_map(|stocked| fitting(scenario, top, &places, stocked))
            .collect();
        fits.sort_by(|one, other| {
            let length = |fit: &Fitting| fit.length.length(unit);
            length(other)
                .cmp(&length(one))
                .then_with(|| one.like.cmp(&other.like))
        });
        let area = |length: Length, width: Length| {
            i128::from(length.nanometres()) * i128::from(width.nanometres())
        };
        let widest = |lane: usize| {
            laid.lanes[lane]
                .iter()
                .map(|run| run.width)
                .max()
                .unwrap_or_default()
        };
        let most = free.iter().map(|(lane, free)| area(*free, widest(*lane)));
        let most = most
            .chain([area(laid.along, beside.max(Length::ZERO))])
            .max()
            .unwrap_or(0);
        let room = Room {
            hooping: hooping.number,
            hoop: hooping.hoop.clone(),
            turned: hooping.turned,
            beside: beside.max(Length::ZERO).in_unit(unit),
            along: laid.along.in_unit(unit),
            lanes: free
                .iter()
                .map(|(lane, free)| LaneRoom {
                    lane: u32::try_from(lane + 1).unwrap_or(u32::MAX),
                    free: free.in_unit(unit),
                    width: widest(*lane).in_unit(unit),
                })
                .collect(),
            fits,
        };
        found.push((most, room));
    }
    found.sort_by_key(|(most, room)| {
        (
            std::cmp::Reverse(room.fits.len().min(1)),
            std::cmp::Reverse(*most),
            room.hooping,
        )
    });
    found
        .into_iter()
        .map(|(_, room)| room)
        .take(MOST_TOLD)
        .collect()
}

/// Where a strip could go in a hooping.
struct Places<'a> {
    laid: &'a Laid,
    /// Index of the hoop.
    hoop: usize,
    /// What is wished of the strips that are there.
    held: &'a [StripWishes],
    /// Width that one more lane could have.
    beside: Length,
    /// The longest room along a lane.
    longest_free: Length,
}

impl Places<'_> {
    /// Whether some strip of a class could fit, as far as its sides alone tell: margins only take more room.
    fn may_take(&self, stocked: &Stocked) -> bool {
        let wide = stocked.class.width <= self.beside;
        let shortest = stocked.singles.iter().map(|single| single.stitched).min();
        shortest
            .is_some_and(|length| length <= self.longest_free || wide && length <= self.laid.along)
    }
}

/// How many strips of a class fit as well.
fn fitting(
    scenario: &Scenario,
    top: &QuiltTop,
    places: &Places<'_>,
    stocked: &Stocked,
) -> Option<Fitting> {
    let Places { laid, hoop, .. } = places;
    let class = &stocked.class;
    if !leaves(class.wishes.hoops, *hoop) || class.wishes.bundle.is_some() {
        return None;
    }
    let allowed = |copies: usize| {
        let mut all = places.held.to_vec();
        all.extend(std::iter::repeat_n(class.wishes.clone(), copies));
        Bonds::allow_all(&all)
    };
    let tried = stocked.singles.iter().filter_map(|single| {
        let mut laid = (*laid).clone();
        let mut first = None;
        let mut count = 0;
        while count < MOST_COPIES && allowed(count + 1) {
            let Some(lane) = laid.add(single, class.width) else {
                break;
            };
            first.get_or_insert(lane);
            count += 1;
        }
        first.map(|lane| (count, lane, single))
    });
    let (count, lane, single) = tried.max_by_key(|(count, ..)| *count)?;
    let id = class
        .members
        .first()
        .map(|strip| top.strips[*strip].id.clone())?;
    let unit = scenario.unit;
    Some(Fitting {
        like: id,
        alike: class.members.len(),
        length: class.length.in_unit(unit),
        width: class.width.in_unit(unit),
        stitched: single.stitched.in_unit(unit),
        segments: single.segments.clone(),
        count,
        lane: lane.map(|lane| u32::try_from(lane + 1).unwrap_or(u32::MAX)),
    })
}

impl Laid {
    fn of(
        scenario: &Scenario,
        hoop: &Hoop,
        hooping: &HoopingEntry,
        strips: &HashMap<&str, &StripEntry>,
    ) -> Option<Laid> {
        let [first, second] = hoop.field;
        let (along, across) = if hooping.turned {
            (second, first)
        } else {
            (first, second)
        };
        let mut lanes: BTreeMap<u32, Vec<Lying>> = BTreeMap::new();
        for run in &hooping.placements {
            let entry = strips.get(run.strip.as_str())?;
            lanes
                .entry(run.lane)
                .or_default()
                .push(lying(scenario, entry, run)?);
        }
        Some(Laid {
            lanes: lanes.into_values().collect(),
            along,
            across,
            between: scenario.allowances.between(),
        })
    }

    /// The room that a lane takes along, doubled; `None` where it cannot be laid.
    fn lane_room(&self, lane: &[Lying]) -> Option<Length> {
        let open: Vec<usize> = (0..lane.len())
            .filter(|run| lane[*run].open_ends > 0)
            .collect();
        if open.len() > 2 || lane.len() > 1 && lane.iter().any(|run| run.open_ends > 1) {
            return None;
        }
        let lengths: Vec<Length> = lane.iter().map(|run| run.length).collect();
        let margins: Vec<Length> = lane.iter().map(|run| run.margin_along).collect();
        Some(arrange(&lengths, &margins, self.between, &open).room_doubled)
    }

    /// The room that lanes take across, doubled.
    fn across_room(&self, lanes: &[Vec<Lying>]) -> Length {
        let widest = |of: fn(&Lying) -> Length| -> Vec<Length> {
            lanes
                .iter()
                .map(|lane| lane.iter().map(of).max().unwrap_or_default())
                .collect()
        };
        let (widths, margins) = (widest(|run| run.width), widest(|run| run.margin_across));
        arrange(&widths, &margins, self.between, &[]).room_doubled
    }

    /// How wide stitching without margins could be in a lane more.
    fn beside(&self) -> Length {
        let mut lanes = self.lanes.clone();
        lanes.push(vec![Lying::of_length(Length::ZERO)]);
        half(self.across * 2 - self.across_room(&lanes))
    }

    /// How long stitching without margins could be in a lane as well.
    fn free(&self, lane: usize) -> Length {
        let mut grown = self.lanes[lane].clone();
        grown.push(Lying::of_length(Length::ZERO));
        match self.lane_room(&grown) {
            Some(room) => half(self.along * 2 - room),
            None => Length::ZERO,
        }
    }

    /// Adds a strip in one run, to a lane (its place) or in one of its own; `None` where it does not fit.
    fn add(&mut self, single: &Single, width: Length) -> Option<Option<usize>> {
        let run = Lying {
            length: single.stitched,
            width,
            margin_along: single.margin_along,
            margin_across: single.margin_across,
            open_ends: 0,
        };
        for lane in 0..=self.lanes.len() {
            let mut lanes = self.lanes.clone();
            match lanes.get_mut(lane) {
                Some(lane) => lane.push(run),
                None => lanes.push(vec![run]),
            }
            let room = lanes.get(lane).and_then(|lane| self.lane_room(lane));
            let fits = room.is_some_and(|room| room <= self.along * 2);
            if fits && self.across_room(&lanes) <= self.across * 2 {
                let known = lane < self.lanes.len();
                self.lanes = lanes;
                return Some(known.then_some(lane));
            }
        }
        None
    }
}

impl Lying {
    fn of_length(length: Length) -> Lying {
        Lying {
            length,
            width: Length::ZERO,
            margin_along: Length::ZERO,
            margin_across: Length::ZERO,
            open_ends: 0,
        }
    }
}

fn lying(scenario: &Scenario, entry: &StripEntry, run: &Placement) -> Option<Lying> {
    let design = scenario
        .designs
        .iter()
        .find(|design| design.id == entry.design)?;
    let segments = &entry
        .runs
        .get(usize::try_from(run.run).ok()?.checked_sub(1)?)?
        .segments;
    let sizes = segments
        .iter()
        .map(|segment| design.sizes.iter().find(|size| size.id == segment.size));
    let sizes: Vec<&Size> = sizes.collect::<Option<_>>()?;
    let widest = |of: fn(&Size) -> Length| sizes.iter().map(|size| of(size)).max();
    Some(Lying {
        length: run.length.length(scenario.unit)?,
        width: run.width.length(scenario.unit)?,
        margin_along: widest(Size::margin_along)?,
        margin_across: widest(Size::margin_across)?,
        open_ends: run.open.len(),
    })
}

fn half(doubled: Length) -> Length {
    Length::from_nanometres(doubled.nanometres().div_euclid(2))
}
