//! Sheets to carry to the cutting table and the machine, made from a scenario and its plan.
//!
//! The data flows one way: a plan → the content of a sheet ([`Sheet`]), pictures included → a page for a browser, a document to
//! print, or a list for a spreadsheet. What is said is decided once, in the content; how it looks, in each format.

mod content;
pub mod csv;
mod drawing;
mod from_plan;
mod html;
pub mod measure;
mod pdf;
mod pictures;
mod steps;
pub mod words;

pub use content::{Block, Picture, Section, Sheet, Table};
pub use drawing::Drawing;
pub use from_plan::{picture_files, pictures, sheet};
pub use html::html;
pub use pdf::{Paper, PdfError, pdf};
pub use steps::steps;
