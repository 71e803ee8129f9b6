//! What the names in wishes stand for, and whether each wish says something.

use std::collections::{BTreeMap, BTreeSet};

use crate::fault::FaultCode;
use crate::scenario::Scenario;
use crate::scenario::node::Node;
use crate::scenario::wishes::Wished;
use crate::strips::{self, Strip};

/// Looks up the strips and hoops that wishes name. A name stands for the strip with this id, or where there is none for
/// every strip whose id begins with it and a dash: `border-1`, or `tie` for `tie-1` and `tie-2`.
/// Names of hoops are passed over where it is not known what hoops there are.
pub(in crate::scenario) fn resolve(scenario: &mut Scenario, knows_hoops: bool, root: &Node<'_>) {
    if scenario.wishes.is_empty() || strips::count(scenario) > 1_000_000 {
        return;
    }
    let mut left = strips::of(scenario).strips;
    left.retain(|strip| !strip.stage.is_done());
    let ids = || left.iter().map(|strip| strip.id.as_str());
    let by_id: BTreeSet<&str> = ids().collect();
    let mut first: Option<String> = None;
    let mut wishes = std::mem::take(&mut scenario.wishes);
    for wish in &mut wishes {
        let mut found: BTreeSet<String> = BTreeSet::new();
        let mut any_unknown = false;
        for (place, name) in wish.strips.iter().enumerate() {
            let before = found.len();
            if by_id.contains(name.as_str()) {
                found.insert(name.clone());
            } else {
                let start = format!("{name}-");
                let range = by_id.range(start.as_str()..);
                let several = range.take_while(|id| id.starts_with(&start));
                found.extend(several.map(|id| id.to_string()));
            }
            if found.len() == before {
                any_unknown = true;
                let pointer = format!("{}/strips/{place}", wish.pointer);
                let known = by_id.contains(name.as_str())
                    || ids().any(|id| id.starts_with(&format!("{name}-")));
                let (code, message, mend) = if known {
                    (
                        FaultCode::DuplicateId,
                        format!("The strip {name:?} is named twice in this wish."),
                        "Name each strip once.".to_string(),
                    )
                } else {
                    (
                        FaultCode::UnknownId,
                        format!("There is no stitched strip {name:?}."),
                        format!(
                            "Name strips as a plan does, such as {:?}.",
                            ids().next().unwrap_or_default()
                        ),
                    )
                };
                root.fault_at(&pointer, code, message, mend);
            }
        }
        let needs_two = matches!(wish.what, Wished::Together | Wished::Apart | Wished::Alike);
        if needs_two && found.len() == 1 && !any_unknown {
            root.fault_at(
                &wish.pointer,
                FaultCode::OutOfRange,
                format!(
                    "A wish {:?} about a single strip says nothing.",
                    wish.what.name()
                ),
                "Name two strips or more.",
            );
        }
        wish.strips = found.into_iter().collect();
        if let Wished::OnlyIn(hoops) = &wish.what
            && knows_hoops
        {
            let known = |id: &String| {
                scenario
                    .hoops
                    .iter()
                    .chain(&scenario.candidates)
                    .any(|hoop| hoop.id == *id)
            };
            for (place, id) in hoops.iter().enumerate().filter(|(_, id)| !known(id)) {
                root.fault_at(
                    &format!("{}/hoops/{place}", wish.pointer),
                    FaultCode::UnknownId,
                    format!("There is no hoop {id:?}."),
                    "Name hoops of this scenario.",
                );
            }
        }
        if wish.what == Wished::First {
            if let Some(other) = &first {
                root.fault_at(
                    &wish.pointer,
                    FaultCode::Conflict,
                    format!("The wish at {other} says already what comes first."),
                    "Name all strips that come first in one wish.",
                );
            }
            first.get_or_insert(wish.pointer.clone());
        }
    }
    scenario.wishes = wishes;
    check_alike(scenario, &left, root);
}

/// Strips that are stitched alike are wished the same otherwise too: one decision is made for all of them.
fn check_alike(scenario: &Scenario, strips: &[Strip], root: &Node<'_>) {
    for wish in (scenario.wishes.iter()).filter(|wish| wish.what == Wished::Alike) {
        let about: BTreeSet<&str> = wish.strips.iter().map(String::as_str).collect();
        let mut groups: BTreeMap<_, Vec<&str>> = BTreeMap::new();
        for strip in (strips.iter()).filter(|strip| about.contains(strip.id.as_str())) {
            groups.entry(strip.shape()).or_default().push(&strip.id);
        }
        groups.retain(|_, members| members.len() > 1);
        if groups.is_empty() && about.len() > 1 {
            root.fault_at(
                &wish.pointer,
                FaultCode::Conflict,
                "No two of these strips have one length, width and design, so none can be stitched like another.",
                "Name strips of one length, such as two opposite sides of a border.",
            );
        }
        for other in &scenario.wishes {
            for members in groups.values() {
                let named: BTreeSet<&str> = other.strips.iter().map(String::as_str).collect();
                let is_named = |id: &&&str| named.contains(**id);
                let (Some(with), without) = (
                    members.iter().find(is_named),
                    members.iter().find(|id| !is_named(id)),
                ) else {
                    continue;
                };
                let told = match (&other.what, without) {
                    (Wished::Alike | Wished::AtMost(_), _) => continue,
                    (Wished::Together, _) => (
                        format!(
                            "The strip {with} is to be stitched together with others by the wish at {}: each of them in one run.",
                            other.pointer
                        ),
                        "Take one of the two wishes back.".to_string(),
                    ),
                    (_, None) => continue,
                    (_, Some(without)) => (
                        format!(
                            "The strips {with} and {without} are to be alike; the wish at {} names only {with}.",
                            other.pointer
                        ),
                        "Name both there, or neither.".to_string(),
                    ),
                };
                root.fault_at(&wish.pointer, FaultCode::Conflict, told.0, told.1);
            }
        }
    }
}
