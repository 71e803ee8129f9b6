//! The verdict in sentences.

use crate::compare::sets::MOST_FOR_EVERY_SET;
use crate::compare::{ComparisonRow, Difference, Fewest, Saving, Verdict};
use crate::exact::{Exact, round_half_up};
use crate::length::{Measure, Unit};
use crate::plan::Status;
use crate::scenario::Scenario;
use crate::time::in_words;

/// The sentences of a verdict, the most important first.
pub fn sentences(
    scenario: &Scenario,
    rows: &[ComparisonRow],
    all: &ComparisonRow,
    verdict: &Verdict,
) -> Vec<String> {
    let unit = scenario.unit;
    let mut sentences = Vec::new();
    let left_out: usize = all.refused.iter().map(|refused| refused.count).sum();
    let Some(first) = all.objective.first() else {
        sentences.push(if all.wishes_fail {
            "With the owned hoops wishes cannot be kept, so there is no plan.".to_string()
        } else {
            "None of the owned hoops can take any strip.".to_string()
        });
        sentences.extend(verdict.would_bring.iter().map(|of| candidate(of, unit)));
        return sentences;
    };
    let best = match first.value.exact() {
        Ok(value) => amount(&first.term, value, unit),
        Err(_) => first.value.to_string(),
    };
    if left_out > 0 {
        sentences.push(format!(
            "All owned hoops together leave out {}; what follows is about the others.",
            strips(left_out)
        ));
    }
    if let Some(fewest) = &verdict.fewest {
        let value = |hoops: &[String]| {
            let row = rows.iter().find(|row| row.hoops == hoops);
            row.and_then(|row| row.objective.first()?.value.exact().ok())
        };
        let of_all = first.value.exact().ok();
        // Without some hoops there can be less.
        let less = value(&fewest.hoops).filter(|value| of_all.is_some_and(|all| *value < all));
        let mut fewest = fewest.clone();
        let best = match less {
            Some(less) => {
                fewest.others.retain(|set| value(set) == Some(less));
                let needed = amount(&first.term, less, unit);
                format!("{needed}, less than all owned hoops together need ({best})")
            }
            None => best,
        };
        sentences.push(enough(&fewest, all, &best));
    }
    sentences.extend(verdict.brings.iter().map(|of| owned(of, unit)));
    let better_without = verdict.brings.iter().find(|of| is_better_without(of, unit));
    if let Some(of) = better_without.filter(|_| !scenario.rules.split_short) {
        sentences.push(format!(
            "Fewer hoops can do better since \"split_short\" is false: a strip that only {0} takes in one run may be split where {0} is not at hand. \
            With \"split_short\": true all hoops together are never worse.",
            of.hoop
        ));
    }
    sentences.extend(verdict.would_bring.iter().map(|of| candidate(of, unit)));
    if all.status == Status::Feasible {
        sentences.push(
            "Not every value is proven: a longer time limit may change what is said here.".into(),
        );
    }
    sentences
}

/// That some sets have no row.
pub fn no_time_for(sets: usize) -> String {
    let (sets, they) = match sets {
        1 => ("1 set of hoops".to_string(), "it has"),
        _ => (format!("{sets} sets of hoops"), "they have"),
    };
    format!("The time was over before {sets} had a plan: {they} no row. Give a longer time limit.")
}

/// That not every set is compared, though it was asked for.
pub fn too_many_hoops(hoops: usize) -> String {
    format!(
        "Not every set is compared: with the candidates there are {hoops} hoops, and that is done for up to {MOST_FOR_EVERY_SET}."
    )
}

/// Which hoops are enough.
fn enough(fewest: &Fewest, all: &ComparisonRow, best: &str) -> String {
    let named = listed(&fewest.hoops);
    let mut sentence = match (fewest.hoops.len(), all.hoops.len()) {
        (2, 2) => format!("Both owned hoops are needed for {best}"),
        (some, owned) if some == owned && owned > 1 => {
            format!("All {owned} owned hoops are needed for {best}")
        }
        (1, _) => format!("{named} alone is enough for {best}"),
        _ => format!("{named} are enough for {best}"),
    };
    if !fewest.others.is_empty() {
        let others: Vec<String> = fewest
            .others
            .iter()
            .take(3)
            .map(|set| listed(set))
            .collect();
        sentence.push_str(&format!("; so would be {}", others.join(", or ")));
        if fewest.others.len() > others.len() {
            sentence.push_str(&format!(
                ", or {} other sets",
                fewest.others.len() - others.len()
            ));
        }
        sentence.push_str(", with fields no smaller");
    }
    if fewest.proven {
        sentence.push_str(": no fewer hoops can do it.");
    } else {
        sentence.push_str("; that no fewer can do it is not proven.");
    }
    sentence
}

