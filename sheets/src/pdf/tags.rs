//! What the parts of the printed sheet are, for those who have it read to them: the tags of a tagged PDF (ISO 32000, 14.8).

use std::num::NonZeroU16;

use krilla::tagging::{
    Identifier, ListNumbering, Node, TableHeaderScope, Tag, TagGroup, TagKind, TagTree,
};

/// The language that sheets are written in (BCP 47).
pub(super) const LANGUAGE: &str = "en";

/// The longest text kept in a tag, in bytes; a string in a PDF has a limit (ISO 32000, annex C), and nobody listens longer.
const LONGEST: usize = 4000;

/// A part of the sheet, by its place in [`Tags`].
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Part(usize);

enum Child {
    Part(Part),
    Content(Identifier),
}

struct Entry {
    kind: TagKind,
    children: Vec<Child>,
}

/// All parts of the sheet, each within another or at the top.
#[derive(Default)]
pub(super) struct Tags {
    entries: Vec<Entry>,
    top: Vec<Part>,
}

impl Tags {
    /// Adds a part, within another or at the top, after those there.
    pub(super) fn add(&mut self, within: Option<Part>, kind: impl Into<TagKind>) -> Part {
        let part = Part(self.entries.len());
        self.entries.push(Entry {
            kind: kind.into(),
            children: Vec::new(),
        });
        match within.and_then(|Part(outer)| self.entries.get_mut(outer)) {
            Some(outer) => outer.children.push(Child::Part(part)),
            None => self.top.push(part),
        }
        part
    }

    /// Adds something written on a page to its part.
    pub(super) fn write(&mut self, Part(part): Part, content: Identifier) {
        if let Some(entry) = self.entries.get_mut(part) {
            entry.children.push(Child::Content(content));
        }
    }

    /// The tree of all parts.
    pub(super) fn tree(&self) -> TagTree {
        let mut tree = TagTree::new().with_lang(Some(LANGUAGE.to_owned()));
        for part in &self.top {
            tree.push(self.group(*part));
        }
        tree
    }

    /// A part and all within it; parts are few steps deep, by the layout that makes them.
    fn group(&self, Part(part): Part) -> Node {
        let Some(entry) = self.entries.get(part) else {
            return Node::Group(TagGroup::new(Tag::P));
        };
        let mut group = TagGroup::new(entry.kind.clone());
        for child in &entry.children {
            match child {
                Child::Part(part) => group.push(self.group(*part)),
                Child::Content(content) => group.push(*content),
            }
        }
        Node::Group(group)
    }
}

/// A heading; the title of the sheet is at level 1.
pub(super) fn heading(level: NonZeroU16, title: &str) -> TagKind {
    Tag::Hn(level, Some(told(title))).into()
}

/// A table and what it lists.
pub(super) fn table(caption: &str) -> TagKind {
    Tag::Table.with_summary(Some(told(caption))).into()
}

/// The heading of a column.
pub(super) fn column() -> TagKind {
    Tag::TH(TableHeaderScope::Column).into()
}

/// A picture and what it shows.
pub(super) fn picture(alt: &str) -> TagKind {
    Tag::Figure(Some(told(alt))).into()
}

/// A list, with dots or with boxes before its items.
pub(super) fn list(boxes: bool) -> TagKind {
    Tag::L(if boxes {
        ListNumbering::Square
    } else {
        ListNumbering::Disc
    })
    .into()
}

/// A box to tick, before an item or in a row of a table.
pub(super) fn tick() -> TagKind {
    Tag::Figure(Some("box to tick".to_owned())).into()
}

/// The sign above a column of boxes.
pub(super) fn tick_heading() -> TagKind {
    Tag::Span.with_actual_text(Some("Done".to_owned())).into()
}

/// A text as kept in a tag: bounded, and without what no reader could say.
fn told(text: &str) -> String {
    let short: String = text
        .chars()
        .map(|character| {
            if character.is_control() {
                ' '
            } else {
                character
            }
        })
        .collect();
    match short.get(..short.floor_char_boundary(LONGEST)) {
        Some(start) if short.len() > LONGEST => format!("{start}…"),
        _ => short,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_text_in_a_tag_is_bounded() {
        assert_eq!(told("the\nquilt"), "the quilt");
        let long = told(&"ü".repeat(LONGEST));
        assert_eq!(long.len(), LONGEST + '…'.len_utf8());
        assert!(long.ends_with("ü…"));
    }
}
