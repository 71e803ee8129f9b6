//! The goal: which terms count, in which order or at which price.

use std::fmt;

use crate::exact::Exact;
use crate::fault::FaultCode;
use crate::scenario::Scenario;
use crate::scenario::node::{Node, all};

/// A term of the goal.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Term {
    /// The number of hoopings.
    Hoopings,
    /// Places where two runs of a strip meet.
    Joints,
    /// How far the pattern misses itself at the corners, a length.
    CornerMismatch,
    /// Stabilizer hooped, an area.
    Stabilizer,
    /// Stitching past the seam lines, a length.
    Overhang,
    /// Consecutive hoopings in different hoops.
    HoopChanges,
    /// Working time, at the machine and by hand together.
    Minutes,
    /// The least length of roll that all pieces of stabilizer are cut from, in levels.
    RollLength,
}

impl Term {
    /// Every term.
    pub const ALL: [Term; 8] = [
        Term::Hoopings,
        Term::Joints,
        Term::CornerMismatch,
        Term::Stabilizer,
        Term::Overhang,
        Term::HoopChanges,
        Term::Minutes,
        Term::RollLength,
    ];

    /// The terms that count unless the scenario says otherwise, in this order.
    pub const USUAL: &[Term] = Term::ALL.split_at(6).0;

    /// The term's name in both documents.
    pub const fn name(self) -> &'static str {
        match self {
            Term::Hoopings => "hoopings",
            Term::Joints => "joints",
            Term::CornerMismatch => "corner_mismatch",
            Term::Stabilizer => "stabilizer",
            Term::Overhang => "overhang",
            Term::HoopChanges => "hoop_changes",
            Term::Minutes => "minutes",
            Term::RollLength => "roll_length",
        }
    }

    fn named() -> [(&'static str, Term); 8] {
        Term::ALL.map(|term| (term.name(), term))
    }
}

impl fmt::Display for Term {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

/// What is best.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Goal {
    /// The terms in the order in which they count; each counts only among plans that are best in all before it.
    Priorities(Vec<Term>),
    /// The total cost counts.
    Prices(Vec<Price>),
}

/// What one of a term costs: a hooping, joint or change, a unit of length, or a unit of area.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Price {
    /// The term.
    pub term: Term,
    /// The price of one, above 0.
    pub each: Exact,
}

impl Goal {
    /// Whether a term counts at all.
    pub fn counts(&self, term: Term) -> bool {
        match self {
            Goal::Priorities(terms) => terms.contains(&term),
            Goal::Prices(prices) => prices.iter().any(|price| price.term == term),
        }
    }

    /// Whether hoop changes count, by themselves or for the time that they take.
    pub fn counts_changes(&self) -> bool {
        self.counts(Term::HoopChanges) || self.counts(Term::Minutes)
    }

    /// Whether a hoop change is weighed against other things, so that a plan with more of them may be the better one.
    pub fn weighs_changes(&self) -> bool {
        matches!(self, Goal::Prices(_)) || self.counts(Term::Minutes)
    }
}

impl Default for Goal {
    fn default() -> Goal {
        Goal::Priorities(Term::USUAL.to_vec())
    }
}

pub(super) fn read(node: &Node<'_>) -> Option<Goal> {
    let fields = node.fields(&["priorities", "prices"])?;
    let priorities = fields.maybe("priorities", read_priorities);
    let prices = fields.maybe("prices", read_prices);
    match (priorities?, prices?) {
        (Some(_), Some(_)) => {
            node.fault(
                FaultCode::Conflict,
                "Both \"priorities\" and \"prices\" are given.",
                "Keep one: an order of the terms, or a price for each.",
            );
            None
        }
        (Some(priorities), None) => Some(Goal::Priorities(priorities)),
        (None, Some(prices)) => Some(Goal::Prices(prices)),
        (None, None) => Some(Goal::default()),
    }
}

fn read_priorities(node: &Node<'_>) -> Option<Vec<Term>> {
    let items = node.items("term that counts", Term::ALL.len())?;
    let terms = all(items.iter().map(|item| item.word(&Term::named())))?;
    let mut fine = true;
    for (index, term) in terms.iter().enumerate() {
        if terms[..index].contains(term) {
            items[index].fault(
                FaultCode::DuplicateId,
                format!("The term \"{term}\" is listed before."),
                "List each term once.",
            );
            fine = false;
        }
    }
    fine.then_some(terms)
}

fn read_prices(node: &Node<'_>) -> Option<Vec<Price>> {
    let names = Term::ALL.map(Term::name);
    let fields = node.fields(&names)?;
    let prices = all(Term::ALL
        .iter()
        .map(|term| fields.or(term.name(), Exact::ZERO, |node| node.price(1_000_000, 6))))?;
    let priced = Term::ALL.into_iter().zip(prices);
    Some(
        priced
            .filter(|(_, each)| *each > Exact::ZERO)
            .map(|(term, each)| Price { term, each })
            .collect(),
    )
}

/// Notes each size whose stitches are not known, where the goal counts minutes.
pub(super) fn check_stitches(scenario: &Scenario, root: &Node<'_>) {
    if !scenario.goal.counts(Term::Minutes) {
        return;
    }
    for (design, of) in scenario.designs.iter().enumerate() {
        for (size, of) in of.sizes.iter().enumerate() {
            if of.stitches.is_none() {
                root.fault_at(
                    &format!("/designs/{design}/sizes/{size}"),
                    FaultCode::MissingField,
                    format!("The goal counts minutes, and the size {:?} does not say its \"stitches\".", of.id),
                    "Give the number of stitches of each file, as your machine or software shows it; or leave \"minutes\" out of the goal.",
                );
            }
        }
    }
}

/// Notes what keeps the length of roll from being counted, where the goal counts it.
pub(super) fn check_roll(scenario: &Scenario, root: &Node<'_>) {
    if !scenario.goal.counts(Term::RollLength) {
        return;
    }
    let materials = &scenario.materials;
    let stocks = &materials.stabilizer_stocks;
    let Some(bolt) = stocks.single_bolt() else {
        root.fault_at(
            "/materials/stabilizer",
            FaultCode::Conflict,
            "The goal counts \"roll_length\", and the stabilizer is not cut from one roll.",
            "Give it a \"roll_width\", or a single bolt and no sheets; or let the goal count \"stabilizer\", its area.",
        );
        return;
    };
    for (list, hoops) in [
        ("hoops", &scenario.hoops),
        ("candidates", &scenario.candidates),
    ] {
        for (number, hoop) in hoops.iter().enumerate() {
            if stocks
                .lay
                .fits(materials.stabilizer.piece(hoop), bolt.width)
            {
                continue;
            }
            root.fault_at(
                &format!("/{list}/{number}"),
                FaultCode::Conflict,
                format!(
                    "The goal counts \"roll_length\", and the piece of stabilizer for the hoop {:?} does not fit across the roll.",
                    hoop.id
                ),
                "Use a wider roll or a smaller \"margin\", or let the goal count \"stabilizer\", its area.",
            );
        }
    }
}
