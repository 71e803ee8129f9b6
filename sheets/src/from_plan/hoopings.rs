//! The hoopings in the order of the work: a picture, what is stitched, and what is done.

use std::collections::HashMap;

use sashwright_solver::plan::{HoopingEntry, Placement};

use super::closing::ticks;
use super::room::left_for_picture;
use super::{Source, table, tied};
use crate::content::{Block, Section, Table};
use crate::pictures;
use crate::words::{listed_numbers, open_end, reversed, scaling, stitching_of, stretch, way};

/// Up to so many hoopings each have a picture of their own; of more, those that look alike share one.
const MOST_PICTURES: usize = 60;

/// All hoopings.
pub(super) fn section(source: &Source<'_>) -> Section {
    let how_to_read = vec![
        Block::Text(
            "A stretch is measured along its strip, from the finished left or top end. In the field, \"starts at\" is measured \
             along the strips and \"centre line\" across them, both from the corner with the double circle. An end that is not \
             said to stay open gets its tack-down line."
                .into(),
        ),
        Block::Picture(pictures::legend()),
    ];
    let mut blocks = vec![Block::Together(how_to_read)];
    let shared = Shared::of(source);
    let steps = source.plan.steps.iter().flat_map(|steps| &steps.hoopings);
    let steps: HashMap<u32, _> = steps.map(|of| (of.hooping, &of.steps)).collect();
    for (index, hooping) in source.plan.hoopings.iter().enumerate() {
        let all = source.plan.hoopings.len();
        let mut together = vec![Block::Heading(format!(
            "Hooping {} of {all}",
            hooping.number
        ))];
        let numbers = &shared.numbers[shared.group[index]];
        let size = tied(&source.ruler.size(&hooping.stabilizer));
        let way = way(source.scenario, source.plan, hooping);
        let steps = steps.get(&hooping.number).filter(|steps| !steps.is_empty());
        let mut text = format!("In {way}.");
        // The first step names the piece.
        if steps.is_none() {
            text.push_str(&format!(" Stabilizer {size}."));
        }
        let runs = runs(source, hooping);
        if numbers.first() == Some(&hooping.number) {
            if numbers.len() > 1 {
                text.push_str(&format!(
                    " The picture is that of hoopings {}: they differ by the names of their strips alone.",
                    listed_numbers(numbers)
                ));
            }
            let steps = steps.map_or(&[][..], |steps| steps);
            let room = left_for_picture(&text, &runs.rows, steps);
            together.push(Block::Text(text));
            let picture = pictures::hooping(
                (source.scenario, source.plan),
                source.book,
                (hooping, numbers),
                room,
            );
            together.push(Block::Picture(picture));
        } else {
            text.push_str(&format!(
                " It looks like hooping {}: see the picture there.",
                numbers[0]
            ));
            together.push(Block::Text(text));
        }
        together.push(Block::Table(Table {
            ticks: steps.is_none(),
            ..runs
        }));
        // The steps say all that the notes say.
        match steps {
            Some(steps) => together.push(ticks(steps)),
            None => {
                let notes = notes(source, hooping);
                if !notes.is_empty() {
                    together.push(Block::List(notes));
                }
            }
        }
        blocks.push(Block::Together(together));
    }
    super::section("hoopings", "Hoopings, in the order of the work", blocks)
}

/// What a picture shows of a hooping, names of strips aside.
type Likeness = (String, bool, Vec<String>);

/// Which hoopings share a picture.
struct Shared {
    /// The group of each hooping.
    group: Vec<usize>,
    /// The numbers of the hoopings of each group.
    numbers: Vec<Vec<u32>>,
}

impl Shared {
    fn of(source: &Source<'_>) -> Shared {
        let hoopings = &source.plan.hoopings;
        let mut shared = Shared {
            group: Vec::with_capacity(hoopings.len()),
            numbers: Vec::new(),
        };
        let mut known: HashMap<Likeness, usize> = HashMap::new();
        for hooping in hoopings {
            let group = match hoopings.len() > MOST_PICTURES {
                true => *known
                    .entry(likeness(source, hooping))
                    .or_insert(shared.numbers.len()),
                false => shared.numbers.len(),
            };
            if group == shared.numbers.len() {
                shared.numbers.push(Vec::new());
            }
            shared.numbers[group].push(hooping.number);
            shared.group.push(group);
        }
        shared
    }
}

fn likeness(source: &Source<'_>, hooping: &HoopingEntry) -> Likeness {
    let placements = hooping.placements.iter().map(|of| {
        let segments = run(source, of).map(|run| &run.segments);
        format!(
            "{} {} {} {} {} {:?} {} {:?}",
            of.lane, of.along, of.across, of.length, of.width, of.open, of.reversed, segments
        )
    });
    (hooping.hoop.clone(), hooping.turned, placements.collect())
}

fn run<'a>(
    source: &Source<'a>,
    placement: &Placement,
) -> Option<&'a sashwright_solver::plan::RunEntry> {
    let index = usize::try_from(placement.run).ok()?.checked_sub(1)?;
    source.book.strip(&placement.strip)?.runs.get(index)
}

/// The runs of a hooping.
fn runs(source: &Source<'_>, hooping: &HoopingEntry) -> Table {
    let ruler = source.ruler;
    let rows = hooping
        .placements
        .iter()
        .enumerate()
        .map(|(index, placement)| {
            let run = run(source, placement);
            let of = source
                .book
                .strip(&placement.strip)
                .map_or(0, |strip| strip.runs.len());
            vec![
                pictures::key(index),
                placement.strip.clone(),
                tied(&format!("{} of {of}", placement.run)),
                run.map(|run| stretch(ruler, &run.from, &run.to))
                    .map_or_else(String::new, |text| tied(&text)),
                run.map(|run| stitching_of(&run.segments))
                    .unwrap_or_default(),
                placement.lane.to_string(),
                tied(&ruler.bare(&placement.along)),
                tied(&ruler.bare(&placement.across)),
            ]
        });
    let symbol = ruler.unit.symbol();
    let [stretch, start, centre] =
        ["stretch", "starts at", "centre line"].map(|name| format!("{name}, {symbol}"));
    let head = [
        "key", "strip", "run", &stretch, "stitch", "lane", &start, &centre,
    ];
    let caption = format!(
        "What is stitched in hooping {}, and where in the field",
        hooping.number
    );
    table(caption, &head, rows.collect())
}

/// Scaling, open ends, and which way round it lies: a line for each run of which there is something to mind.
fn notes(source: &Source<'_>, hooping: &HoopingEntry) -> Vec<String> {
    let lines = hooping
        .placements
        .iter()
        .enumerate()
        .filter_map(|(at, placement)| {
            let index = usize::try_from(placement.run).unwrap_or(0).wrapping_sub(1);
            let lie = source.book.lie(&placement.strip);
            let mut notes = Vec::new();
            if let Some(strip) = source.book.strip(&placement.strip) {
                if let Some(percent) = scaling(strip) {
                    notes.push(format!(
                        "scale the design along the strip to {}",
                        tied(&percent)
                    ));
                }
                notes.extend(
                    placement
                        .open
                        .iter()
                        .map(|end| open_end(strip, index, *end, lie)),
                );
            }
            if placement.reversed {
                notes.push(reversed(lie));
            }
            let key = pictures::key(at);
            (!notes.is_empty())
                .then(|| format!("{key}, {}: {}.", placement.strip, notes.join("; ")))
        });
    lines.collect()
}
