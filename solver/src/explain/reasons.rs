//! What every valid plan needs, reason by reason.

use std::collections::{BTreeSet, HashMap};

use crate::bounds::by_area;
use crate::classes::Class;
use crate::exact::round_half_up;
use crate::explain::groups::{Fewest, Group, said_by_plan};
use crate::explain::stock::{Stock, Stocked};
use crate::explain::words::{group as named, hoopings, segments};
use crate::explain::{Because, Bound, LongestRun};
use crate::length::{Length, Measure};
use crate::plan::Plan;
use crate::scenario::Scenario;
use crate::strips::QuiltTop;

/// Ids that are told of the strips of a bound.
const MOST_TOLD: usize = 20;
/// Kinds of alike strips whose longest run is told: a page, not a list of every length.
const MOST_LONGEST: usize = 12;

/// Where bounds are gathered.
struct Reasons<'a> {
    scenario: &'a Scenario,
    top: &'a QuiltTop,
    plan: &'a Plan,
    found: Vec<Bound>,
}

/// Every bound that is worth telling: those on hoopings, the highest first, then those on joints.
pub fn of(
    scenario: &Scenario,
    top: &QuiltTop,
    plan: &Plan,
    stock: &Stock,
    groups: &[Group],
    fewest: &[Option<Fewest>],
) -> Vec<Bound> {
    let mut reasons = Reasons {
        scenario,
        top,
        plan,
        found: Vec::new(),
    };
    reasons.of_all(stock);
    for (group, fewest) in groups.iter().zip(fewest) {
        if let Some(fewest) = fewest {
            reasons.of_group(group, *fewest, stock);
        }
    }
    if scenario.rules.share_hoopings {
        reasons.of_one_strip(stock);
        reasons.of_area(stock);
    } else {
        reasons.of_runs_apart(stock);
    }
    reasons
        .found
        .sort_by_key(|bound| (std::cmp::Reverse(bound.at_least), bound.because));
    reasons.of_longest_runs(stock);
    reasons.found
}

