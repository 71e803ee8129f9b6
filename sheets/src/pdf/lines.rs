//! Where a paragraph is broken into lines (Unicode Standard Annex 14), and in which order the parts of a line are seen (Annex 9).

use std::ops::Range;

use unicode_linebreak::linebreaks;

use krilla::geom::Point;
use krilla::surface::Surface;

use super::fonts::Family;
use super::glyph::Glyph;
use super::text::{Extent, Style};

/// How much wider than its room a line may be before it is broken, in points: far less than is seen, more than sums are off.
const TOLERANCE: f32 = 0.01;

/// Letters that are not parted, with their glyphs.
pub(super) struct Cluster {
    /// The bytes of the paragraph that it stands for.
    pub(super) text: Range<usize>,
    /// Its embedding level: odd is read from right to left.
    pub(super) level: u8,
    /// Its width in points.
    pub(super) width: f32,
    /// Its glyphs among those of the paragraph.
    pub(super) glyphs: Range<usize>,
}

/// A shaped text without line ends.
pub(super) struct Paragraph {
    /// The text.
    pub(super) text: String,
    /// How it looks.
    pub(super) style: Style,
    /// Its clusters in the order of the text.
    pub(super) clusters: Vec<Cluster>,
    /// The glyphs of all clusters; those of one cluster from left to right.
    pub(super) glyphs: Vec<Glyph>,
    /// The bytes at which a line may end, in order.
    breaks: Vec<usize>,
}

/// A line, ready to be written.
#[derive(Clone)]
pub(super) struct Line {
    /// Its parts from left to right.
    pub(super) runs: Vec<Run>,
    /// Its width in points, without the space at its end.
    pub(super) width: f32,
    /// How it looks.
    pub(super) style: Style,
}

impl Line {
    /// Writes it from this point of its baseline on, in the ink that is set.
    pub(super) fn draw(&self, start: Point, family: &Family, surface: &mut Surface) {
        let font = &family.words(self.style.weight).face.font;
        let mut left = start.x;
        for run in &self.runs {
            let at = Point::from_xy(left, start.y);
            let size = self.style.size;
            surface.draw_glyphs(at, &run.glyphs, font.clone(), &run.text, size, false);
            left += run.width;
        }
    }
}

/// A part of a line in one direction.
#[derive(Clone)]
pub(super) struct Run {
    /// What it says.
    pub(super) text: String,
    /// Its glyphs from left to right, each with its part of `text`.
    pub(super) glyphs: Vec<Glyph>,
    /// Its width in points.
    pub(super) width: f32,
}

impl Paragraph {
    /// A paragraph whose clusters are still to come.
    pub(super) fn new(text: &str, style: Style) -> Self {
        let breaks = linebreaks(text).map(|(at, _)| at).collect();
        Self {
            breaks,
            ..Self::unbroken(text, style)
        }
    }

    /// The same, to stand on one line.
    pub(super) fn unbroken(text: &str, style: Style) -> Self {
        Self {
            text: text.to_owned(),
            style,
            clusters: Vec::new(),
            glyphs: Vec::new(),
            breaks: Vec::new(),
        }
    }

    /// Whether a line may end after this cluster.
    fn may_end_after(&self, cluster: &Cluster) -> bool {
        self.breaks.binary_search(&cluster.text.end).is_ok()
    }

    fn is_space(&self, cluster: &Cluster) -> bool {
        self.text_of(cluster)
            .chars()
            .all(|character| character == ' ')
    }

    /// The width of its longest unbroken part and that of all of it, in points.
    pub(super) fn extent(&self) -> Extent {
        let (mut narrowest, mut part, mut all, mut spaces) = (0.0_f32, 0.0, 0.0, 0.0);
        for cluster in &self.clusters {
            if self.is_space(cluster) {
                spaces += cluster.width;
            } else {
                part += cluster.width;
                all += spaces + cluster.width;
                spaces = 0.0;
            }
            narrowest = narrowest.max(part);
            if self.may_end_after(cluster) {
                part = 0.0;
            }
        }
        Extent {
            narrowest,
            widest: all,
        }
    }

