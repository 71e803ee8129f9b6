//! What a sheet says, whatever it is written as.

use crate::drawing::Drawing;

/// A whole sheet. All texts are plain: nothing in them is markup.
#[derive(Clone, PartialEq, Debug)]
pub struct Sheet {
    /// Its title.
    pub title: String,
    /// Its sections, in order.
    pub sections: Vec<Section>,
}

/// A section under a heading of its own.
#[derive(Clone, PartialEq, Debug)]
pub struct Section {
    /// A short name for links to it: lower-case letters, digits and dashes; unique in the sheet.
    pub id: String,
    /// Its heading.
    pub heading: String,
    /// Whether it begins on a new page when printed.
    pub new_page: bool,
    /// What stands in it.
    pub blocks: Vec<Block>,
}

/// One part of a section.
#[derive(Clone, PartialEq, Debug)]
pub enum Block {
    /// A smaller heading.
    Heading(String),
    /// A paragraph.
    Text(String),
    /// Things to do, each with a box to tick.
    Ticks(Vec<String>),
    /// A plain list.
    List(Vec<String>),
    /// A table.
    Table(Table),
    /// A picture.
    Picture(Picture),
    /// Blocks that stay on one page when printed, where they fit on one.
    Together(Vec<Block>),
}

/// More things to do than that stand in two columns.
pub(crate) const MANY: usize = 8;

/// A table: a heading row and rows of as many cells.
#[derive(Clone, PartialEq, Debug)]
pub struct Table {
    /// What it lists, for those who do not see it.
    pub caption: String,
    /// The headings of its columns.
    pub head: Vec<String>,
    /// Its rows, each as long as `head`.
    pub rows: Vec<Vec<String>>,
    /// Whether each row begins with a box to tick.
    pub ticks: bool,
}

/// A picture, to scale.
#[derive(Clone, PartialEq, Debug)]
pub struct Picture {
    /// Its name, unique in the sheet: `quilt`, `hooping-3`, `strip-border-1-left`, `cloth-1`.
    pub name: String,
    /// What it is called in a few words.
    pub title: String,
    /// What it shows, in words, for those who do not see it.
    pub alt: String,
    /// The line below it.
    pub caption: String,
    /// Its width and height in millimetres as printed; less where the page is smaller.
    pub size: [f64; 2],
    /// Its shapes.
    pub drawing: Drawing,
}

impl Picture {
    /// It as a whole SVG 1.1 document with a `viewBox`, with its alternative text in it.
    pub fn svg(&self) -> String {
        crate::drawing::svg(self)
    }
}
