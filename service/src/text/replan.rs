//! What is left to do, in words.

use sashwright_sheets::measure::Ruler;
use sashwright_sheets::words::{Lie, percent_of, stitching_of};
use sashwright_solver::replan::{Asked, NextRun, Replan};
use sashwright_solver::scenario;
use sashwright_solver::strips::End;

use super::table::{Table, wrap};
use super::{render, section, section_of, title};

/// Writes the answer to "What now?".
pub fn replan(asked: &Asked, replan: &Replan) -> String {
    let mut text = String::new();
    let name = match asked.scenario.name.as_str() {
        "" => "What now?".to_string(),
        name => format!("What now for {name}?"),
    };
    title(&mut text, &name);
    let left = match replan.hoopings_left {
        0 => "Nothing is left to stitch.".to_string(),
        1 => "1 hooping is left.".to_string(),
        count => format!("{count} hoopings are left."),
    };
    let same = if replan.same && replan.hoopings_left > 0 {
        " What is left is the rest of the plan: the same runs in the same hoopings."
    } else {
        ""
    };
    wrap(&mut text, "", &format!("{left}{same}"));
    let warnings = replan.warnings.iter();
    section_of(
        &mut text,
        "What does not come out",
        warnings.map(|warning| warning.sentence.as_str()),
    );
    let changes = replan.changes.iter();
    section_of(
        &mut text,
        "What changes, and why",
        changes.map(|change| change.sentence.as_str()),
    );
    next(&mut text, replan);
    if let (Some(document), Some(plan)) = (&replan.scenario, &replan.plan)
        && replan.hoopings_left > 0
        && let Ok(rest) = scenario::read(document.to_string().as_bytes())
    {
        text.push('\n');
        text.push_str(&render(&rest, plan));
    }
    text
}

/// The next hooping.
fn next(text: &mut String, replan: &Replan) {
    let Some(step) = &replan.next else {
        return;
    };
    let ruler = Ruler { unit: replan.unit };
    section(text, "The next step");
    let way = if step.turned { "turned" } else { "not turned" };
    wrap(
        text,
        "  ",
        &format!(
            "Hoop {}, {way}; hoop stabilizer of {}.",
            step.hoop,
            ruler.size(&step.stabilizer)
        ),
    );
    let mut table = Table::new(2);
    table.row(["lane", "strip", "run", "stitch"]);
    for run in &step.runs {
        table.row([
            run.lane.to_string(),
            run.strip.clone(),
            run.run.to_string(),
            stitching_of(&run.segments),
        ]);
        table.note(format!(
            "in the field: starts at {}, {} long; centre line at {}",
            ruler.length(&run.along),
            ruler.length(&run.length),
            ruler.length(&run.across),
        ));
        if let Some(percent) = percent_of(&run.scale) {
            table.note(format!("scale the design along the strip to {percent}"));
        }
        for sentence in ends(run) {
            table.note(sentence);
        }
    }
    table.write(text);
}

fn ends(run: &NextRun) -> Vec<String> {
    let lie = Lie::of_quilt_strip(&run.strip);
    let mut sentences = Vec::new();
    let name = |end: &End| lie.end(*end);
    for end in &run.butts_up {
        let name = name(end);
        sentences.push(format!(
            "butt its {name} up to what is stitched already: no line across"
        ));
    }
    for end in &run.leave_open {
        let name = name(end);
        sentences.push(format!(
            "leave the {name} open: the next run butts up there, no line across"
        ));
    }
    if run.reversed {
        let name = lie.end(End::End);
        sentences.push(format!(
            "lay it the other way round: its {name} at the end of the field that is measured from"
        ));
    }
    sentences
}