    /// Its lines in this width: each as long as fits, ending where a line may end or, in a part wider than the line, anywhere.
    pub(super) fn lines(&self, width: f32) -> Vec<Line> {
        let mut lines = Vec::new();
        let (mut start, mut last_end, mut used, mut used_at_last_end) = (0, 0, 0.0, 0.0);
        for (at, cluster) in self.clusters.iter().enumerate() {
            while at > start && used + cluster.width > width + TOLERANCE && !self.is_space(cluster)
            {
                if last_end > start {
                    lines.push(self.line(start..last_end));
                    start = last_end;
                    used -= used_at_last_end;
                } else {
                    lines.push(self.line(start..at));
                    start = at;
                    used = 0.0;
                }
            }
            used += cluster.width;
            if self.may_end_after(cluster) {
                last_end = at + 1;
                used_at_last_end = used;
            }
        }
        lines.push(self.line(start..self.clusters.len()));
        lines
    }

    /// The line of these clusters.
    pub(super) fn line(&self, range: Range<usize>) -> Line {
        let clusters = self.clusters.get(range).unwrap_or_default();
        let spaces = clusters
            .iter()
            .rev()
            .take_while(|cluster| self.is_space(cluster))
            .count();
        let (inner, spaces) = clusters.split_at(clusters.len() - spaces);
        let width = inner.iter().map(|cluster| cluster.width).sum();
        let mut runs = self.runs(inner);
        // A space at the end is not seen, but keeps words apart for those who copy the text or have it read to them.
        if let (Some(run), Some(space)) = (runs.last_mut(), spaces.first())
            && inner.iter().all(|cluster| cluster.level == 0)
        {
            self.write(run, space);
        }
        Line {
            runs,
            width,
            style: self.style,
        }
    }

    /// Clusters from left to right as they are seen (rule L2 of Annex 9), those of one level together.
    fn runs(&self, clusters: &[Cluster]) -> Vec<Run> {
        let mut seen: Vec<&Cluster> = clusters.iter().collect();
        let highest = clusters
            .iter()
            .map(|cluster| cluster.level)
            .max()
            .unwrap_or(0);
        for level in (1..=highest).rev() {
            for part in seen.chunk_by_mut(|a, b| (a.level >= level) == (b.level >= level)) {
                if part.first().is_some_and(|cluster| cluster.level >= level) {
                    part.reverse();
                }
            }
        }
        seen.chunk_by(|a, b| a.level == b.level)
            .map(|part| self.run(part))
            .collect()
    }

    /// Clusters of one level, given from left to right. The text comes in the order it is read, the glyphs in the order they are seen.
    fn run(&self, part: &[&Cluster]) -> Run {
        let backwards = part.first().is_some_and(|cluster| cluster.level % 2 == 1);
        let mut run = Run {
            text: String::new(),
            glyphs: Vec::new(),
            width: 0.0,
        };
        if !backwards {
            part.iter()
                .for_each(|cluster| self.write(&mut run, cluster));
            return run;
        }
        let whole: usize = part.iter().map(|cluster| cluster.text.len()).sum();
        let mut end = whole;
        for cluster in part {
            let text = end.saturating_sub(cluster.text.len())..end;
            end = text.start;
            run.glyphs.extend(self.glyphs_of(cluster, &text));
            run.width += cluster.width;
        }
        run.text = part
            .iter()
            .rev()
            .map(|cluster| self.text_of(cluster))
            .collect();
        run
    }

    /// Adds a cluster to a run that is read from left to right.
    fn write(&self, run: &mut Run, cluster: &Cluster) {
        let from = run.text.len();
        run.text.push_str(self.text_of(cluster));
        let text = from..run.text.len();
        run.glyphs.extend(self.glyphs_of(cluster, &text));
        run.width += cluster.width;
    }

    fn text_of(&self, cluster: &Cluster) -> &str {
        self.text.get(cluster.text.clone()).unwrap_or_default()
    }

    /// The glyphs of a cluster, standing for this part of their run's text.
    fn glyphs_of(&self, cluster: &Cluster, text: &Range<usize>) -> impl Iterator<Item = Glyph> {
        let glyphs = self.glyphs.get(cluster.glyphs.clone()).unwrap_or_default();
        let (from, to) = (text.start as u32, text.end as u32);
        glyphs.iter().map(move |glyph| Glyph { from, to, ..*glyph })
    }
}
