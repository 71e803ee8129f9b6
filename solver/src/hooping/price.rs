//! The hoopings that are worth most, where each kind of run has a worth: the pricing problem of column generation.

use std::collections::{BTreeMap, BTreeSet};

use crate::hooping::caps::Caps;
use crate::hooping::fill::{Fill, Table};
use crate::hooping::pattern::Pattern;
use crate::hooping::way::{OpenLane, Way, Ways};

/// The most steps of the search in one way of a hoop; where it needs more, what the lanes of a row are worth without
/// regard to each other bounds it.
const MOST_STEPS: usize = 20_000;

/// The best of a hoop.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Best {
    /// The hooping that is worth most.
    pub pattern: Pattern,
    /// Its worth.
    pub worth: i64,
}

/// What the hoopings of a hoop are worth at most, and the best that was found.
#[derive(Clone, Default, PartialEq, Eq, Debug)]
pub struct OfHoop {
    /// No hooping in this hoop is worth more.
    pub most: i64,
    /// The best of each way that was found.
    pub found: Vec<Best>,
}

/// A lane of a way and its worth.
type Worth = (i64, usize);

/// A search in one way of a hoop.
struct Search<'a> {
    way: &'a Way,
    caps: &'a Caps,
    /// For each breadth the lanes that count, the best first.
    sorted: Vec<Vec<Worth>>,
    used: BTreeMap<usize, usize>,
    chosen: Vec<usize>,
    steps: usize,
}

impl Ways {
    /// Whether some lanes are not listed.
    pub fn are_filled(&self) -> bool {
        self.list.iter().any(Way::is_filled)
    }

    /// Whether no lanes are listed.
    pub fn are_all_filled(&self) -> bool {
        let breadths = self.list.iter().flat_map(|way| &way.breadths);
        breadths.into_iter().all(|breadth| breadth.fill.is_some())
    }

    /// The way and its lanes, where there is one way to lay hoops only, in single lanes that are not listed.
    pub fn only_lane(&self) -> Option<(&Way, &Fill)> {
        let [way] = self.list.as_slice() else {
            return None;
        };
        let [row] = way.rows.as_slice() else {
            return None;
        };
        let [breadth] = row.as_slice() else {
            return None;
        };
        let fill = way.breadths[*breadth].fill.as_ref()?;
        Some((way, fill))
    }

    /// For each way to lay a hoop a hooping of one lane, whatever it is worth, where a lane is listed that could be alone.
    pub fn any_of_each(&self, caps: &Caps) -> impl Iterator<Item = Pattern> {
        let is_allowed = move |lane: &OpenLane| {
            let mut used: BTreeMap<usize, usize> = BTreeMap::new();
            for class in &lane.classes {
                *used.entry(*class).or_default() += 1;
            }
            caps.allow(&used) && caps.bonds.keep_bundles(&used)
        };
        self.list.iter().filter_map(move |way| {
            let lane = way.lanes.iter().position(is_allowed)?;
            Some(way.pattern(&[lane]))
        })
    }

    /// For each hoop the hoopings that are worth most; `worth` by kind, `caps` what can share a hooping. Where lanes are not
    /// listed, those that are worth no more than `enough` of their hoop need not be told, and so many runs of each kind as are
    /// `left`, where given, are worth a place.
    pub fn best(
        &self,
        hoops: usize,
        worth: &[i64],
        caps: &Caps,
        enough: &dyn Fn(usize) -> i64,
        left: Option<&[usize]>,
    ) -> Vec<OfHoop> {
        let mut best: Vec<OfHoop> = vec![OfHoop::default(); hoops];
        for way in &self.list {
            if way.is_filled() {
                way.best_filled(worth, enough(way.hoop), left, &mut best[way.hoop]);
                continue;
            }
            let mut search = Search::new(way, caps, worth, true);
            let mut found: Option<(i64, Vec<usize>)> = None;
            let mut most = 0;
            for row in &way.rows {
                let known = found.as_ref().map_or(0, |(worth, _)| *worth);
                let relaxed = search.relaxed(row);
                if relaxed <= known {
                    continue;
                }
                search.steps = 0;
                let mut least = known;
                search.fill(
                    row,
                    0,
                    0,
                    0,
                    &mut |worth, lanes, least| {
                        if worth > *least {
                            *least = worth;
                            found = Some((worth, lanes.to_vec()));
                        }
                        true
                    },
                    &mut least,
                );
                if search.steps >= MOST_STEPS {
                    most = most.max(relaxed);
                }
            }
            let of_hoop = &mut best[way.hoop];
            if let Some((worth, lanes)) = found {
                most = most.max(worth);
                of_hoop.found.push(Best {
                    pattern: way.pattern(&lanes),
                    worth,
                });
            }
            of_hoop.most = of_hoop.most.max(most);
        }
        best
    }

