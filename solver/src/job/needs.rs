//! What has to be cut for a plan: every piece of stabilizer, fabric, batting and backing, from the scenario and the plan alone.

use std::borrow::Cow;
use std::collections::{BTreeSet, HashMap, HashSet};

use crate::cutting::Lay;
use crate::job::document::Material;
use crate::job::piecing::parts;
use crate::length::{Length, Measure, Unit};
use crate::plan::{Plan, StripEntry, by_id};
use crate::scenario::{
    BattingBy, BorderCorner, Centre, Fabric, LongStrips, Quilt, Scenario, Stocks,
};
use crate::strips::{self, End};

/// Of a quilt top with more pieces of fabric than this no cutting is made: plain sashing makes millions from a few numbers.
const MOST_PIECES: usize = 100_000;

/// One piece to cut.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Need {
    /// Its two sides: along the strip and across it, or in the order of the hoop's frame.
    pub sides: [Length; 2],
    /// Which way it may lie.
    pub lay: Lay,
    /// What it is for, in words.
    pub usage: String,
}

/// A cloth and what is cut from it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Cloth<'a> {
    /// What it is for.
    pub material: Material,
    /// Its name.
    pub name: &'a str,
    /// What it is cut from.
    pub stocks: Cow<'a, Stocks>,
    /// The pieces.
    pub needs: Vec<Need>,
}

/// Every cloth with its pieces, in the order of the documents; the ones without pieces are left out. `warnings` is told what was found odd.
pub fn of<'a>(scenario: &'a Scenario, plan: &Plan, warnings: &mut Vec<String>) -> Vec<Cloth<'a>> {
    let mut cloths = vec![stabilizer(scenario, plan)];
    cloths.extend(fabrics(scenario, plan, warnings));
    cloths.extend(batting(scenario, plan));
    cloths.extend(backing(scenario, plan));
    cloths.retain(|cloth| !cloth.needs.is_empty());
    cloths
}

/// A length that the plan prints.
fn read(measure: &Measure, unit: Unit) -> Length {
    measure.length(unit).unwrap_or_default()
}

fn stabilizer<'a>(scenario: &'a Scenario, plan: &Plan) -> Cloth<'a> {
    let materials = &scenario.materials;
    let pieces: HashMap<&str, [Length; 2]> = scenario
        .hoops
        .iter()
        .map(|hoop| (hoop.id.as_str(), materials.stabilizer.piece(hoop)))
        .collect();
    let needs = plan.hoopings.iter().filter_map(|hooping| {
        Some(Need {
            sides: *pieces.get(hooping.hoop.as_str())?,
            lay: materials.stabilizer_stocks.lay,
            usage: format!("hooping {}", hooping.number),
        })
    });
    Cloth {
        material: Material::Stabilizer,
        name: "stabilizer",
        stocks: Cow::Borrowed(&materials.stabilizer_stocks),
        needs: needs.collect(),
    }
}

/// The fabric that there is where none is told of: one for everything, of the usual width.
fn usual_fabric() -> Fabric {
    Fabric {
        id: "fabric".into(),
        names: Vec::new(),
        long_strips: LongStrips::Lengthwise,
        stocks: Stocks::of_usual_fabric(),
    }
}

/// A piece of fabric before it is known from which one it is cut.
struct Top {
    id: String,
    /// Where in its id the name within its quilt begins, in bytes.
    named_from: usize,
    sides: [Length; 2],
    usage: String,
    /// Where runs butt up, from its cut start; none of plain pieces.
    joints: Vec<Length>,
}

