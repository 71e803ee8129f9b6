//! A page for a browser: one file by itself, to read and tick off on a screen or to print on A4 or Letter.
//!
//! Written with `maud`: its elements are checked when the program is compiled, every text that is put in is escaped, and blocks
//! within blocks are functions that call each other.

use maud::{DOCTYPE, Markup, PreEscaped, html as markup};

use crate::content::{Block, MANY, Picture, Section, Sheet, Table};
use crate::pictures::plain;

/// How the page looks.
const STYLE: &str = include_str!("html.css");

/// The sheet as an HTML document. Pictures stand in it as they are; all other texts are escaped.
pub fn html(sheet: &Sheet) -> String {
    let title = plain(&sheet.title);
    let page = markup! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (for_the_tab(&title)) }
                style { (PreEscaped(STYLE)) }
            }
            body {
                header {
                    h1 { (title) }
                    (contents(sheet))
                }
                main {
                    @for section in &sheet.sections { (section_of(section)) }
                }
            }
        }
    };
    page.into_string()
}

/// Links to the sections, for the screen.
fn contents(sheet: &Sheet) -> Markup {
    markup! {
        nav aria-label="Contents" {
            ul {
                @for section in &sheet.sections {
                    li { a href={ "#" (section.id) } { (plain(&section.heading)) } }
                }
            }
        }
    }
}

fn section_of(section: &Section) -> Markup {
    let heading = format!("{}-heading", section.id);
    markup! {
        section id=(section.id) class=[section.new_page.then_some("page")] aria-labelledby=(heading) {
            h2 id=(heading) { (plain(&section.heading)) }
            (blocks(&section.blocks))
        }
    }
}

fn blocks(blocks: &[Block]) -> Markup {
    markup! {
        @for block in blocks {
            @match block {
                Block::Heading(text) => h3 { (plain(text)) },
                Block::Text(text) => p { (plain(text)) },
                Block::Ticks(texts) => (ticks(texts)),
                Block::List(texts) => ul { @for text in texts { li { (plain(text)) } } },
                Block::Table(table) => (table_of(table)),
                Block::Picture(picture) => (figure(picture)),
                Block::Together(within) => div class="together" { (self::blocks(within)) },
            }
        }
    }
}

/// The most letters of a title that browsers and search engines show (common practice).
const TAB: usize = 70;

/// A title for the browser's tab: a long one is cut.
fn for_the_tab(title: &str) -> String {
    if title.chars().count() <= TAB {
        return title.to_string();
    }
    let mut cut: String = title.chars().take(TAB - 1).collect();
    cut.push('…');
    cut
}

/// Each box belongs to its words, so that a touch on either ticks it.
fn ticks(texts: &[String]) -> Markup {
    markup! {
        ul class=(if texts.len() > MANY { "ticks many" } else { "ticks" }) {
            @for text in texts {
                li { label { input type="checkbox"; span { (plain(text)) } } }
            }
        }
    }
}

fn table_of(table: &Table) -> Markup {
    let roomy = is_roomy(table);
    markup! {
        div class=(if table.rows.len() <= FEW { "wide few" } else { "wide" }) {
            table {
                caption { (plain(&table.caption)) }
                thead {
                    tr {
                        @if table.ticks { th scope="col" class="box" { "done" } }
                        @for head in &table.head { th scope="col" { (plain(head)) } }
                    }
                }
                tbody {
                    @for row in &table.rows {
                        tr {
                            @if table.ticks {
                                td class="box" { input type="checkbox" aria-label=(done(row)); }
                            }
                            @for (index, cell) in row.iter().enumerate() {
                                @if index == 0 { th scope="row" class=[class(cell, roomy)] { (plain(cell)) } }
                                @else { td class=[class(cell, roomy)] { (plain(cell)) } }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// Up to so many letters a cell is not broken into lines.
const WHOLE: usize = 18;

/// Tables of so many rows at most stay on one page.
const FEW: usize = 12;
/// A word of more letters than that may be broken anywhere.
const LONG: usize = 28;

/// A table whose columns together have more letters than that has its cells broken, so that it stays on the page.
const ROOMY: usize = 92;

/// Whether every cell that is to stay on one line may do so.
fn is_roomy(table: &Table) -> bool {
    let letters = |column: usize| {
        let cells = table.rows.iter().filter_map(|row| row.get(column));
        let cells = cells.map(|cell| cell.chars().count().min(WHOLE));
        cells.max().unwrap_or(0) + 2
    };
    (0..table.head.len()).map(letters).sum::<usize>() <= ROOMY
}

/// The class of a cell: whether it stays on one line, or has words that may be broken.
fn class(cell: &str, roomy: bool) -> Option<&'static str> {
    let longest = if roomy { LONG } else { WHOLE };
    if roomy && cell.chars().count() <= WHOLE {
        return Some("whole");
    }
    let mut words = cell.split([' ', '\u{a0}']);
    words
        .any(|word| word.chars().count() > longest)
        .then_some("long")
}

/// What a box stands for, for those who do not see its row.
fn done(row: &[String]) -> String {
    plain(&format!("done: {}", row.join(", ")))
}

fn figure(picture: &Picture) -> Markup {
    markup! {
        figure {
            (PreEscaped(picture.svg()))
            figcaption { (plain(&picture.caption)) }
        }
    }
}