    /// Hoopings of one lane of at most `runs` runs that are worth at least `least` of their hoop, where lanes are not listed: `limit` of each
    /// way at most.
    pub fn some_worth_at_least(
        &self,
        worth: &[i64],
        least: &dyn Fn(usize) -> i64,
        runs: usize,
        limit: usize,
    ) -> Vec<Pattern> {
        let mut all = Vec::new();
        for way in self.list.iter().filter(|way| way.is_filled()) {
            let least = least(way.hoop);
            for table in way.single_lanes(worth, None) {
                let mut found = 0;
                table.worth_at_least(least, runs, &mut |_, lane| {
                    all.push(way.of_lanes(vec![lane.to_vec()]));
                    found += 1;
                    found < limit
                });
            }
        }
        all
    }

    /// For each longest run of a lane a hooping of it alone that is worth most, and at least `least` of its hoop, where lanes are not
    /// listed.
    pub fn best_of_each(&self, worth: &[i64], least: &dyn Fn(usize) -> i64) -> Vec<Pattern> {
        let mut all = Vec::new();
        for way in self.list.iter().filter(|way| way.is_filled()) {
            for table in way.single_lanes(worth, None) {
                let (_, lanes) = table.best_of_each(least(way.hoop));
                let lanes = lanes.into_iter();
                all.extend(lanes.map(|(_, lane)| way.of_lanes(vec![lane])));
            }
        }
        all
    }

    /// A hooping of one lane that is worth most where so many runs of each kind are left, where lanes are not listed; `None` where none
    /// is worth anything.
    pub fn best_left(&self, worth: &[i64], left: &[usize]) -> Option<Pattern> {
        let filled = self.list.iter().filter(|way| way.is_filled());
        let best = filled.flat_map(|way| {
            let lanes = way.single_lanes(worth, Some(left));
            lanes.map(move |table| (table.best_lane().1, way))
        });
        let ((worth, lane), way) = best.max_by_key(|((worth, _), _)| *worth)?;
        (worth > 0).then(|| way.of_lanes(vec![lane]))
    }

    /// Every hooping that is worth at least `least` of its hoop, `limit` of them at most; `None` where there are more.
    pub fn worth_at_least(
        &self,
        worth: &[i64],
        caps: &Caps,
        least: &dyn Fn(usize) -> i64,
        limit: usize,
    ) -> Option<Vec<Pattern>> {
        let mut all = Vec::new();
        for way in &self.list {
            if way.is_filled() {
                all.append(&mut way.filled_at_least(worth, least(way.hoop), limit)?);
                continue;
            }
            let mut search = Search::new(way, caps, worth, false);
            let mut seen: BTreeSet<Vec<usize>> = BTreeSet::new();
            let mut kept = Vec::new();
            for row in &way.rows {
                search.steps = 0;
                // What is worth exactly `least` counts, so that the search looks for more than one less.
                let mut bound = least(way.hoop).saturating_sub(1);
                let whole = search.fill(
                    row,
                    0,
                    0,
                    0,
                    &mut |_, lanes, _| {
                        let pattern = way.pattern(lanes);
                        if seen.insert(pattern.kinds()) {
                            kept.push(pattern);
                        }
                        kept.len() <= limit
                    },
                    &mut bound,
                );
                if !whole || search.steps >= MOST_STEPS {
                    return None;
                }
            }
            all.append(&mut kept);
            if all.len() > limit {
                return None;
            }
        }
        Some(all)
    }
}

/// With lanes that are not listed, so many good hoopings of one lane are looked for at once.
const FILLED_AT_ONCE: usize = 60;

impl Way {
    fn is_filled(&self) -> bool {
        self.breadths.iter().any(|breadth| breadth.fill.is_some())
    }

