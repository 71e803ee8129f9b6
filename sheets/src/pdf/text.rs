//! Texts as glyphs: shaped once, then measured and broken into lines.

use unicode_bidi::BidiInfo;

use super::fonts::{Family, Weight, Words};
use super::glyph::Glyph;
use super::lines::{Cluster, Line, Paragraph};

/// No paragraph is shaped in parts longer than this many bytes, so that memory and time stay in step with the text.
const LONGEST_PART: usize = 16 * 1024;

/// How a text looks. Sizes are in points.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Style {
    /// How heavy it is.
    pub(super) weight: Weight,
    /// The size of the type.
    pub(super) size: f32,
    /// From one baseline to the next.
    pub(super) leading: f32,
    /// How light the ink is: 0 is black, 255 is the paper.
    pub(super) grey: u8,
}

impl Style {
    /// How far below the top of its line the baseline is.
    ///
    /// Ascent and descent of the family are about 0.76 and 0.24 of the size for the letters used; the rest of the leading is halved.
    pub(super) fn baseline(&self) -> f32 {
        (self.leading - self.size) / 2.0 + 0.78 * self.size
    }
}

/// A text shaped in one style.
pub(super) struct Shaped {
    paragraphs: Vec<Paragraph>,
}

impl Shaped {
    /// Shapes a text; line feeds in it begin new lines.
    pub(super) fn new(text: &str, style: Style, family: &Family) -> Self {
        let words = family.words(style.weight);
        let text = printable(text);
        let mut paragraphs = Vec::new();
        for line in text.split('\n') {
            for part in parts(line) {
                paragraphs.push(shape(part, style, words));
            }
        }
        Self { paragraphs }
    }

    /// Its width on one line, and that of its longest part that is not broken, in points.
    pub(super) fn extent(&self) -> Extent {
        self.paragraphs
            .iter()
            .map(Paragraph::extent)
            .fold(Extent::default(), Extent::or_more)
    }

    /// Its lines, none wider than `width` points unless a single letter is; at least one, though it may be empty.
    pub(super) fn lines(&self, width: f32) -> Vec<Line> {
        self.paragraphs
            .iter()
            .flat_map(|paragraph| paragraph.lines(width))
            .collect()
    }
}

/// A text on one line, whatever its length: without looking where it could be broken.
pub(super) fn line(text: &str, style: Style, family: &Family) -> Line {
    let words = family.words(style.weight);
    let text = printable(text).replace('\n', " ");
    let mut paragraph = Paragraph::unbroken(&text, style);
    for (start, end, level) in level_runs(&text) {
        shape_run(&mut paragraph, start, end, level, words);
    }
    paragraph.line(0..paragraph.clusters.len())
}

/// The widths of a text, in points.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub(super) struct Extent {
    /// Of its longest part that is not broken.
    pub(super) narrowest: f32,
    /// Of all of it on one line.
    pub(super) widest: f32,
}

impl Extent {
    /// The larger of each.
    pub(super) fn or_more(self, other: Self) -> Self {
        Self {
            narrowest: self.narrowest.max(other.narrowest),
            widest: self.widest.max(other.widest),
        }
    }
}

/// The text with one kind of line end, and a visible sign in place of each control character.
fn printable(text: &str) -> String {
    let mut clean = String::with_capacity(text.len());
    let mut characters = text.chars().peekable();
    while let Some(character) = characters.next() {
        match character {
            '\r' if characters.peek() == Some(&'\n') => {}
            '\n' | '\r' | '\u{B}' | '\u{C}' | '\u{85}' | '\u{2028}' | '\u{2029}' => {
                clean.push('\n')
            }
            '\t' => clean.push(' '),
            '\u{FEFF}' => {}
            _ if character.is_control() || ('\u{FFFE}'..='\u{FFFF}').contains(&character) => {
                clean.push('\u{FFFD}')
            }
            _ => clean.push(character),
        }
    }
    clean
}