/// What an owned hoop brings.
fn owned(of: &Difference, unit: Unit) -> String {
    let hoop = &of.hoop;
    if of.wishes_fail {
        return format!("Without {hoop} there is no plan: wishes cannot be kept.");
    }
    if of.strips > 0 {
        return format!("Without {hoop}, {} cannot be stitched.", strips(of.strips));
    }
    match &changes(&of.saves, unit)[..] {
        [] => format!("Without {hoop} nothing gets worse."),
        more => format!("Without {hoop}: {}.", joined(more, "more", "less")),
    }
}

/// Whether it is proven that the plan without an owned hoop is better than the one with it.
fn is_better_without(of: &Difference, unit: Unit) -> bool {
    of.proven && matches!(changes(&of.saves, unit)[..], [(_, false), ..])
}

/// What a candidate would bring.
fn candidate(of: &Difference, unit: Unit) -> String {
    let hoop = &of.hoop;
    if of.wishes_fail {
        return format!("With {hoop} as well the wishes can be kept, and there is a plan.");
    }
    if of.strips > 0 {
        return format!(
            "With {hoop} as well, {} more could be stitched.",
            strips(of.strips)
        );
    }
    match &changes(&of.saves, unit)[..] {
        [] => format!("With {hoop} as well nothing gets better."),
        less => format!("With {hoop} as well: {}.", joined(less, "less", "more")),
    }
}

/// The terms that differ, in the goal's order, with amounts, and whether they lessen. The first that differs tells which plan is the
/// better one; what comes after may be worse with it.
pub fn changes(saves: &[Saving], unit: Unit) -> Vec<(String, bool)> {
    let differing = saves.iter().filter_map(|saving| {
        let less = saving.less.exact().ok()?;
        let positive = less > Exact::ZERO;
        let size = if positive { less } else { less.opposite() };
        (less != Exact::ZERO).then(|| (amount(&saving.term, size, unit), positive))
    });
    differing.collect()
}

/// `2 hoopings more, 1 joint less`.
pub fn joined(changes: &[(String, bool)], saved: &str, lost: &str) -> String {
    let parts = changes
        .iter()
        .map(|(amount, positive)| format!("{amount} {}", if *positive { saved } else { lost }));
    parts.collect::<Vec<_>>().join(", ")
}

/// A value of a term in words, to two decimals: `3 hoopings`, `12.5 in of overhang`, `≈ 1.99 in of mismatch at the corners`.
fn amount(term: &str, value: Exact, unit: Unit) -> String {
    let hundredths = round_half_up(value.numerator() * 100, value.denominator());
    let rounded = Measure::from_ratio(hundredths, 100);
    let about = if Exact::new(hundredths, 100) == Some(value) {
        ""
    } else {
        "≈ "
    };
    let value = format!("{about}{rounded}");
    let counted = |single: &str, several: &str| {
        let one = hundredths == 100;
        format!("{value} {}", if one { single } else { several })
    };
    let symbol = unit.symbol();
    match term {
        "hoopings" => counted("hooping", "hoopings"),
        "joints" => counted("joint", "joints"),
        "hoop_changes" => counted("change of hoop", "changes of hoop"),
        "corner_mismatch" => format!("{value} {symbol} of mismatch at the corners"),
        "overhang" => format!("{value} {symbol} of overhang"),
        "stabilizer" => format!("{value} {symbol}² of stabilizer"),
        "roll_length" => format!("{value} {symbol} of roll"),
        "minutes" => format!(
            "{} of work",
            in_words(&Measure::from_ratio(hundredths, 100))
        ),
        other => format!("{value} of {other}"),
    }
}

pub fn strips(count: usize) -> String {
    match count {
        1 => "1 strip".into(),
        _ => format!("{count} strips"),
    }
}

/// `a`, `a and b`, `a, b and c`.
pub fn listed(names: &[String]) -> String {
    match names {
        [] => String::new(),
        [one] => one.clone(),
        [some @ .., last] => format!("{} and {last}", some.join(", ")),
    }
}
