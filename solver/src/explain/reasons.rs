//! What every valid plan needs, reason by reason.

use std::collections::{BTreeSet, HashSet};

use crate::bounds::by_area;
use crate::classes::Class;
use crate::exact::round_half_up;
use crate::explain::groups::{Fewest, Group, said_by_plan};
use crate::explain::stock::{Stock, Stocked};
use crate::explain::words::{group as named, hoopings, segments, show, show_field};
use crate::explain::{Because, Bound};
use crate::length::Measure;
use crate::plan::Plan;
use crate::scenario::Scenario;
use crate::strips::QuiltTop;

/// Ids that are told of the strips of a bound.
const MOST_TOLD: usize = 20;

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
    for stocked in &stock.classes {
        reasons.of_longest_run(stocked);
    }
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
            "With the gaps between them the strips take up about {} fields of {} ({}), the largest: at least {}.",
            Measure::from_ratio(tenths, 10),
            hoop.id,
            show_field(hoop.field, self.scenario.unit),
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

    /// A bound on the joints of a class, since no run of it is longer than some length.
    fn of_longest_run(&mut self, stocked: &Stocked) {
        let Some(longest) = stocked.longest.clone().filter(|_| stocked.fewest_runs > 1) else {
            return;
        };
        let class = &stocked.class;
        let strips: BTreeSet<usize> = class.members.iter().copied().collect();
        let each = stocked.fewest_runs - 1;
        let at_least = each * u64::try_from(strips.len()).unwrap_or(0);
        let ids: HashSet<&str> = strips
            .iter()
            .map(|strip| self.top.strips[*strip].id.as_str())
            .collect();
        let entries = self
            .plan
            .strips
            .iter()
            .filter(|entry| ids.contains(entry.id.as_str()));
        let joints: usize = entries.map(|entry| entry.runs.len() - 1).sum();
        let unit = self.scenario.unit;
        let length = longest
            .length
            .length(unit)
            .map_or(longest.length.to_string(), |length| show(length, unit));
        let who = match strips.len() {
            1 => format!("The strip {} is", self.first(class)),
            2 => format!("The strip {} and the one like it are", self.first(class)),
            count => format!(
                "The strip {} and the {} like it are",
                self.first(class),
                count - 1
            ),
        };
        let joints_each = match each {
            1 => "1 joint".to_string(),
            _ => format!("{each} joints"),
        };
        let sentence = format!(
            "{who} {} long, and no run is longer than {length} ({}, in {}): at least {joints_each} each.",
            show(class.length, unit),
            segments(&longest.segments),
            longest.hoop
        );
        let reached = u64::try_from(joints) == Ok(at_least);
        let mut bound = self.bound(
            Because::LongestRun,
            "joints",
            at_least,
            reached,
            &strips,
            sentence,
        );
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