/// A line of text in parts of bounded length, cut after a space where there is one.
fn parts(mut line: &str) -> Vec<&str> {
    let mut parts = Vec::new();
    while line.len() > LONGEST_PART {
        let longest = line.floor_char_boundary(LONGEST_PART);
        let cut = line[..longest]
            .rfind(' ')
            .map_or(longest, |space| space + 1);
        let (part, rest) = line.split_at(cut);
        parts.push(part);
        line = rest;
    }
    parts.push(line);
    parts
}

/// Shapes text without line ends.
fn shape(text: &str, style: Style, words: &Words) -> Paragraph {
    let mut paragraph = Paragraph::new(text, style);
    for (start, end, level) in level_runs(text) {
        shape_run(&mut paragraph, start, end, level, words);
    }
    paragraph
}

/// Runs of one direction: from where to where in bytes, and their embedding level (Unicode Standard Annex 9).
fn level_runs(text: &str) -> Vec<(usize, usize, u8)> {
    // The first right-to-left letter is U+0590; most texts have none and need no analysis.
    if text.chars().all(|character| character < '\u{590}') {
        return if text.is_empty() {
            Vec::new()
        } else {
            vec![(0, text.len(), 0)]
        };
    }
    let levels = BidiInfo::new(text, None).levels;
    let mut runs: Vec<(usize, usize, u8)> = Vec::new();
    for (at, _) in text.char_indices() {
        let level = levels.get(at).map_or(0, |level| level.number());
        match runs.last_mut() {
            Some(run) if run.2 == level => {}
            Some(run) => {
                run.1 = at;
                runs.push((at, text.len(), level));
            }
            None => runs.push((at, text.len(), level)),
        }
    }
    runs
}

/// Shapes one run and adds its clusters in the order of the text.
fn shape_run(paragraph: &mut Paragraph, start: usize, end: usize, level: u8, words: &Words) {
    let text = paragraph.text[start..end].to_owned();
    if level == 0 && text.chars().all(is_of_separate_words) {
        let mut at = start;
        for word in text.split_inclusive([' ', '\u{a0}']) {
            // The space is shaped by itself: then a word is the same at the end of a text and before another.
            let spaced = word.trim_end_matches([' ', '\u{a0}']);
            for part in [spaced, &word[spaced.len()..]] {
                add_clusters(paragraph, at, at + part.len(), level, &words.shape(part));
                at += part.len();
            }
        }
    } else {
        let backwards = level % 2 == 1;
        let glyphs = words.face.shape(&text, backwards);
        add_clusters(paragraph, start, end, level, &glyphs);
    }
}

/// Whether the letters around a space never change for those beyond it: so it is in Latin, Greek and Cyrillic, which end before U+0590.
fn is_of_separate_words(letter: char) -> bool {
    letter < '\u{590}' || ('\u{2010}'..'\u{2030}').contains(&letter)
}

/// Adds the clusters of these glyphs, which are shaped from the bytes `start..end`.
fn add_clusters(paragraph: &mut Paragraph, start: usize, end: usize, level: u8, glyphs: &[Glyph]) {
    // The glyphs of one cluster stand side by side; clusters come in the order they are seen.
    let first = paragraph.clusters.len();
    for glyph in glyphs {
        paragraph.glyphs.push(*glyph);
        let (at, last) = (start + glyph.from as usize, paragraph.glyphs.len());
        let width = glyph.advance * paragraph.style.size;
        match paragraph
            .clusters
            .get_mut(first..)
            .and_then(<[_]>::last_mut)
        {
            Some(cluster) if cluster.text.start == at => {
                cluster.glyphs.end = last;
                cluster.width += width;
            }
            _ => paragraph.clusters.push(Cluster {
                text: at..end,
                level,
                width,
                glyphs: last - 1..last,
            }),
        }
    }
    let Some(added) = paragraph.clusters.get_mut(first..) else {
        return;
    };
    if level % 2 == 1 {
        added.reverse();
    }
    // Each cluster ends where the next begins.
    for next in (1..added.len()).rev() {
        added[next - 1].text.end = added[next].text.start;
    }
}
