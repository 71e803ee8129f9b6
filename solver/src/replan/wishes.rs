//! The wishes for what is left: those for strips that are begun are for the parts of them.

use std::collections::{BTreeMap, BTreeSet};

use serde_json::{Value, json};

use crate::length::Length;
use crate::replan::Asked;
use crate::scenario::{Scenario, Spot, Wish, Wished};
use crate::strips::{self, RESTS, Stage, Strip};

/// The wishes as far as there is something left to wish, each with its place in the scenario of before (JSON Pointer).
pub(super) fn still_wished(
    asked: &Asked,
    plain: &Scenario,
    wishes: Value,
    dropped: &mut Vec<String>,
) -> Vec<(Value, String)> {
    let left = strips::of(plain).strips.into_iter();
    let left = left.filter(|strip| !strip.stage.is_done());
    let left: BTreeSet<String> = left.map(|strip| strip.id).collect();
    let is_left = |name: &str| {
        let start = format!("{name}-");
        let mut from = left.range(start.clone()..);
        left.contains(name) || from.next().is_some_and(|id| id.starts_with(&start))
    };
    // What was left of a strip may be a whole strip again.
    let whole_of = |name: &str| {
        let begun = asked.scenario.begun.iter();
        let mut names = begun.map(|begun| begun.strip.as_str());
        let part = |whole: &&str| {
            let rest = name.strip_prefix(*whole);
            rest.is_some_and(|rest| RESTS.contains(&rest))
        };
        names.find(part).map(str::to_string)
    };
    let Value::Array(wishes) = wishes else {
        return Vec::new();
    };
    let mut kept = Vec::new();
    let along = Along::of(asked, plain);
    for (mut wish, known) in wishes.into_iter().zip(&asked.scenario.wishes) {
        if let Wished::JointsAway { .. } | Wished::Symmetric | Wished::Alike = known.what {
            let (still, whole) = along.still(known, &wish);
            kept.extend(still.into_iter().map(|wish| (wish, known.pointer.clone())));
            if !whole {
                dropped.push(format!(
                    "The wish {} at {} asked where runs lie along strips of which a part is stitched, or that are of other lengths now; it \
                     is left out for them.",
                    known.what.name(),
                    known.pointer
                ));
            }
            continue;
        }
        if let Some(Value::Array(names)) = wish.get_mut("strips") {
            let mut still: Vec<String> = Vec::new();
            for name in names.iter().filter_map(Value::as_str) {
                let name = if is_left(name) {
                    Some(name.to_string())
                } else {
                    whole_of(name).filter(|whole| is_left(whole))
                };
                still.extend(name.filter(|name| !still.contains(name)));
            }
            let matches = |id: &&String| {
                let named = |name: &String| *id == name || id.starts_with(&format!("{name}-"));
                still.iter().any(named)
            };
            let count = left.iter().filter(matches).count();
            let needed = if matches!(known.what.name(), "together" | "apart") {
                2
            } else {
                1
            };
            if count < needed {
                continue;
            }
            *names = still.into_iter().map(Value::String).collect();
        }
        if let Some(Value::Array(hoops)) = wish.get_mut("hoops") {
            let broken = |hoop: &Value| {
                let mut broken = asked.progress.broken_hoops.iter();
                broken.any(|(broken, _)| Some(broken.as_str()) == hoop.as_str())
            };
            hoops.retain(|hoop| !broken(hoop));
            if hoops.is_empty() {
                dropped.push(format!(
                    "The wish {} at {} asked for hoops that are broken; it is left out.",
                    known.what.name(),
                    known.pointer
                ));
                continue;
            }
        }
        kept.push((wish, known.pointer.clone()));
    }
    kept
}

/// Wishes about where runs lie along their strips.
struct Along<'a> {
    asked: &'a Asked,
    /// The strips that there were, by id.
    before: BTreeMap<String, Strip>,
    /// The strips that are left.
    left: Vec<Strip>,
}