fn fabrics<'a>(scenario: &'a Scenario, plan: &Plan, warnings: &mut Vec<String>) -> Vec<Cloth<'a>> {
    let own = &scenario.materials.fabrics;
    let usual = usual_fabric();
    let all: Vec<&Fabric> = if own.is_empty() {
        vec![&usual]
    } else {
        own.iter().collect()
    };
    let count = pieces_of_top(scenario);
    if count > MOST_PIECES {
        warnings.push(format!(
            "The quilt top has {count} pieces of fabric, and no cutting is made of more than {MOST_PIECES}."
        ));
        return Vec::new();
    }
    let tops = tops(scenario, plan);
    // The first fabric that is for a name.
    let mut by_name: HashMap<&str, usize> = HashMap::new();
    for (number, fabric) in all.iter().enumerate() {
        for name in &fabric.names {
            by_name.entry(name).or_insert(number);
        }
    }
    let known: HashSet<&str> = tops.iter().flat_map(names).collect();
    let for_the_rest = all.iter().position(|fabric| fabric.names.is_empty());
    let chosen = |top: &Top| {
        let named = names(top).filter_map(|name| by_name.get(name).copied());
        named.min().or(for_the_rest)
    };
    for fabric in &all {
        for name in fabric
            .names
            .iter()
            .filter(|name| !known.contains(name.as_str()))
        {
            warnings.push(format!(
                "The fabric \"{}\" is for \"{name}\", and nothing of that name is cut.",
                fabric.id
            ));
        }
    }
    let called: BTreeSet<&str> = tops.iter().map(|top| top.usage.as_str()).collect();
    let mut needs: Vec<Vec<Need>> = vec![Vec::new(); all.len()];
    let mut without = BTreeSet::new();
    for top in &tops {
        match chosen(top) {
            Some(fabric) => needs[fabric].extend(needs_of(scenario, all[fabric], top, &called)),
            None => {
                without.insert(top.id.as_str());
            }
        }
    }
    if let Some(first) = without.first() {
        warnings.push(format!(
            "No fabric is for {} of the pieces, such as \"{first}\"; give one of the fabrics no \"for\".",
            without.len()
        ));
    }
    let given = needs.into_iter().enumerate();
    let cloths = given.map(|(number, needs)| Cloth {
        material: Material::Fabric,
        name: own.get(number).map_or("fabric", |fabric| &fabric.id),
        stocks: match own.get(number) {
            Some(fabric) => Cow::Borrowed(&fabric.stocks),
            None => Cow::Owned(usual.stocks.clone()),
        },
        needs,
    });
    cloths.collect()
}

/// What a piece can be named by: its id, and every beginning of it up to a dash. A piece of one of several quilts can be named by what
/// it is in that quilt as well.
fn names(top: &Top) -> impl Iterator<Item = &str> {
    let within = (top.named_from > 0).then(|| top.id.get(top.named_from..));
    [Some(top.id.as_str()), within.flatten()]
        .into_iter()
        .flatten()
        .flat_map(|id| {
            let beginnings = id.match_indices('-').map(|(at, _)| &id[..at]);
            beginnings.chain([id])
        })
}

/// What is cut for one piece of the top: itself, or parts to be sewn together. `called` is what all pieces are called.
fn needs_of(scenario: &Scenario, fabric: &Fabric, top: &Top, called: &BTreeSet<&str>) -> Vec<Need> {
    let [length, width] = top.sides;
    let whole = Need {
        sides: top.sides,
        lay: fabric.stocks.lay,
        usage: top.usage.clone(),
    };
    let LongStrips::Pieced { clear } = fabric.long_strips else {
        return vec![whole];
    };
    let across = fabric.stocks.bolts.iter().map(|bolt| bolt.width).max();
    let Some(across) = across.filter(|across| length > *across) else {
        return vec![whole];
    };
    let seam = scenario.allowances.seam;
    let Some(parts) = parts(length, across, seam, clear, &top.joints) else {
        return vec![whole];
    };
    let count = parts.len();
    let strip = name_before_part(&top.usage, called);
    let parts = parts.into_iter().enumerate().map(|(number, part)| Need {
        sides: [part, width],
        lay: Lay::Crosswise,
        usage: format!("{strip}, part {} of {count}", number + 1),
    });
    parts.collect()
}

/// What a strip is called where its parts are: by its name, in quotes where a piece is called like one of its parts would be.
fn name_before_part(name: &str, called: &BTreeSet<&str>) -> String {
    let mut strip = name.to_string();
    loop {
        let part = format!("{strip}, part ");
        let mut from_there = called.range(part.as_str()..);
        if !from_there
            .next()
            .is_some_and(|name| name.starts_with(&part))
        {
            return strip;
        }
        strip = format!("\"{strip}\"");
    }
}

