//! Which pieces a plan needs of which cloth.

use std::borrow::Cow;
use std::collections::HashMap;

use super::parts::Long;
use super::plain;
use crate::check::geometry::Geometry;
use crate::cutting::Lay;
use crate::job::Material;
use crate::length::{Length, Measure};
use crate::plan::{Plan, RunEntry, StripEntry};
use crate::scenario::{BattingBy, Fabric, LongStrips, Scenario, Stocks};
use crate::strips::End;

/// A piece that has to be there.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Wanted {
    /// What it is for.
    pub(super) name: String,
    /// Its two sides.
    pub(super) sides: [Length; 2],
    /// Which way it may lie.
    pub(super) lay: Lay,
}

/// A cloth, its pieces, and its strips that may have to be sewn together from parts.
pub(super) struct Cloth<'a> {
    pub(super) material: Material,
    pub(super) name: &'a str,
    pub(super) stocks: Cow<'a, Stocks>,
    pub(super) wanted: Vec<Wanted>,
    pub(super) long: Vec<Long>,
}

/// Which way of two a piece lies: what it takes up along the bolt, across it.
pub(super) fn turned([first, second]: [Length; 2], lengthwise: bool) -> [Length; 2] {
    if lengthwise {
        [first, second]
    } else {
        [second, first]
    }
}

/// Whether a piece of this lay may lie with its first side along the bolt, or across it.
pub(super) fn may_lie(lay: Lay, lengthwise: bool) -> bool {
    match lay {
        Lay::Either => true,
        Lay::Lengthwise => lengthwise,
        Lay::Crosswise => !lengthwise,
    }
}

impl Cloth<'_> {
    pub(super) fn has_stocks(&self) -> bool {
        let Stocks {
            bolts,
            sheets,
            on_hand,
            ..
        } = &*self.stocks;
        !(bolts.is_empty() && sheets.is_empty() && on_hand.is_empty())
    }

    pub(super) fn is_without_pieces(&self) -> bool {
        self.wanted.is_empty() && self.long.is_empty()
    }

    /// Whether a piece fits some bolt or sheet.
    pub(super) fn fits_what_is_bought(&self, wanted: &Wanted) -> bool {
        let fits = |along: Option<Length>, across: Length| {
            [true, false].into_iter().any(|lengthwise| {
                let takes = turned(wanted.sides, lengthwise);
                let short = along.is_none_or(|along| takes[0] <= along);
                may_lie(wanted.lay, lengthwise) && short && takes[1] <= across
            })
        };
        let mut bolts = self.stocks.bolts.iter();
        let mut sheets = self.stocks.sheets.iter();
        bolts.any(|bolt| fits(None, bolt.width))
            || sheets.any(|sheet| fits(Some(sheet.size[0]), sheet.size[1]))
    }

    /// Whether a piece fits anything that there is.
    pub(super) fn fits(&self, wanted: &Wanted) -> bool {
        let on_hand = self.stocks.on_hand.iter().any(|piece| {
            [true, false].into_iter().any(|lengthwise| {
                let takes = turned(wanted.sides, lengthwise);
                may_lie(wanted.lay, lengthwise)
                    && takes[0] <= piece.size[0]
                    && takes[1] <= piece.size[1]
            })
        });
        on_hand || self.fits_what_is_bought(wanted)
    }
}

/// Every cloth of the scenario, also those without pieces.
pub(super) fn cloths<'a>(scenario: &'a Scenario, plan: &Plan) -> Vec<Cloth<'a>> {
    let mut cloths = vec![stabilizer(scenario, plan)];
    cloths.extend(fabrics(scenario, plan));
    let geometry = if scenario.begun.is_empty() {
        Geometry::default()
    } else {
        Geometry::of(scenario)
    };
    let rests = rests(&geometry);
    cloths.extend(batting(scenario, plan, &rests));
    cloths.extend(backing(scenario, plan, &rests));
    cloths
}

/// A printed length; nothing where none can be read, which is noted elsewhere.
pub(super) fn read(scenario: &Scenario, printed: &Measure) -> Length {
    let length = printed.length(scenario.unit).unwrap_or_default();
    // What is far beyond any strip must not overflow in sums; it is refused where it stands.
    length.clamp(-Length::LONGEST * 1000, Length::LONGEST * 1000)
}

fn read_both(scenario: &Scenario, [first, second]: &[Measure; 2]) -> [Length; 2] {
    [read(scenario, first), read(scenario, second)]
}