    /// The best hoopings where lanes are not listed: of a row of one place the best for each longest run that are worth more than
    /// `enough`; of the other rows one in which every place holds the lane that is worth most.
    fn best_filled(
        &self,
        worth: &[i64],
        enough: i64,
        left: Option<&[usize]>,
        of_hoop: &mut OfHoop,
    ) {
        let tables: Vec<Option<Table<'_>>> = self
            .breadths
            .iter()
            .map(|breadth| breadth.fill.as_ref().map(|fill| fill.table(worth, left)))
            .collect();
        let mut best_lanes: BTreeMap<usize, (i64, (i64, Vec<usize>))> = BTreeMap::new();
        let mut best: Option<(i64, &Vec<usize>)> = None;
        for row in &self.rows {
            if let [breadth] = row.as_slice() {
                let table = tables[*breadth].as_ref();
                let of_each = table.map(|table| table.best_of_each(enough.max(0) + 1));
                let (worth, mut lanes) = of_each.unwrap_or_default();
                of_hoop.most = of_hoop.most.max(worth);
                lanes.truncate(FILLED_AT_ONCE);
                let lanes = lanes.into_iter();
                of_hoop.found.extend(lanes.map(|(worth, lane)| Best {
                    pattern: self.of_lanes(vec![lane]),
                    worth,
                }));
                continue;
            }
            for breadth in row {
                let table = tables[*breadth].as_ref();
                best_lanes
                    .entry(*breadth)
                    .or_insert_with(|| table.map(Table::best_lane).unwrap_or_default());
            }
            let most = row.iter().map(|breadth| best_lanes[breadth].0).sum();
            if most > best.map_or(0, |(known, _)| known) {
                best = Some((most, row));
            }
        }
        let Some((most, row)) = best else {
            return;
        };
        of_hoop.most = of_hoop.most.max(most);
        let lanes = row.iter().map(|breadth| &best_lanes[breadth].1);
        of_hoop.found.push(Best {
            worth: lanes.clone().map(|(worth, _)| worth).sum(),
            pattern: self.of_lanes(lanes.map(|(_, lane)| lane.clone()).collect()),
        });
    }

    /// What the lanes of rows of one place are worth, as far as they are not listed.
    fn single_lanes<'w>(
        &'w self,
        worth: &'w [i64],
        left: Option<&'w [usize]>,
    ) -> impl Iterator<Item = Table<'w>> + 'w {
        let single = |row: &'w Vec<usize>| match row.as_slice() {
            [breadth] => self.breadths[*breadth].fill.as_ref(),
            _ => None,
        };
        let fills = self.rows.iter().filter_map(single);
        fills.map(move |fill| fill.table(worth, left))
    }

    /// Every hooping that is worth at least so much, where lanes are not listed; `None` where there are more than `limit`,
    /// or where several lanes stand side by side.
    fn filled_at_least(&self, worth: &[i64], least: i64, limit: usize) -> Option<Vec<Pattern>> {
        let mut found = Vec::new();
        for row in &self.rows {
            let [breadth] = row.as_slice() else {
                return None;
            };
            let table = self.breadths[*breadth].fill.as_ref()?.table(worth, None);
            let whole = table.worth_at_least(least, usize::MAX, &mut |_, lane| {
                found.push(self.of_lanes(vec![lane.to_vec()]));
                found.len() <= limit
            });
            if !whole {
                return None;
            }
            if found.len() > limit {
                return None;
            }
        }
        Some(found)
    }

    /// The hooping of these lanes.
    pub fn of_lanes(&self, mut lanes: Vec<Vec<usize>>) -> Pattern {
        lanes.retain(|lane| !lane.is_empty());
        for lane in &mut lanes {
            lane.sort_unstable();
        }
        Pattern {
            hoop: self.hoop,
            turned: self.turned,
            lanes,
        }
    }

    fn pattern(&self, lanes: &[usize]) -> Pattern {
        Pattern {
            hoop: self.hoop,
            turned: self.turned,
            lanes: lanes
                .iter()
                .map(|lane| self.lanes[*lane].kinds.clone())
                .collect(),
        }
    }
}

/// Takes the worth of a full row and its lanes, and may raise what counts; false ends the search.
type See<'s> = dyn FnMut(i64, &[usize], &mut i64) -> bool + 's;