/// Every piece of fabric: stitched strips, plain strips, cornerstones.
fn tops(scenario: &Scenario, plan: &Plan) -> Vec<Top> {
    let unit = scenario.unit;
    let seam = scenario.allowances.seam;
    let planned = by_id(&plan.strips);
    let begun: BTreeSet<&str> = scenario
        .begun
        .iter()
        .map(|begun| begun.strip.as_str())
        .collect();
    let mut tops = Vec::new();
    for strip in strips::whole(&all_stitched(scenario)).strips {
        if begun.contains(strip.id.as_str()) {
            continue;
        }
        let top = match planned.get(strip.id.as_str()) {
            Some(entry) => stitched(entry, strip.named_from, unit),
            None => Top {
                named_from: strip.named_from,
                usage: strip.id.clone(),
                sides: [strip.length + seam * 2, strip.width + seam * 2],
                joints: Vec::new(),
                id: strip.id,
            },
        };
        tops.push(top);
    }
    tops.extend(cornerstones(scenario));
    tops
}

/// How many pieces of fabric the quilt top has, without making them.
fn pieces_of_top(scenario: &Scenario) -> usize {
    let squares_of = |quilt: &Quilt| {
        let crossings = match &quilt.centre {
            Centre::Blocks {
                columns,
                rows,
                sashing: Some(sashing),
                ..
            } if sashing.cornerstones => sashing.beside(*columns) * sashing.beside(*rows),
            _ => 0,
        };
        usize::try_from(crossings).unwrap_or(usize::MAX / 4) + 4 * quilt.borders.len()
    };
    let of_one = scenario.quilt.iter().map(squares_of);
    let quilts = scenario.quilts.iter();
    let of_several = quilts.map(|entry| entry.count.saturating_mul(squares_of(&entry.quilt)));
    let strips = strips::count(&all_stitched(scenario));
    of_one.chain(of_several).fold(strips, usize::saturating_add)
}

fn stitched(entry: &StripEntry, named_from: usize, unit: Unit) -> Top {
    let sides = [read(&entry.cut[0], unit), read(&entry.cut[1], unit)];
    let start = entry
        .runs
        .first()
        .map_or(Length::ZERO, |run| read(&run.from, unit));
    // Fabric reaches as far past the stitching at either end.
    let past = Length::from_nanometres((sides[0] - stretch(entry, unit)).nanometres() / 2);
    let inner = entry.runs.iter().skip(1);
    let joints = inner.map(|run| read(&run.from, unit) - start + past);
    Top {
        id: entry.id.clone(),
        named_from,
        sides,
        usage: entry.id.clone(),
        joints: joints.collect(),
    }
}

/// The scenario with plain borders and sashes as if they were stitched, so that they become strips as well.
fn all_stitched(scenario: &Scenario) -> Scenario {
    let mut all = scenario.clone();
    all.wishes = Vec::new();
    let further = all.quilts.iter_mut().map(|entry| &mut entry.quilt);
    for quilt in all.quilt.iter_mut().chain(further) {
        for border in &mut quilt.borders {
            border.design = border.design.or(Some(0));
        }
        if let Centre::Blocks {
            sashing: Some(sashing),
            ..
        } = &mut quilt.centre
        {
            sashing.design = sashing.design.or(Some(0));
        }
    }
    all
}

fn cornerstones(scenario: &Scenario) -> Vec<Top> {
    let seam = scenario.allowances.seam;
    let mut tops = Vec::new();
    if let Some(quilt) = &scenario.quilt {
        add_cornerstones(&mut tops, quilt, seam);
    }
    for entry in &scenario.quilts {
        let mut one = Vec::new();
        add_cornerstones(&mut one, &entry.quilt, seam);
        if one.is_empty() {
            continue;
        }
        for copy in 1..=entry.count {
            let name = entry.name(copy);
            tops.extend(one.iter().map(|top: &Top| Top {
                id: format!("{name}-{}", top.id),
                named_from: name.len() + 1,
                sides: top.sides,
                usage: format!("{} of {name}", top.usage),
                joints: Vec::new(),
            }));
        }
    }
    tops
}

