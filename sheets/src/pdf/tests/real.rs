//! Sheets of planned scenarios of the repository: every picture at its full size, no letter under nine points.

use sashwright_solver::deadline::{Deadline, StopSignal};
use sashwright_solver::job::add_materials;
use sashwright_solver::{make_plan, scenario};

use super::*;
use crate::pdf::piece::Mark;

/// The sheets of the smallest, a large, and a metric scenario, with what is cut and bought.
fn sheets() -> Vec<Sheet> {
    let names = ["tote-straps", "bed-quilt", "cornerstones-mm"];
    let read = |name: &str| {
        let path = format!("{}/../scenarios/{name}.json", env!("CARGO_MANIFEST_DIR"));
        let document = std::fs::read(path).expect("the scenario is there");
        let scenario = scenario::read(&document).expect("no fault");
        let deadline = Deadline::after(scenario.time_limit, StopSignal::new());
        let mut plan = make_plan(&scenario, &deadline).expect("a plan");
        add_materials(&scenario, &mut plan, &deadline);
        crate::sheet(&scenario, &plan)
    };
    names.map(read).into()
}

#[test]
fn pictures_are_as_large_as_told_and_letters_large_enough() {
    for sheet in sheets() {
        for paper in BOTH {
            let family = Family::get().expect("fonts");
            let layout = Layout::new(&sheet, write::Page::new(paper.size()).room(), &family)
                .expect("laid out");
            let marks = layout.pieces.iter().flat_map(|piece| &piece.marks);
            let times = marks.filter_map(|mark| match mark {
                Mark::Picture { times, .. } => Some(*times),
                _ => None,
            });
            let times: Vec<f32> = times.collect();
            assert!(times.len() >= 3, "{}", sheet.title);
            assert!(
                times.iter().all(|times| *times == 1.0),
                "{}: {times:?}",
                sheet.title
            );

            let document = printed(&sheet, paper);
            let mut sizes = Vec::new();
            for page in document.get_pages().values() {
                let content = document.get_page_content(*page).expect("content");
                let content = Content::decode(&content).expect("operations");
                sizes.extend(content.operations.iter().filter_map(|operation| {
                    match operation.operator.as_str() {
                        "Tf" => operation.operands.get(1)?.as_float().ok(),
                        _ => None,
                    }
                }));
            }
            assert!(sizes.len() > 100 && sizes.iter().all(|size| *size >= 9.0));
        }
    }
}