fn stabilizer<'a>(scenario: &'a Scenario, plan: &Plan) -> Cloth<'a> {
    let margin = scenario.materials.stabilizer.margin;
    let lay = scenario.materials.stabilizer_stocks.lay;
    let wanted = (1..).zip(&plan.hoopings).filter_map(|(number, hooping)| {
        let hoop = scenario.hoops.iter().find(|hoop| hoop.id == hooping.hoop)?;
        Some(Wanted {
            name: format!("hooping {number}"),
            sides: hoop.frame.map(|side| margin + side + margin),
            lay,
        })
    });
    Cloth {
        material: Material::Stabilizer,
        name: "stabilizer",
        stocks: Cow::Borrowed(&scenario.materials.stabilizer_stocks),
        wanted: wanted.collect(),
        long: Vec::new(),
    }
}

/// A piece of the top: what it is called, what it is for, and its cut size.
pub(super) struct Top {
    pub(super) id: String,
    /// What it is called within its quilt, where that is one of several.
    pub(super) within: Option<String>,
    pub(super) name: String,
    pub(super) sides: [Length; 2],
}

fn fabrics<'a>(scenario: &'a Scenario, plan: &Plan) -> Vec<Cloth<'a>> {
    if plain::are_too_many(scenario) {
        return Vec::new();
    }
    let own = &scenario.materials.fabrics;
    let cloth = |name: &'a str, stocks: Cow<'a, Stocks>| Cloth {
        material: Material::Fabric,
        name,
        stocks,
        wanted: Vec::new(),
        long: Vec::new(),
    };
    let mut cloths: Vec<Cloth<'a>> = own
        .iter()
        .map(|fabric| cloth(&fabric.id, Cow::Borrowed(&fabric.stocks)))
        .collect();
    if own.is_empty() {
        cloths.push(cloth("fabric", Cow::Owned(Stocks::of_usual_fabric())));
    }
    let chooser = Chooser::of(own);
    let planned: HashMap<&str, &StripEntry> = plan
        .strips
        .iter()
        .map(|entry| (entry.id.as_str(), entry))
        .collect();
    let tops = plain::tops(scenario);
    // Names that could be those of parts; hardly any scenario has one.
    let like_parts = tops.iter().filter(|top| top.name.contains(", part "));
    let mut like_parts: Vec<String> = like_parts.map(|top| top.name.clone()).collect();
    like_parts.sort_unstable();
    for mut top in tops {
        let entry = planned.get(top.id.as_str()).copied();
        if let Some(entry) = entry {
            top.sides = read_both(scenario, &entry.cut);
        }
        let Some(which) = chooser.fabric_for(&top) else {
            continue;
        };
        let fabric = own.get(which);
        let stocks = &cloths[which].stocks;
        let across = stocks.bolts.iter().map(|bolt| bolt.width).max();
        let pieced = match (fabric.map(|fabric| fabric.long_strips), across) {
            (Some(LongStrips::Pieced { clear }), Some(across)) if top.sides[0] > across => {
                Some((clear, across))
            }
            _ => None,
        };
        let whole = Wanted {
            name: top.name,
            sides: top.sides,
            lay: stocks.lay,
        };
        match pieced {
            Some((clear, across)) => cloths[which].long.push(Long {
                joints: entry.map_or_else(Vec::new, |entry| joints(scenario, entry)),
                of_parts: of_parts(&whole.name, &like_parts),
                whole,
                clear,
                across,
                seam: scenario.allowances.seam,
            }),
            None => cloths[which].wanted.push(whole),
        }
    }
    cloths
}

/// A name to which the number of a part is added, so that no piece has it by itself. The names that it could be are in order.
fn of_parts(name: &str, like_parts: &[String]) -> String {
    let mut quoted = name.to_string();
    loop {
        let part = quoted.clone() + ", part ";
        let place = like_parts.partition_point(|other| *other < part);
        match like_parts.get(place) {
            Some(other) if other.starts_with(&part) => {
                quoted.insert(0, '"');
                quoted.push('"');
            }
            _ => return quoted,
        }
    }
}

/// Which fabric a piece is cut from: the first one that is for its id or for a beginning of it up to a dash, with or without the name
/// of its quilt, or else the first that is for all the rest.
struct Chooser<'a> {
    by_name: HashMap<&'a str, usize>,
    rest: Option<usize>,
}