/// Adds the cornerstones of a quilt top, named as those of the scenario's one quilt are.
fn add_cornerstones(tops: &mut Vec<Top>, quilt: &Quilt, seam: Length) {
    if let Centre::Blocks {
        columns,
        rows,
        sashing: Some(sashing),
        ..
    } = &quilt.centre
        && sashing.cornerstones
    {
        let crossings = sashing.beside(*columns) * sashing.beside(*rows);
        for _ in 0..crossings {
            tops.push(Top {
                id: "cornerstone-sash".into(),
                named_from: 0,
                sides: [sashing.width + seam * 2; 2],
                usage: "cornerstone of the sashing".into(),
                joints: Vec::new(),
            });
        }
    }
    for (number, border) in (1..).zip(&quilt.borders) {
        if border.corner == BorderCorner::Cornerstone {
            let [sides, ends] = border.widths();
            for _ in 0..4 {
                tops.push(Top {
                    id: format!("cornerstone-border-{number}"),
                    named_from: 0,
                    sides: [sides + seam * 2, ends + seam * 2],
                    usage: format!("cornerstone of border {number}"),
                    joints: Vec::new(),
                });
            }
        }
    }
}

/// How far a strip is stitched, from its start to its end.
fn stretch(entry: &StripEntry, unit: Unit) -> Length {
    let start = entry
        .runs
        .first()
        .map_or(Length::ZERO, |run| read(&run.from, unit));
    let end = entry
        .runs
        .last()
        .map_or(Length::ZERO, |run| read(&run.to, unit));
    end - start
}

/// What is left of strips that are begun, by id, with the end at which it butts up to the stitching. Whatever lies under a whole
/// strip lies there since it was begun.
fn rests(scenario: &Scenario) -> HashMap<String, End> {
    if scenario.begun.is_empty() {
        return HashMap::new();
    }
    let strips = strips::of(scenario).strips.into_iter();
    strips
        .filter_map(|strip| Some((strip.id, strip.stage.butts()?)))
        .collect()
}

fn batting<'a>(scenario: &'a Scenario, plan: &Plan) -> Option<Cloth<'a>> {
    let batting = scenario.materials.batting.as_ref()?;
    let unit = scenario.unit;
    let mut needs = Vec::new();
    let rests = rests(scenario);
    for entry in &plan.strips {
        let butts = rests.get(&entry.id).copied();
        let width = read(&entry.width, unit) + batting.reach * 2;
        let mut need = |length: Length, usage: String| {
            needs.push(Need {
                sides: [length, width],
                lay: batting.stocks.lay,
                usage,
            });
        };
        match batting.by {
            BattingBy::Strip if butts.is_some() => {}
            BattingBy::Strip => need(stretch(entry, unit) + batting.reach * 2, entry.id.clone()),
            BattingBy::Run => {
                for (number, run) in (1..).zip(&entry.runs) {
                    let first = number == 1 && butts != Some(End::Start);
                    let last = number == entry.runs.len() && butts != Some(End::End);
                    let closed = i64::from(first) + i64::from(last);
                    let length = read(&run.to, unit) - read(&run.from, unit);
                    need(
                        length + batting.reach * closed,
                        format!("{}, run {number}", entry.id),
                    );
                }
            }
        }
    }
    Some(Cloth {
        material: Material::Batting,
        name: "batting",
        stocks: Cow::Borrowed(&batting.stocks),
        needs,
    })
}

fn backing<'a>(scenario: &'a Scenario, plan: &Plan) -> Option<Cloth<'a>> {
    let stocks = scenario.materials.backing.as_ref()?;
    let rests = rests(scenario);
    let strips = plan.strips.iter();
    let fresh = strips.filter(|entry| !rests.contains_key(&entry.id));
    let needs = fresh.map(|entry| Need {
        sides: [
            read(&entry.cut[0], scenario.unit),
            read(&entry.cut[1], scenario.unit),
        ],
        lay: stocks.lay,
        usage: entry.id.clone(),
    });
    Some(Cloth {
        material: Material::Backing,
        name: "backing",
        stocks: Cow::Borrowed(stocks),
        needs: needs.collect(),
    })
}
