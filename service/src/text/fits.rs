//! Widths that fit, in words.

use sashwright_sheets::measure::{Ruler, number};
use sashwright_sheets::words::{shown, term};
use sashwright_solver::cope::{Count, Fit, Fits, Repeats, Width, WidthOf};
use sashwright_solver::length::Measure;

use super::table::{Table, wrap};
use super::{section, title};

/// Terms of a fit that are told of; the document has them all.
const MOST_TERMS: usize = 4;

/// Writes which widths fit.
pub fn fits(of: &Fits) -> String {
    let mut text = String::new();
    let name = match of.scenario.as_str() {
        "" => "Make it fit".to_string(),
        name => format!("Make it fit: {name}"),
    };
    title(&mut text, &name);
    let ruler = Ruler { unit: of.unit };
    verdict(&mut text, of, ruler);
    section(&mut text, "As it is");
    one(&mut text, &of.now, ruler);
    if !of.fits.is_empty() {
        section(&mut text, "The best other widths");
    }
    for (index, fit) in of.fits.iter().enumerate() {
        if index > 0 {
            text.push('\n');
        }
        one(&mut text, fit, ruler);
    }
    section(&mut text, "Counts of repeats, with the widths as they are");
    repeats(&mut text, &of.repeats, ruler);
    text
}

fn verdict(text: &mut String, of: &Fits, ruler: Ruler) {
    let best = of.fits.first().filter(|fit| fit.closes);
    let free = !of.now.widths.is_empty();
    let follow = match free {
        true => "the pattern of every strip that follows these widths is whole repeats long",
        false => "every pattern is whole repeats long",
    };
    let sentence = match (best, of.now.closes) {
        (_, true) => format!("As it is, {follow}, without any scaling."),
        (Some(fit), _) => format!(
            "With {} {follow}, without any scaling.",
            widths(&fit.widths, ruler)
        ),
        (None, _) if !free => {
            "The scenario leaves no other width: give a plain border or the sashing a \"cope\"."
                .to_string()
        }
        (None, _) if of.sure => format!(
            "With none of the {} choices of widths {follow} without any scaling.",
            of.choices
        ),
        (None, _) => format!(
            "Among the {} choices of widths that were looked at none was found with which {follow} without any scaling.",
            of.looked_at
        ),
    };
    wrap(text, "", &sentence);
    let missed = of.choices - of.looked_at;
    if missed > 0 {
        let words = format!(
            "{missed} of the {} choices of widths were not looked at within the time: those that change them most.",
            of.choices
        );
        wrap(text, "", &words);
    } else if !of.sure {
        wrap(
            text,
            "",
            "Some strips have more coverings than can be looked through, so a better choice may have been missed.",
        );
    }
}

/// One choice of widths.
fn one(text: &mut String, fit: &Fit, ruler: Ruler) {
    let mut start = if fit.widths.is_empty() {
        "The widths as they are.".to_string()
    } else {
        format!("{}.", widths(&fit.widths, ruler))
    };
    if let Some(sides) = &fit.finished {
        start.push_str(&format!(" The top is then {}.", ruler.size(sides)));
    }
    wrap(text, "  - ", &start);
    if !fit.trouble.is_empty() {
        wrap(text, "    ", &format!("There is no plan. {}", fit.trouble));
        return;
    }
    // Repeats of thirds of an inch carry nanometres of rounding, which nobody scales for.
    let whole = |scale: &Measure| per_cent(scale) == "100";
    let scaling = match &fit.scale {
        [least, most] if whole(least) && whole(most) => "no scaling".to_string(),
        scales if fit.closes && !fit.widths.is_empty() => {
            format!(
                "scaled to {}, strips that do not follow the widths among them",
                scaled(scales)
            )
        }
        scales => format!("scaled to {}", scaled(scales)),
    };
    let terms = fit.objective.iter().take(MOST_TERMS).map(|entry| {
        let mark = if entry.proven { "" } else { " (best found)" };
        format!(
            "{} {}{mark}",
            term(entry).0,
            shown(entry, &entry.value, ruler)
        )
    });
    let parts: Vec<String> = std::iter::once(scaling).chain(terms).collect();
    wrap(text, "    ", &format!("{}.", parts.join("; ")));
    if fit.mixing > 0 {
        let strips = counted(fit.mixing, "strip");
        let words = format!("On {strips} sizes with different repeats have to follow each other.");
        wrap(text, "    ", &words);
    }
}

/// `1 strip`, `2 strips`.
fn counted(count: usize, one: &str) -> String {
    match count {
        1 => format!("1 {one}"),
        _ => format!("{count} {one}s"),
    }
}

/// `97 %`, `97 – 102 %`.
fn scaled([least, most]: &[Measure; 2]) -> String {
    if least == most {
        format!("{} %", per_cent(least))
    } else {
        format!("{} – {} %", per_cent(least), per_cent(most))
    }
}

fn per_cent(scale: &Measure) -> String {
    let exact = scale
        .exact()
        .ok()
        .and_then(|scale| scale.times_rounded(100_000));
    exact.map_or(scale.to_string(), |thousandths| {
        number(&Measure::from_ratio(thousandths, 1_000), 3)
    })
}

/// `sashing 1 1/2 in (1.5); border 1: sides 1 1/8 in (1.125), ends 2 in`.
fn widths(of: &[Width], ruler: Ruler) -> String {
    let mut parts: Vec<String> = Vec::new();
    let mut border = None;
    for width in of {
        let length = ruler.length(&width.width);
        let word = match width.of {
            WidthOf::Sashing => "sashing",
            WidthOf::Sides => "sides",
            WidthOf::Ends => "ends",
        };
        match (width.border, parts.last_mut()) {
            (Some(number), Some(last)) if border == Some(number) => {
                last.push_str(&format!(", {word} {length}"));
            }
            (Some(number), _) => parts.push(format!("border {number}: {word} {length}")),
            (None, _) => parts.push(format!("{word} {length}")),
        }
        border = width.border;
    }
    parts.join("; ")
}

fn repeats(text: &mut String, all: &[Repeats], ruler: Ruler) {
    for of in all {
        let name = match of.alike {
            1 => of.like.clone(),
            alike => format!("{} and {} like it", of.like, alike - 1),
        };
        let (length, repeat) = (ruler.length(&of.length), ruler.length(&of.repeat));
        let words = format!("{name}: {length} long, a repeat is {repeat}");
        wrap(text, "  - ", &words);
        let mut table = Table::new(4);
        for count in &of.counts {
            table.row([
                format!("{} repeats", count.repeats),
                format!("{} %", per_cent(&count.scale)),
                remark(count, ruler),
            ]);
        }
        table.write(text);
        if of.counts.is_empty() {
            wrap(
                text,
                "    ",
                "None of the owned hoops takes a size with it.",
            );
        }
    }
}

fn remark(count: &Count, ruler: Ruler) -> String {
    let Ok(longer) = count.longer.exact() else {
        return String::new();
    };
    let zero = sashwright_solver::exact::Exact::ZERO;
    if longer == zero {
        return "fits".into();
    }
    let allowed = if count.allowed {
        ""
    } else {
        "more than its sizes allow; "
    };
    let (size, word) = if longer > zero {
        (longer, "longer")
    } else {
        (longer.opposite(), "shorter")
    };
    let size = Measure::from_ratio(size.numerator(), size.denominator());
    let mut words = format!("{allowed}fits a strip {} {word}", ruler.length(&size));
    if let Some(mismatch) = &count.mismatch {
        let mismatch = ruler.length(mismatch);
        words.push_str(&format!("; unscaled it misses a corner by {mismatch}"));
    }
    words
}