impl Reasons<'_> {
    fn hooped(
        &mut self,
        because: Because,
        at_least: u64,
        strips: &BTreeSet<usize>,
        sentence: String,
    ) {
        let reached = u64::try_from(self.plan.hoopings.len()) == Ok(at_least);
        let bound = self.bound(because, "hoopings", at_least, reached, strips, sentence);
        self.found.push(bound);
    }

    fn bound(
        &self,
        because: Because,
        term: &str,
        at_least: u64,
        reached: bool,
        strips: &BTreeSet<usize>,
        sentence: String,
    ) -> Bound {
        let ids = strips
            .iter()
            .map(|strip| self.top.strips[*strip].id.clone());
        Bound {
            because,
            term: term.into(),
            at_least,
            reached,
            count: strips.len(),
            strips: ids.take(MOST_TOLD).collect(),
            longest: None,
            sentence,
        }
    }

    /// What the plan itself says of its hoopings, where these count first.
    fn of_all(&mut self, stock: &Stock) {
        let said = said_by_plan(self.scenario, &self.plan.objective);
        let Some(least) = said.and_then(|entry| crate::explain::groups::whole(&entry.bound)) else {
            return;
        };
        let sentence = format!("All strips together need at least {}.", hoopings(least));
        self.hooped(Because::AllStrips, least, &members(stock), sentence);
    }

    fn of_group(&mut self, group: &Group, fewest: Fewest, stock: &Stock) {
        let all = group.belonging == crate::explain::groups::Belonging::All;
        if fewest.bound < 2 && !all {
            return;
        }
        let name = named(
            &group.belonging,
            group.strips.len(),
            self.top,
            stock,
            self.scenario.unit,
        );
        let needs = if group.strips.len() == 1 {
            "needs"
        } else {
            "need"
        };
        let mut sentence = format!("{name} {needs} at least {}", hoopings(fewest.bound));
        if fewest.value > fewest.bound {
            sentence.push_str(&format!("; {} are the best that was found", fewest.value));
        }
        sentence.push('.');
        let because = if all {
            Because::AllStrips
        } else {
            Because::SomeStrips
        };
        self.hooped(because, fewest.bound, &group.strips, sentence);
    }

    fn of_one_strip(&mut self, stock: &Stock) {
        let most = stock
            .classes
            .iter()
            .max_by_key(|stocked| stocked.fewest_runs);
        let Some(stocked) = most.filter(|stocked| stocked.fewest_runs > 1) else {
            return;
        };
        let strips: BTreeSet<usize> = stocked.class.members.iter().copied().collect();
        let sentence = format!(
            "The strip {} needs {} runs or more, and runs of one strip never share a hooping: at least {}.",
            self.first(&stocked.class),
            stocked.fewest_runs,
            hoopings(stocked.fewest_runs)
        );
        self.hooped(
            Because::RunsOfOneStrip,
            stocked.fewest_runs,
            &strips,
            sentence,
        );
    }

    fn of_area(&mut self, stock: &Stock) {
        let classes: Vec<Class> = stock
            .classes
            .iter()
            .map(|stocked| stocked.class.clone())
            .collect();
        let area = by_area(self.scenario, &classes);
        let Some(hoop) = self
            .scenario
            .hoops
            .get(area.hoop)
            .filter(|_| area.needed > 0)
        else {
            return;
        };
        let Ok(least) = u64::try_from(area.hoopings) else {
            return;
        };
        let tenths = round_half_up(area.needed.saturating_mul(10), area.largest);
        let sentence = format!(
            "With the gaps between them the strips take up about {} fields of {} ({}), which has the most room for them: at least {}.",
            Measure::from_ratio(tenths, 10),
            hoop.id,
            Length::both_told(hoop.field, self.scenario.unit),
            hoopings(least)
        );
        self.hooped(Because::Area, least, &members(stock), sentence);
    }

    fn of_runs_apart(&mut self, stock: &Stock) {
        let runs = stock.classes.iter().map(|stocked| {
            stocked.fewest_runs * u64::try_from(stocked.class.members.len()).unwrap_or(0)
        });
        let least = runs.sum();
        let sentence = format!(
            "Each run has a hooping of its own (share_hoopings is false), and there are {least} or more: at least {}.",
            hoopings(least)
        );
        self.hooped(Because::NoSharing, least, &members(stock), sentence);
    }

    /// Bounds on the joints of alike strips, since no run of them is longer than some length: those with the most joints, in the order
    /// in which their strips come.
    fn of_longest_runs(&mut self, stock: &Stock) {
        let joints = |stocked: &Stocked| {
            let each = stocked.fewest_runs.saturating_sub(1);
            each * u64::try_from(stocked.class.members.len()).unwrap_or(0)
        };
        let mut told: Vec<usize> = (0..stock.classes.len())
            .filter(|place| joints(&stock.classes[*place]) > 0)
            .collect();
        told.sort_by_key(|place| (std::cmp::Reverse(joints(&stock.classes[*place])), *place));
        told.truncate(MOST_LONGEST);
        told.sort_unstable();
        let runs = self.plan.strips.iter();
        let runs: HashMap<&str, usize> = runs
            .map(|entry| (entry.id.as_str(), entry.runs.len()))
            .collect();
        for place in told {
            let stocked = &stock.classes[place];
            if let Some(longest) = stocked.longest.clone() {
                let at_least = joints(stocked);
                self.of_longest_run(stocked, longest, at_least, &runs);
            }
        }
    }

    fn of_longest_run(
        &mut self,
        stocked: &Stocked,
        longest: LongestRun,
        at_least: u64,
        runs: &HashMap<&str, usize>,
    ) {
        let class = &stocked.class;
        let strips: BTreeSet<usize> = class.members.iter().copied().collect();
        let joints = strips.iter().map(|strip| {
            let runs = runs.get(self.top.strips[*strip].id.as_str());
            runs.map_or(0, |runs| runs.saturating_sub(1))
        });
        let reached = u64::try_from(joints.sum::<usize>()) == Ok(at_least);
        let unit = self.scenario.unit;
        let length = longest.length.length(unit);
        let shown = length.map_or(longest.length.to_string(), |length| length.told(unit));
        let who = match strips.len() {
            1 => format!("The strip {} is", self.first(class)),
            2 => format!("The strip {} and the one like it are", self.first(class)),
            count => format!(
                "The strip {} and the {} like it are",
                self.first(class),
                count - 1
            ),
        };
        let each = match stocked.fewest_runs - 1 {
            1 => "1 joint".to_string(),
            each => format!("{each} joints"),
        };
        let each = match strips.len() {
            1 => each,
            _ => format!("{each} each"),
        };
        // Where the longest run is not the whole reason, that is said.
        let by_length = length.map(|length| {
            let whole = class.length.nanometres() + length.nanometres() - 1;
            whole / length.nanometres().max(1)
        });
        let why =
            if by_length.and_then(|runs| u64::try_from(runs).ok()) == Some(stocked.fewest_runs) {
                String::new()
            } else {
                let runs = stocked.fewest_runs;
                format!(", and no fewer than {runs} runs add up to it")
            };
        let sentence = format!(
            "{who} {} long, and no run is longer than {shown} ({}, in {}){why}: at least {each}.",
            class.length.told(unit),
            segments(&longest.segments),
            longest.hoop
        );
        let because = Because::LongestRun;
        let mut bound = self.bound(because, "joints", at_least, reached, &strips, sentence);
        bound.longest = Some(longest);
        self.found.push(bound);
    }

    fn first(&self, class: &Class) -> &str {
        class
            .members
            .first()
            .map_or("", |strip| &self.top.strips[*strip].id)
    }
}

fn members(stock: &Stock) -> BTreeSet<usize> {
    let classes = stock.classes.iter();
    classes
        .flat_map(|stocked| stocked.class.members.iter().copied())
        .collect()
}