impl<'a> Search<'a> {
    /// With `one_of_each` only the best lane counts of those that leave strips of the same classes open.
    fn new(way: &'a Way, caps: &'a Caps, worth: &[i64], one_of_each: bool) -> Search<'a> {
        let of_lane = |lane: &usize| {
            let kinds = way.lanes[*lane].kinds.iter();
            kinds.fold(0_i64, |sum, kind| sum.saturating_add(worth[*kind]))
        };
        let worths: Vec<i64> = (0..way.lanes.len()).map(|lane| of_lane(&lane)).collect();
        let sorted = way.breadths.iter().map(|breadth| {
            let mut lanes: Vec<Worth> = breadth
                .lanes
                .iter()
                .map(|lane| (worths[*lane], *lane))
                .collect();
            lanes.sort_by_key(|(worth, lane)| (std::cmp::Reverse(*worth), *lane));
            if one_of_each {
                let mut seen: BTreeSet<&[usize]> = BTreeSet::new();
                lanes.retain(|(_, lane)| seen.insert(way.lanes[*lane].classes.as_slice()));
            }
            lanes
        });
        Search {
            way,
            caps,
            sorted: sorted.collect(),
            used: BTreeMap::new(),
            chosen: Vec::new(),
            steps: 0,
        }
    }

    /// The worth of a row whose lanes have no regard to each other.
    fn relaxed(&self, row: &[usize]) -> i64 {
        row.iter().map(|breadth| self.top(*breadth)).sum()
    }

    fn top(&self, breadth: usize) -> i64 {
        self.sorted[breadth].first().map_or(0, |(worth, _)| *worth)
    }

    /// Fills a row from a place on; lanes in places of one breadth come in order. What is not worth more than `least`
    /// does not count.
    fn fill(
        &mut self,
        row: &[usize],
        place: usize,
        first: usize,
        worth: i64,
        see: &mut See<'_>,
        least: &mut i64,
    ) -> bool {
        let Some(breadth) = row.get(place).copied() else {
            let counts = worth > *least && self.caps.bonds.keep_bundles(&self.used);
            return !counts || see(worth, &self.chosen, least);
        };
        let after: i64 = row[place + 1..]
            .iter()
            .map(|breadth| self.top(*breadth))
            .sum();
        let alike = row.get(place + 1) == Some(&breadth);
        let mut filled = false;
        for index in first..self.sorted[breadth].len() {
            let (of_lane, lane) = self.sorted[breadth][index];
            if worth + of_lane + after <= *least {
                return true;
            }
            self.steps += 1;
            if self.steps >= MOST_STEPS {
                return true;
            }
            if !self.take(lane) {
                continue;
            }
            filled |= self.way.lanes[lane].classes.is_empty();
            self.chosen.push(lane);
            let from = if alike { index } else { 0 };
            let goes_on = self.fill(row, place + 1, from, worth + of_lane, see, least);
            self.chosen.pop();
            self.give_back(lane);
            if !goes_on {
                return false;
            }
        }
        // A place may stay empty so that open runs stand elsewhere, but a lane without any does no harm in it. Of places of one
        // breadth the last ones stay empty.
        let mut further = row[place..].iter();
        let other = further.position(|other| *other != breadth);
        let next = other.map_or(row.len(), |other| place + other);
        filled || self.fill(row, next, 0, worth, see, least)
    }

    /// Takes a lane, unless that would bring more runs of a class together than it has strips, or than wishes allow.
    fn take(&mut self, lane: usize) -> bool {
        let classes = &self.way.lanes[lane].classes;
        for (taken, class) in classes.iter().enumerate() {
            let cap = self.caps.of_class.get(class).copied().unwrap_or(usize::MAX);
            let used = self.used.entry(*class).or_default();
            *used += 1;
            if *used > cap {
                for class in &classes[..=taken] {
                    if let Some(used) = self.used.get_mut(class) {
                        *used -= 1;
                    }
                }
                return false;
            }
        }
        let allowed = self.caps.bonds.allow(&self.used);
        if !allowed {
            self.give_back(lane);
        }
        allowed
    }

    fn give_back(&mut self, lane: usize) {
        for class in &self.way.lanes[lane].classes {
            if let Some(used) = self.used.get_mut(class) {
                *used -= 1;
            }
        }
    }
}
