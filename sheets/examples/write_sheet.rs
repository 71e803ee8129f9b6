//! Writes the sheet of a scenario and its plan into a folder: `write_sheet SCENARIO PLAN FOLDER`, and tells how long each step took.

use std::error::Error;
use std::path::PathBuf;
use std::time::Instant;

use sashwright_sheets::{Paper, csv::cut_list, html, pdf, picture_files, sheet};
use sashwright_solver::plan::Plan;
use sashwright_solver::scenario;

fn main() -> Result<(), Box<dyn Error>> {
    let arguments: Vec<PathBuf> = std::env::args_os().skip(1).map(PathBuf::from).collect();
    let [scenario, plan, folder] = arguments.as_slice() else {
        return Err("Give a scenario, its plan, and a folder.".into());
    };
    let scenario =
        scenario::read(&std::fs::read(scenario)?).map_err(|faults| format!("{faults:?}"))?;
    let plan: Plan = serde_json::from_slice(&std::fs::read(plan)?)?;
    std::fs::create_dir_all(folder)?;
    let start = Instant::now();
    let content = sheet(&scenario, &plan);
    let (content_in, start) = (start.elapsed(), Instant::now());
    let page = html(&content);
    let (page_in, start) = (start.elapsed(), Instant::now());
    let list = cut_list(&scenario, &plan)?;
    let (list_in, start) = (start.elapsed(), Instant::now());
    let print = pdf(&content, Paper::A4)?;
    let print_in = start.elapsed();
    println!(
        "content {content_in:?}, page {page_in:?} ({} bytes), list {list_in:?}, PDF {print_in:?} ({} bytes)",
        page.len(),
        print.len()
    );
    std::fs::write(folder.join("sheet.html"), page)?;
    std::fs::write(folder.join("cut-list.csv"), list)?;
    std::fs::write(folder.join("sheet.pdf"), print)?;
    for (name, svg) in picture_files(&scenario, &plan) {
        std::fs::write(folder.join(name), svg)?;
    }
    Ok(())
}