impl<'a> Along<'a> {
    fn of(asked: &'a Asked, plain: &Scenario) -> Along<'a> {
        let before = strips::of(&asked.scenario).strips.into_iter();
        Along {
            asked,
            before: before.map(|strip| (strip.id.clone(), strip)).collect(),
            left: strips::of(plain).strips,
        }
    }

    /// What is left of such a wish, and whether it is left for all of its strips.
    fn still(&self, known: &Wish, wish: &Value) -> (Vec<Value>, bool) {
        let named: BTreeSet<&str> = known.strips.iter().map(String::as_str).collect();
        let as_before =
            |strip: &&Strip| named.contains(strip.id.as_str()) && self.is_as_before(strip);
        let same: Vec<&Strip> = self.left.iter().filter(as_before).collect();
        let mut ids: Vec<&str> = same.iter().map(|strip| strip.id.as_str()).collect();
        let mut whole = ids.len() == named.len();
        let mut still = Vec::new();
        let is_open = |strip: &&Strip| !strip.stage.is_done();
        let mut open = self.left.iter().filter(is_open);
        if !open.any(|strip| self.was(strip).is_some_and(|id| named.contains(id))) {
            // All that it asked for is stitched.
            return (still, true);
        }
        match &known.what {
            // Strips that were alike and are not any more would never be again.
            Wished::Alike => {
                let lengths: BTreeSet<Length> = same.iter().map(|strip| strip.length).collect();
                if !whole || lengths.len() >= ids.len() {
                    return (Vec::new(), false);
                }
            }
            Wished::JointsAway { spots, distance } => {
                // A strip that is all stitched has no joints to come.
                whole = true;
                for id in &named {
                    if ids.contains(id) {
                        continue;
                    }
                    let parts = self
                        .left
                        .iter()
                        .filter(|strip| self.was(strip) == Some(*id));
                    for part in parts.filter(|strip| !strip.stage.is_done()) {
                        still.extend(self.shifted(part, id, spots, *distance));
                    }
                }
            }
            _ => {}
        }
        ids.sort_unstable();
        if !ids.is_empty() {
            let mut wish = wish.clone();
            wish["strips"] = json!(ids);
            still.insert(0, wish);
        }
        (still, whole)
    }

    /// Whether a strip is what it was: nothing of it was stitched since.
    fn is_as_before(&self, strip: &Strip) -> bool {
        let before = self.before.get(&strip.id);
        before.is_some_and(|before| before.stage.of_any() == strip.stage.of_any())
            && (strip.stage == Stage::Whole
                || before.is_some_and(|before| before.length == strip.length))
    }

    /// The strip of which something was stitched since, so that this is left.
    fn was(&self, strip: &Strip) -> Option<&str> {
        if let Some((id, _)) = self.before.get_key_value(&strip.id) {
            return Some(id);
        }
        let Stage::Rest { .. } = strip.stage else {
            return None;
        };
        let whole = RESTS.iter().find_map(|end| strip.id.strip_suffix(end))?;
        self.before.get_key_value(whole).map(|(id, _)| id.as_str())
    }

    /// The spots of a strip as a part of it sees them: one that lies beyond its start keeps joints away from there by what is
    /// left of the distance.
    fn shifted(&self, part: &Strip, was: &str, spots: &[Spot], distance: Length) -> Vec<Value> {
        let unit = self.asked.scenario.unit;
        let whole = self
            .before
            .get(was)
            .map_or(part.length, |strip| strip.length);
        // What butts up to the stretch at its start ends where the strip does.
        let off = match part.stage.butts() {
            Some(strips::End::Start) => whole - part.length,
            _ => Length::ZERO,
        };
        let wish = |spot: &Spot| {
            let at = match spot {
                Spot::Middle => Length::from_nanometres(whole.nanometres() / 2),
                Spot::At(at) => *at,
            } - off;
            let (at, distance) = if at < Length::ZERO {
                (Length::ZERO, distance + at)
            } else {
                (at, distance)
            };
            let still = json!({
                "wish": "joints_away",
                "strips": [part.id],
                "spots": [at.in_unit(unit)],
                "distance": distance.in_unit(unit)
            });
            (distance > Length::ZERO).then_some(still)
        };
        spots.iter().filter_map(wish).collect()
    }
}
