//! Strips of which the same is said, together in one step.

use std::collections::HashMap;

use sashwright_solver::job::{Step, StepKind};

use crate::words::listed;

/// Strips by what is said of them, in the order in which each saying came first.
#[derive(Default)]
pub(super) struct Grouped {
    groups: Vec<Group>,
    known: HashMap<String, usize>,
}

struct Group {
    said: String,
    strips: Vec<String>,
}

impl Grouped {
    /// Notes what is said of a strip.
    pub(super) fn add(&mut self, strip: &str, said: String) {
        let group = *self.known.entry(said).or_insert_with_key(|said| {
            self.groups.push(Group {
                said: said.clone(),
                strips: Vec::new(),
            });
            self.groups.len() - 1
        });
        self.groups[group].strips.push(strip.to_string());
    }

    /// A step for each saying: `verb`, the strips, what is said. It is about a strip where it is about a single one.
    pub(super) fn steps<'g>(
        &'g self,
        kind: StepKind,
        verb: &'g str,
    ) -> impl Iterator<Item = Step> + 'g {
        self.groups.iter().map(move |group| {
            let strip = match &group.strips[..] {
                [strip] => Some(strip.clone()),
                _ => None,
            };
            Step {
                kind,
                text: format!("{verb} {}{}", listed(&group.strips), group.said),
                strip,
            }
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_said_alike_is_one_step() {
        let mut grouped = Grouped::default();
        for (name, said) in [("a", " once."), ("b", " twice."), ("c", " once.")] {
            grouped.add(name, said.into());
        }
        let steps: Vec<(String, Option<String>)> = grouped
            .steps(StepKind::Design, "Stitch")
            .map(|step| (step.text, step.strip))
            .collect();
        let expected = [
            ("Stitch a and c once.", None),
            ("Stitch b twice.", Some("b")),
        ];
        assert_eq!(
            steps,
            expected.map(|(text, strip)| (text.to_string(), strip.map(String::from)))
        );
    }
}
