//! Texts as glyphs: shaped once, then measured and broken into lines.

use unicode_bidi::BidiInfo;

use super::fonts::{Face, Family, Weight};
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
        let face = family.face(style.weight);
        let text = printable(text);
        let mut paragraphs = Vec::new();
        for line in text.split('\n') {
            for part in parts(line) {
                paragraphs.push(shape(part, style, face));
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
fn shape(text: &str, style: Style, face: &Face) -> Paragraph {
    let mut paragraph = Paragraph::new(text, style);
    for (start, end, level) in level_runs(text) {
        shape_run(&mut paragraph, start, end, level, face);
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
fn shape_run(paragraph: &mut Paragraph, start: usize, end: usize, level: u8, face: &Face) {
    let backwards = level % 2 == 1;
    let shaped = face.shape(&paragraph.text[start..end], backwards);

    // The glyphs of one cluster stand side by side; clusters come in the order they are seen.
    let mut clusters: Vec<Cluster> = Vec::new();
    for (info, position) in shaped.glyph_infos().iter().zip(shaped.glyph_positions()) {
        let (glyph, advance) = if info.glyph_id == 0 {
            face.stand_in
        } else {
            (info.glyph_id, position.x_advance)
        };
        let em = |units: i32| units as f32 / face.units_per_em;
        let [x, y] = [em(position.x_offset), em(position.y_offset)];
        paragraph.glyphs.push(Glyph {
            id: glyph,
            from: 0,
            to: 0,
            advance: em(advance),
            x,
            y,
        });
        let (at, last, width) = (
            start + info.cluster as usize,
            paragraph.glyphs.len(),
            em(advance) * paragraph.style.size,
        );
        match clusters.last_mut() {
            Some(cluster) if cluster.text.start == at => {
                cluster.glyphs.end = last;
                cluster.width += width;
            }
            _ => clusters.push(Cluster {
                text: at..end,
                level,
                width,
                glyphs: last - 1..last,
            }),
        }
    }
    if backwards {
        clusters.reverse();
    }
    // Each cluster ends where the next begins.
    for next in (1..clusters.len()).rev() {
        clusters[next - 1].text.end = clusters[next].text.start;
    }
    paragraph.clusters.append(&mut clusters);
}