impl<'a> Chooser<'a> {
    fn of(fabrics: &'a [Fabric]) -> Chooser<'a> {
        let mut by_name = HashMap::new();
        // Backwards, so that the first one stays.
        for (number, fabric) in fabrics.iter().enumerate().rev() {
            by_name.extend(fabric.names.iter().map(|name| (name.as_str(), number)));
        }
        let rest = fabrics.iter().position(|fabric| fabric.names.is_empty());
        Chooser {
            by_name,
            rest: if fabrics.is_empty() { Some(0) } else { rest },
        }
    }

    fn fabric_for(&self, top: &Top) -> Option<usize> {
        let names = [Some(&top.id), top.within.as_ref()];
        let named = names.into_iter().flatten();
        let named = named.filter_map(|name| self.first_for(name));
        named.min().or(self.rest)
    }

    /// The first fabric that is for this id or for a beginning of it.
    fn first_for(&self, id: &str) -> Option<usize> {
        let mut beginning = id;
        let mut first = self.by_name.get(id).copied();
        while let Some((shorter, _)) = beginning.rsplit_once('-') {
            beginning = shorter;
            first = first
                .into_iter()
                .chain(self.by_name.get(shorter).copied())
                .min();
        }
        first
    }
}

/// Where runs butt up, measured from the cut end. As much cloth lies past the stitching at either end.
fn joints(scenario: &Scenario, entry: &StripEntry) -> Vec<Length> {
    let (Some(first), Some(last)) = (entry.runs.first(), entry.runs.last()) else {
        return Vec::new();
    };
    let start = read(scenario, &first.from);
    let stitched = read(scenario, &last.to) - start;
    let past = (read(scenario, &entry.cut[0]) - stitched).nanometres() / 2;
    let inner = entry.runs.iter().skip(1);
    inner
        .map(|run| read(scenario, &run.from) - start + Length::from_nanometres(past))
        .collect()
}

/// Batting lies under the stitching and reaches past it, but not where it butts up to what is laid already. What lies under a whole
/// strip lies there since it was begun.
fn batting<'a>(
    scenario: &'a Scenario,
    plan: &Plan,
    rests: &HashMap<&str, End>,
) -> Option<Cloth<'a>> {
    let batting = scenario.materials.batting.as_ref()?;
    let mut wanted = Vec::new();
    for entry in &plan.strips {
        let width = read(scenario, &entry.width) + batting.reach + batting.reach;
        let mut want = |name: String, length: Length| {
            wanted.push(Wanted {
                name,
                sides: [length, width],
                lay: batting.stocks.lay,
            });
        };
        let length = |run: &RunEntry| read(scenario, &run.to) - read(scenario, &run.from);
        let butts = rests.get(entry.id.as_str()).copied();
        match batting.by {
            BattingBy::Strip if butts.is_some() => {}
            BattingBy::Strip => {
                let stitched = entry.runs.iter().map(length).sum::<Length>();
                want(entry.id.clone(), batting.reach + stitched + batting.reach);
            }
            BattingBy::Run => {
                for (index, run) in entry.runs.iter().enumerate() {
                    let mut long = length(run);
                    if index == 0 && butts != Some(End::Start) {
                        long += batting.reach;
                    }
                    if index + 1 == entry.runs.len() && butts != Some(End::End) {
                        long += batting.reach;
                    }
                    want(format!("{}, run {}", entry.id, index + 1), long);
                }
            }
        }
    }
    Some(Cloth {
        material: Material::Batting,
        name: "batting",
        stocks: Cow::Borrowed(&batting.stocks),
        wanted,
        long: Vec::new(),
    })
}

/// What is left of begun strips, and the end at which it butts up to the stitching.
fn rests(geometry: &Geometry) -> HashMap<&str, End> {
    let strips = geometry.strips.iter();
    strips
        .filter_map(|strip| Some((strip.id.as_str(), strip.rest?.butts)))
        .collect()
}

/// Backing is fused to the fabric of each strip before it is stitched: to what is begun it is fused already.
fn backing<'a>(
    scenario: &'a Scenario,
    plan: &Plan,
    rests: &HashMap<&str, End>,
) -> Option<Cloth<'a>> {
    let stocks = scenario.materials.backing.as_ref()?;
    let fresh = |entry: &&StripEntry| !rests.contains_key(entry.id.as_str());
    let strips = plan.strips.iter().filter(fresh);
    let wanted = strips.map(|entry| Wanted {
        name: entry.id.clone(),
        sides: read_both(scenario, &entry.cut),
        lay: stocks.lay,
    });
    Some(Cloth {
        material: Material::Backing,
        name: "backing",
        stocks: Cow::Borrowed(stocks),
        wanted: wanted.collect(),
        long: Vec::new(),
    })
}
