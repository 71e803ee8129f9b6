//! What a run of kits adds up to.

use sashwright_sheets::measure::Ruler;
use sashwright_solver::length::Measure;

use super::table::{Table, wrap};
use super::{materials, section, section_of, title};
use crate::batch::{CannotBeMade, Ending, Summary, Totals};

/// Writes what a batch adds up to.
pub fn batch(name: &str, summary: &Summary) -> String {
    let mut text = String::new();
    let name = match name {
        "" => "Run of kits".into(),
        name => format!("Run of kits: {name}"),
    };
    title(&mut text, &name);
    totals(&mut text, &summary.totals);
    let named = summary.by_hoop_set.iter().any(|of| of.hoop_set.is_some());
    if named {
        section(&mut text, "By hoop set");
        let mut table = Table::new(2);
        table.row([
            "hoops",
            "kits",
            "copies",
            "planned",
            "hoopings",
            "hands-on time",
        ]);
        for of in &summary.by_hoop_set {
            let name = of.hoop_set.as_deref().unwrap_or("the scenarios' own");
            let totals = &of.totals;
            table.row([
                name.to_string(),
                totals.kits.to_string(),
                totals.copies.to_string(),
                totals.planned_copies.to_string(),
                totals.hoopings.to_string(),
                hours(&totals.hands_on_minutes),
            ]);
        }
        table.write(&mut text);
    }
    if !summary.cannot_be_made.is_empty() {
        section(&mut text, "What cannot be made");
        for kit in &summary.cannot_be_made {
            cannot(&mut text, kit);
        }
        if summary.more_cannot_be_made > 0 {
            let more = format!("And {} more.", summary.more_cannot_be_made);
            wrap(&mut text, "  ", &more);
        }
    }
    for order in &summary.orders {
        let ruler = Ruler { unit: order.unit };
        materials::cutting(&mut text, &order.cutting, ruler);
        materials::shopping(&mut text, &order.materials, ruler);
        let warnings = order.warnings.iter().map(String::as_str);
        section_of(&mut text, "Warnings", warnings);
    }
    text
}

fn totals(text: &mut String, totals: &Totals) {
    let copies = counted(totals.copies, "copy", "copies");
    let kits = counted(totals.kits, "kit", "kits");
    let planned = match totals.planned_copies == totals.copies {
        true => "all of them planned".to_string(),
        false => format!("{} of them planned", totals.planned_copies),
    };
    wrap(text, "", &format!("{kits} in {copies}, {planned}."));
    let mut work = format!(
        "{}, {}; {} at the hoop",
        counted(totals.hoopings, "hooping", "hoopings"),
        counted(totals.joints, "joint", "joints"),
        hours(&totals.hands_on_minutes),
    );
    if let Some(machine) = &totals.machine_minutes {
        work.push_str(&format!(", {} at the machine", hours(machine)));
    }
    wrap(text, "", &format!("{work}."));
}

fn cannot(text: &mut String, kit: &CannotBeMade) {
    let hoops = match &kit.hoop_set {
        Some(set) => format!(" with the hoops {set:?}"),
        None => String::new(),
    };
    let why = match kit.status {
        Ending::Failed => "this program failed; please report it".into(),
        _ => reasons(&kit.reasons),
    };
    let copies = match kit.copies {
        1 => String::new(),
        copies => format!(" ({copies} copies)"),
    };
    wrap(text, "  - ", &format!("{}{copies}{hoops}: {why}", kit.kit));
}

/// The first reason, and how many there are: those of other strips are mostly alike.
fn reasons(reasons: &[String]) -> String {
    match reasons {
        [] => String::new(),
        [only] => only.clone(),
        [first, more @ ..] => format!(
            "{first} ({} like it: the document lists them.)",
            counted(
                u64::try_from(more.len()).unwrap_or(u64::MAX),
                "more reason",
                "more reasons"
            ),
        ),
    }
}

fn counted(count: u64, one: &str, several: &str) -> String {
    match count {
        1 => format!("1 {one}"),
        _ => format!("{count} {several}"),
    }
}

/// Minutes as hours and minutes, rounded to the nearest minute.
fn hours(minutes: &Measure) -> String {
    let whole = minutes
        .exact()
        .ok()
        .and_then(|minutes| minutes.times_rounded(1));
    let whole = whole.unwrap_or(0);
    match (whole / 60, whole % 60) {
        (0, minutes) => format!("{minutes} min"),
        (hours, 0) => format!("{hours} h"),
        (hours, minutes) => format!("{hours} h {minutes} min"),
    }
}
