//! Names of pictures: safe in links and as names of files, and each once.

use std::collections::HashSet;

/// The names that are taken.
#[derive(Default)]
pub(super) struct Names {
    taken: HashSet<String>,
}

impl Names {
    /// The text in lower-case letters, digits and dashes, with a number where that is taken.
    pub(super) fn unique(&mut self, text: &str) -> String {
        let stem = slug(text);
        let mut name = stem.clone();
        let mut number = 2;
        while !self.taken.insert(name.clone()) {
            name = format!("{stem}-{number}");
            number += 1;
        }
        name
    }

    /// The same, always with a number, from 1 on.
    pub(super) fn numbered(&mut self, text: &str) -> String {
        let stem = slug(text);
        let mut number = 1;
        loop {
            let name = format!("{stem}-{number}");
            if self.taken.insert(name.clone()) {
                return name;
            }
            number += 1;
        }
    }
}

/// Longer names are cut off.
const LONGEST: usize = 60;

fn slug(text: &str) -> String {
    let mut name = String::new();
    for letter in text.chars() {
        if letter.is_ascii_alphanumeric() {
            name.push(letter.to_ascii_lowercase());
        } else if !name.is_empty() && !name.ends_with('-') {
            name.push('-');
        }
        if name.len() >= LONGEST {
            break;
        }
    }
    name.trim_end_matches('-').to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_safe_and_each_once() {
        let mut names = Names::default();
        let made = ["strip-border-1-left", "strip-<b>", "strip-«B»", "strip-b"]
            .map(|text| names.unique(text));
        assert_eq!(
            made,
            ["strip-border-1-left", "strip-b", "strip-b-2", "strip-b-3"]
        );
        let made = ["fabric: ../<x>", "fabric: x", "strip b"].map(|text| names.numbered(text));
        assert_eq!(made, ["fabric-x-1", "fabric-x-2", "strip-b-1"]);
    }
}
