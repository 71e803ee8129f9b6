//! The strips one by one: where the runs of each begin and end, and in which hoopings they are stitched.

use std::collections::HashMap;

use sashwright_solver::plan::StripEntry;

use super::names::Names;
use super::{Source, table, tied};
use crate::content::{Block, Section};
use crate::pictures;
use crate::words::{ids, stitching_of};

/// Strips that share a ruler: indices in the plan.
type Group = Vec<usize>;

/// All rulers.
pub(super) fn section(source: &Source<'_>, names: &mut Names) -> Section {
    let groups = groups(source);
    let blocks = groups
        .iter()
        .filter_map(|group| ruler(source, group, names));
    let mut blocks: Vec<Block> = blocks.collect();
    if blocks.is_empty() {
        blocks.push(Block::Text("There is nothing to stitch.".into()));
    }
    super::section("strips", "Strips and their joints", blocks)
}

/// Strips of one size and design whose runs are alike but for their hoopings.
fn groups(source: &Source<'_>) -> Vec<Group> {
    let mut groups: Vec<Group> = Vec::new();
    let mut known: HashMap<String, usize> = HashMap::new();
    for (index, strip) in source.plan.strips.iter().enumerate() {
        let mut likeness = format!(
            "{}/{}/{}/{}",
            strip.length, strip.width, strip.scale, strip.design
        );
        for run in &strip.runs {
            likeness.push_str(&format!("/{}/{}/{:?}", run.from, run.to, run.segments));
        }
        let group = *known.entry(likeness).or_insert(groups.len());
        if group == groups.len() {
            groups.push(Vec::new());
        }
        groups[group].push(index);
    }
    groups
}

/// Up to so many names stand in a heading.
const MOST_NAMES: usize = 3;

/// A group's ruler, its stretches, and the hoopings of each of its strips.
fn ruler(source: &Source<'_>, group: &[usize], names: &mut Names) -> Option<Block> {
    let strips = &source.plan.strips;
    let strip = strips.get(*group.first()?)?;
    let title = match group {
        few if few.len() <= MOST_NAMES => ids(strips, few),
        many => format!("{} and {} more alike", strip.id, many.len() - 1),
    };
    let several = group.len() > 1;
    let name = names.unique(&format!("strip-{}", strip.id));
    let picture = pictures::ruler(strip, name, &title, source.ruler.unit, several);
    let mut blocks = vec![
        Block::Heading(title.clone()),
        Block::Picture(picture),
        Block::Table(stretches(source, strip, &title, several)),
    ];
    if several {
        blocks.push(Block::Table(hoopings(strips, group, &title)));
    }
    Some(Block::Together(blocks))
}

fn stretches(
    source: &Source<'_>,
    strip: &StripEntry,
    title: &str,
    several: bool,
) -> crate::content::Table {
    let ruler = source.ruler;
    let rows = strip.runs.iter().enumerate().map(|(index, run)| {
        let mut row = vec![
            (index + 1).to_string(),
            tied(&ruler.bare(&run.from)),
            tied(&ruler.bare(&run.to)),
            stitching_of(&run.segments),
        ];
        if !several {
            row.insert(1, run.hooping.to_string());
        }
        row
    });
    let symbol = ruler.unit.symbol();
    let [from, to] = ["from", "to"].map(|name| format!("{name}, {symbol}"));
    let mut head = vec!["run", &from, &to, "stitch"];
    if !several {
        head.insert(1, "hooping");
    }
    table(format!("Runs of {title}"), &head, rows.collect())
}

/// Which strips are stitched in which hoopings; strips that follow each other and share all hoopings on one line.
fn hoopings(strips: &[StripEntry], group: &[usize], title: &str) -> crate::content::Table {
    let of =
        |index: &usize| -> Vec<u32> { strips[*index].runs.iter().map(|run| run.hooping).collect() };
    let rows = group
        .chunk_by(|one, next| of(one) == of(next))
        .map(|alike| {
            let hoopings = alike.first().map(of).unwrap_or_default();
            let hoopings: Vec<String> = hoopings.iter().map(u32::to_string).collect();
            vec![ids(strips, alike), hoopings.join(", ")]
        });
    let runs = group.first().map_or(0, |index| strips[*index].runs.len());
    let head = match runs {
        1 => ["strips", "hooping"],
        _ => ["strips", "hoopings, in the order of the runs"],
    };
    table(format!("Hoopings of {title}"), &head, rows.collect())
}
