//! Why a plan is as it is, in words.

use sashwright_sheets::measure::Ruler;
use sashwright_sheets::words::{shown, term};
use sashwright_solver::explain::{Change, Explanation, Fitting, Outcome, Room};
use sashwright_solver::length::Measure;

use super::table::wrap;
use super::{section, title};

/// Different rooms that are told of; the document has more.
const MOST_ROOMS: usize = 6;
/// Strips that are told of for each.
const MOST_FITS: usize = 3;

/// Writes an explanation by itself.
pub fn explanation(of: &Explanation) -> String {
    let mut text = String::new();
    let name = match of.scenario.as_str() {
        "" => "Why so many?".to_string(),
        name => format!("Why so many for {name}?"),
    };
    title(&mut text, &name);
    let ruler = Ruler { unit: of.unit };
    let terms = of.objective.iter().map(|entry| {
        let (name, _) = term(entry);
        let mark = if entry.proven { "" } else { " (best found)" };
        format!("{name} {}{mark}", shown(entry, &entry.value, ruler))
    });
    let terms: Vec<String> = terms.collect();
    wrap(&mut text, "", &format!("The plan: {}.", terms.join(", ")));
    sections(&mut text, of);
    text
}

/// Writes the sections of an explanation.
pub(super) fn sections(text: &mut String, of: &Explanation) {
    if !of.bounds.is_empty() {
        section(text, "What every plan needs");
        for bound in &of.bounds {
            let mark = if bound.reached {
                " The plan has just as many."
            } else {
                ""
            };
            wrap(text, "  - ", &format!("{}{mark}", bound.sentence));
        }
    }
    section(text, "Room that is left");
    if of.room.is_empty() {
        wrap(text, "  ", "No hooping has room for another fabric.");
    }
    let ruler = Ruler { unit: of.unit };
    // Hoopings of which the same is to be said come together.
    let mut told: Vec<(String, &str, Vec<u32>)> = Vec::new();
    for room in &of.room {
        let words = room_in_words(room, ruler);
        let alike =
            |known: &&mut (String, &str, Vec<u32>)| known.0 == words && known.1 == room.hoop;
        match told.iter_mut().find(alike) {
            Some((_, _, numbers)) => numbers.push(room.hooping),
            None => told.push((words, &room.hoop, vec![room.hooping])),
        }
    }
    for (words, hoop, numbers) in told.iter().take(MOST_ROOMS) {
        let word = if numbers.len() == 1 {
            "hooping"
        } else {
            "hoopings"
        };
        let numbers: Vec<String> = numbers.iter().map(u32::to_string).collect();
        let numbers = numbers.join(", ");
        wrap(text, "  - ", &format!("{word} {numbers} ({hoop}): {words}"));
    }
    let untold = told
        .iter()
        .skip(MOST_ROOMS)
        .map(|(_, _, numbers)| numbers.len());
    match untold.sum::<usize>() {
        0 => {}
        1 => wrap(text, "  ", "One more hooping has some room."),
        more => wrap(text, "  ", &format!("{more} more hoopings have some room.")),
    }
    section(text, "One change at a time");
    let tried = |outcome: Outcome| {
        of.changes
            .iter()
            .filter(move |change| change.outcome == outcome)
    };
    for change in tried(Outcome::Better) {
        wrap(
            text,
            "  - ",
            &format!("{} {}", change.sentence, change.caution),
        );
    }
    if tried(Outcome::Better).next().is_none() {
        wrap(
            text,
            "  ",
            "None of the changes that were tried makes the plan better.",
        );
    }
    list(
        text,
        "Tried, and nothing gets better",
        tried(Outcome::Same).chain(tried(Outcome::Worse)),
    );
    list(text, "Not settled in the time", tried(Outcome::Open));
}

/// The names of changes in one sentence.
fn list<'a>(text: &mut String, start: &str, changes: impl Iterator<Item = &'a Change>) {
    let names = changes.map(|change| match &change.of {
        Some(wish) if change.what == "wishes" => format!("without the wish {wish}"),
        Some(of) => format!("{} of {of}", change.what),
        None => change.what.clone(),
    });
    let mut names: Vec<String> = names.collect();
    names.dedup();
    if !names.is_empty() {
        wrap(text, "  ", &format!("{start}: {}.", names.join(", ")));
    }
}

fn room_in_words(room: &Room, ruler: Ruler) -> String {
    let zero = Measure::whole(0);
    let mut parts = Vec::new();
    if room.beside != zero {
        parts.push(format!(
            "a lane more of up to {} wide and {} long",
            ruler.length(&room.beside),
            ruler.length(&room.along)
        ));
    }
    for lane in &room.lanes {
        parts.push(format!(
            "{} along lane {}",
            ruler.length(&lane.free),
            lane.lane
        ));
    }
    let mut text = parts.join("; ");
    let fits: Vec<String> = room.fits.iter().take(MOST_FITS).map(fitting).collect();
    if fits.is_empty() {
        text.push_str(". None of the strips fits there.");
    } else {
        text.push_str(&format!(
            ". There would be room for {}.",
            fits.join(", or ")
        ));
    }
    text
}

fn fitting(of: &Fitting) -> String {
    let place = match of.lane {
        Some(lane) => format!("from lane {lane} on"),
        None => "beside the lanes that are there".into(),
    };
    match of.count {
        1 => format!("one more strip like {} ({place})", of.like),
        count => format!("{count} more strips like {} ({place})", of.like),
    }
}
