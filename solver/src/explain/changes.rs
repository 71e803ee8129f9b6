//! Changes to a scenario that are worth trying, one at a time.

use std::collections::BTreeSet;

use serde_json::{Value, json};

use crate::exact::Exact;
use crate::explain::Setting;
use crate::length::{Length, Unit};
use crate::scenario::{Growth, ScaleRange, Scenario, Size, Spot, Wish, Wished};
use crate::strips::QuiltTop;

/// Up to so many hoops or sizes are changed one by one; more of them all at once.
const MOST_ONE_BY_ONE: usize = 8;
/// With more sizes than this they are not changed all at once: the document would have to name each.
const MOST_AT_ONCE: usize = 100;

/// A change that is to be tried.
pub struct Tweak {
    /// The member of the scenario that is changed.
    pub what: &'static str,
    /// Id of the hoop or size whose member it is.
    pub of: Option<String>,
    /// What to write where.
    pub set: Vec<Setting>,
    /// The scenario with the change.
    pub scenario: Scenario,
    /// How a sentence about it begins.
    pub words: String,
    /// What to mind before making it.
    pub caution: &'static str,
}

/// A place for the scenario and its changes.
struct List<'s> {
    scenario: &'s Scenario,
    tweaks: Vec<Tweak>,
}

impl List<'_> {
    fn add(
        &mut self,
        what: &'static str,
        of: Option<String>,
        set: Vec<(String, Value)>,
        change: impl FnOnce(&mut Scenario),
        (words, caution): (String, &'static str),
    ) {
        let mut scenario = self.scenario.clone();
        scenario.candidates.clear();
        change(&mut scenario);
        let set = set.into_iter();
        self.tweaks.push(Tweak {
            what,
            of,
            set: set
                .map(|(pointer, value)| Setting { pointer, value })
                .collect(),
            scenario,
            words,
            caution,
        });
    }

    /// A rule that is switched.
    fn rule(
        &mut self,
        what: &'static str,
        value: Value,
        change: impl FnOnce(&mut Scenario),
        words: (String, &'static str),
    ) {
        let set = vec![(format!("/rules/{what}"), value)];
        self.add(what, None, set, change, words);
    }
}

/// Every change that applies to the scenario.
pub fn of(scenario: &Scenario, top: &QuiltTop) -> Vec<Tweak> {
    let mut list = List {
        scenario,
        tweaks: Vec::new(),
    };
    turns(&mut list);
    rules(&mut list);
    let used = used_sizes(scenario, top);
    stops(&mut list, &used);
    allowances(&mut list);
    scales(&mut list, &used);
    wishes(&mut list);
    list.tweaks
}

/// Each wish taken back.
fn wishes(list: &mut List<'_>) {
    if list.scenario.wishes.len() > MOST_ONE_BY_ONE {
        return;
    }
    for (place, wish) in list.scenario.wishes.iter().enumerate() {
        let unit = list.scenario.unit;
        let wishes = list.scenario.wishes.iter();
        let mut left: Vec<Value> = wishes.map(|wish| wish_value(wish, unit)).collect();
        left.remove(place);
        let named = format!("{} at {}", wish.what.name(), wish.pointer);
        let words = format!("Without the wish {named}");
        list.add(
            "wishes",
            Some(named),
            vec![("/wishes".to_string(), Value::Array(left))],
            |scenario| {
                scenario.wishes.remove(place);
            },
            (words, "There was a reason for it; see that it is gone."),
        );
    }
}

/// A wish as a scenario says it.
fn wish_value(wish: &Wish, unit: Unit) -> Value {
    let name = wish.what.name();
    match &wish.what {
        Wished::OnlyIn(hoops) => json!({"wish": name, "strips": wish.strips, "hoops": hoops}),
        Wished::AtMost(runs) => json!({"wish": name, "runs": runs}),
        Wished::JointsAway { spots, distance } => {
            let spot = |spot: &Spot| match spot {
                Spot::Middle => json!("middle"),
                Spot::At(at) => json!(at.in_unit(unit)),
            };
            let spots: Vec<Value> = spots.iter().map(spot).collect();
            json!({
                "wish": name,
                "strips": wish.strips,
                "spots": spots,
                "distance": distance.in_unit(unit)
            })
        }
        Wished::Together
        | Wished::Apart
        | Wished::First
        | Wished::OneSize
        | Wished::Symmetric
        | Wished::Alike => json!({"wish": name, "strips": wish.strips}),
    }
}

/// The sizes that some strip can be stitched with, as (design, place in it).
fn used_sizes(scenario: &Scenario, top: &QuiltTop) -> Vec<(usize, usize)> {
    let strips = top.strips.iter();
    let wanted: BTreeSet<(usize, Length)> =
        strips.map(|strip| (strip.design, strip.width)).collect();
    let mut used = Vec::new();
    for (design, of_design) in scenario.designs.iter().enumerate() {
        for (place, size) in of_design.sizes.iter().enumerate() {
            if wanted.contains(&(design, size.width)) {
                used.push((design, place));
            }
        }
    }
    used
}

fn turns(list: &mut List<'_>) {
    let hoops = list.scenario.hoops.iter().enumerate();
    let fixed: Vec<(usize, String)> = hoops
        .filter(|(_, hoop)| !hoop.turn && hoop.field[0] != hoop.field[1])
        .map(|(place, hoop)| (place, hoop.id.clone()))
        .collect();
    let caution =
        "Only where your machine and the files let strips lie along the other side of the field.";
    let set = |place: usize| (format!("/hoops/{place}/turn"), json!(true));
    if fixed.len() > MOST_ONE_BY_ONE {
        let all = fixed.iter().map(|(place, _)| set(*place)).collect();
        let turn_all = |scenario: &mut Scenario| {
            for hoop in &mut scenario.hoops {
                hoop.turn = true;
            }
        };
        let words = "If every hoop could be turned (turn)".into();
        list.add("turn", None, all, turn_all, (words, caution));
        return;
    }
    for (place, id) in fixed {
        let words = format!("If the hoop {id} could be turned (turn)");
        list.add(
            "turn",
            Some(id),
            vec![set(place)],
            |scenario| scenario.hoops[place].turn = true,
            (words, caution),
        );
    }
}

fn rules(list: &mut List<'_>) {
    let rules = list.scenario.rules;
    if !rules.combine_sizes {
        list.rule(
            "combine_sizes",
            json!(true),
            |scenario| scenario.rules.combine_sizes = true,
            (
                "If a run could have several segments (combine_sizes)".into(),
                "Only where the sizes run on into each other; stitch a sample of the place where they meet.",
            ),
        );
    }
    if !rules.split_short {
        list.rule(
            "split_short",
            json!(true),
            |scenario| scenario.rules.split_short = true,
            (
                "If strips that fit in one run could be split (split_short)".into(),
                "Every joint is a place where the pattern can break.",
            ),
        );
    }
    if rules.growth == Growth::OneWay {
        list.rule(
            "growth",
            json!("either_way"),
            |scenario| scenario.rules.growth = Growth::EitherWay,
            (
                "If strips could grow either way from where they are begun (growth)".into(),
                "The pattern then has to be matched at both open ends.",
            ),
        );
    }
    if !rules.share_hoopings {
        list.rule(
            "share_hoopings",
            json!(true),
            |scenario| scenario.rules.share_hoopings = true,
            (
                "If runs could share a hooping (share_hoopings)".into(),
                "Several fabrics in one hoop have to lie flat and stay clear of each other.",
            ),
        );
    }
    if let Some(most) = rules.max_overhang {
        let most = most.told(list.scenario.unit);
        list.rule(
            "max_overhang",
            Value::Null,
            |scenario| scenario.rules.max_overhang = None,
            (
                format!("Without the limit of {most} on overhang (max_overhang)"),
                "More of the pattern is cut off at the seam lines.",
            ),
        );
    }
}

fn stops(list: &mut List<'_>, used: &[(usize, usize)]) {
    let size = |(design, place): &(usize, usize)| &list.scenario.designs[*design].sizes[*place];
    let whole: Vec<(usize, usize)> = (used.iter().copied())
        .filter(|at| !size(at).stop_early && size(at).repeats > 1)
        .collect();
    let caution =
        "Only where the file can be stopped after a repeat, and your machine lets you stop there.";
    let set = |(design, place): (usize, usize)| {
        let pointer = format!("/designs/{design}/sizes/{place}/stop_early");
        (pointer, json!(true))
    };
    if whole.len() > MOST_ONE_BY_ONE {
        if whole.len() <= MOST_AT_ONCE {
            let all = whole.iter().map(|at| set(*at)).collect();
            let stop_all = |scenario: &mut Scenario| {
                for (design, place) in &whole {
                    scenario.designs[*design].sizes[*place].stop_early = true;
                }
            };
            let words = "If every size could be stopped after any repeat (stop_early)".into();
            list.add("stop_early", None, all, stop_all, (words, caution));
        }
        return;
    }
    for (design, place) in whole {
        let id = list.scenario.designs[design].sizes[place].id.clone();
        let words = format!("If {id} could be stopped after any repeat (stop_early)");
        list.add(
            "stop_early",
            Some(id),
            vec![set((design, place))],
            |scenario| scenario.designs[design].sizes[place].stop_early = true,
            (words, caution),
        );
    }
}

/// An eighth of an inch, or 3 mm.
fn small_step(unit: Unit) -> Length {
    match unit {
        Unit::Inch => Length::from_nanometres(3_175_000),
        Unit::Millimetre => Length::from_nanometres(3_000_000),
    }
}

fn allowances(list: &mut List<'_>) {
    let unit = list.scenario.unit;
    let now = list.scenario.allowances;
    let less = |length: Length| (length - small_step(unit)).max(Length::ZERO);
    let words = |what: &str, length: Length| {
        let (new, old) = (less(length).told(unit), length.told(unit));
        format!("With a {what} of {new} instead of {old}")
    };
    let set = |what: &str, length: Length| {
        let pointer = format!("/allowances/{what}");
        vec![(pointer, json!(less(length).in_unit(unit)))]
    };
    if now.gap > Length::ZERO {
        let caution = "A smaller gap leaves less room to lay each fabric down and to hold it.";
        list.add(
            "gap",
            None,
            set("gap", now.gap),
            |scenario| scenario.allowances.gap = less(now.gap),
            (words("gap", now.gap), caution),
        );
    }
    if now.trim > Length::ZERO {
        let caution =
            "A smaller trim leaves less fabric to hold, and less to square up after stitching.";
        list.add(
            "trim",
            None,
            set("trim", now.trim),
            |scenario| scenario.allowances.trim = less(now.trim),
            (words("trim", now.trim), caution),
        );
    }
}

/// A size's range with a point more at both ends, within what a scenario may say; `None` where that would take more digits than it
/// may have.
fn wider(range: ScaleRange) -> Option<ScaleRange> {
    let moved = |bound: Exact, hundredths: i128| {
        let upper = bound.numerator() * 100 + hundredths * bound.denominator();
        let moved = Exact::new(upper, bound.denominator() * 100)?;
        let fine = |part: i128| part <= 1_000_000_000;
        (fine(moved.numerator()) && fine(moved.denominator())).then_some(moved)
    };
    Some(ScaleRange {
        least: moved(range.least, -1)?.max(Exact::new(1, 10)?),
        most: moved(range.most, 1)?.min(Exact::new(10, 1)?),
    })
}

fn scales(list: &mut List<'_>, used: &[(usize, usize)]) {
    if used.is_empty() || used.len() > MOST_AT_ONCE {
        return;
    }
    let mut ranges = Vec::new();
    for (design, place) in used {
        let size: &Size = &list.scenario.designs[*design].sizes[*place];
        let Some(range) = wider(size.scale) else {
            return;
        };
        ranges.push((*design, *place, range));
    }
    let set = ranges.iter().map(|(design, place, range)| {
        let bounds = [range.least, range.most].map(|bound| bound.to_string());
        let pointer = format!("/designs/{design}/sizes/{place}/scale");
        (pointer, json!(bounds))
    });
    list.add(
        "scale",
        None,
        set.collect(),
        |scenario| {
            for (design, place, range) in &ranges {
                scenario.designs[*design].sizes[*place].scale = *range;
            }
        },
        (
            "If every size could be stretched by a point more either way (scale)".into(),
            "Only as far as the design still looks right and its stitches still cover; stitch a sample.",
        ),
    );
}
