//! `schema`: the JSON Schema of each document.

use std::io::Write;

use sashwright_solver::batch::batch_schema;
use sashwright_solver::compare::comparison_schema;
use sashwright_solver::cope::fits_schema;
use sashwright_solver::explain::explanation_schema;
use sashwright_solver::plan::plan_schema;
use sashwright_solver::replan::{progress_schema, replan_schema};
use sashwright_solver::scenario::scenario_schema;

use crate::arguments::Document;
use crate::command::{Exit, write_result};

/// Writes the schema, indented.
pub(super) fn run(document: Document, out: &mut dyn Write, err: &mut dyn Write) -> Exit {
    let schema = match document {
        Document::Scenario => scenario_schema(),
        Document::Plan => plan_schema(),
        Document::Comparison => comparison_schema(),
        Document::Explanation => explanation_schema(),
        Document::Fits => fits_schema(),
        Document::Progress => progress_schema(),
        Document::Replan => replan_schema(),
        Document::Batch => batch_schema(),
    };
    write_result(format!("{schema:#}\n").as_bytes(), out, err)
}
