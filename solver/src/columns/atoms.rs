//! What the goal counts, taken apart: every quantity of a plan is a sum of these, each so many times.

use std::collections::BTreeMap;

use crate::length::Length;
use crate::master::{Form, stabilizer_area, weight};
use crate::scenario::{Goal, Scenario, Term};

/// One of the things that a plan's terms are sums of.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Atom {
    /// A hooping in a hoop (index).
    Hooping(usize),
    /// A joint.
    Joint,
    /// A hoop change.
    Change,
    /// A strip with this overhang.
    Overhang(Length),
    /// A corner with this mismatch.
    Mismatch(Length),
    /// The smallest part of working time, at runs.
    Time,
    /// A level of this length, cut off the roll of stabilizer.
    Level(Length),
}

/// All atoms of a scenario, numbered.
#[derive(Clone, Default, Debug)]
pub struct Atoms {
    numbers: BTreeMap<Atom, usize>,
}

impl Atoms {
    /// The atoms of a scenario whose covers and corners can have these overhangs and mismatches, and whose stabilizer is cut in levels of these
    /// lengths.
    pub fn of(
        scenario: &Scenario,
        overhangs: impl Iterator<Item = Length>,
        mismatches: impl Iterator<Item = Length>,
        levels: impl Iterator<Item = Length>,
    ) -> Atoms {
        let hoops = (0..scenario.hoops.len()).map(Atom::Hooping);
        let all = hoops
            .chain([Atom::Joint, Atom::Change, Atom::Time])
            .chain(overhangs.map(Atom::Overhang))
            .chain(mismatches.map(Atom::Mismatch))
            .chain(levels.map(Atom::Level));
        let mut atoms = Atoms::default();
        for atom in all {
            let next = atoms.numbers.len();
            atoms.numbers.entry(atom).or_insert(next);
        }
        atoms
    }

    /// What an atom counts for in a term: numbers, nanometres, square nanometres, parts of a minute.
    fn in_term(scenario: &Scenario, atom: Atom, term: Term) -> i128 {
        match (atom, term) {
            (Atom::Hooping(_), Term::Hoopings)
            | (Atom::Joint, Term::Joints)
            | (Atom::Change, Term::HoopChanges)
            | (Atom::Time, Term::Minutes) => 1,
            (Atom::Hooping(_), Term::Minutes) => i128::from(scenario.rates.hooping.parts()),
            (Atom::Change, Term::Minutes) => i128::from(scenario.rates.hoop_change.parts()),
            (Atom::Hooping(hoop), Term::Stabilizer) => stabilizer_area(scenario, hoop),
            (Atom::Overhang(length), Term::Overhang)
            | (Atom::Mismatch(length), Term::CornerMismatch)
            | (Atom::Level(length), Term::RollLength) => i128::from(length.nanometres()),
            _ => 0,
        }
    }

    /// The form of a term; `most` is the most that the atoms of a plan add up to.
    pub fn term(&self, scenario: &Scenario, term: Term, most: i128) -> Form {
        let atoms = self.numbers.iter();
        let raw = atoms.map(|(atom, number)| (*number, Atoms::in_term(scenario, *atom, term)));
        Form::of(raw.collect(), most)
    }

    /// The forms of the goal's entries.
    pub fn goal(&self, scenario: &Scenario, most: i128) -> Vec<Form> {
        match &scenario.goal {
            Goal::Priorities(terms) => terms
                .iter()
                .map(|term| self.term(scenario, *term, most))
                .collect(),
            Goal::Prices(prices) => {
                let nanometres = scenario.unit.nanometres();
                let cost = |atom: Atom| -> i128 {
                    let parts = prices.iter().map(|price| {
                        weight(price.term, price.each, nanometres)
                            * Atoms::in_term(scenario, atom, price.term)
                    });
                    parts.sum()
                };
                let raw = self
                    .numbers
                    .iter()
                    .map(|(atom, number)| (*number, cost(*atom)));
                vec![Form::of(raw.collect(), most)]
            }
        }
    }

    /// The coefficients of a linear form over the atoms, by number.
    pub fn dense(&self, terms: &[(usize, i64)]) -> Vec<i64> {
        let mut dense = vec![0; self.numbers.len()];
        for (number, value) in terms {
            dense[*number] = *value;
        }
        dense
    }

    /// What a form says of something made of atoms.
    pub fn value(&self, form: &[i64], made_of: &[(Atom, i64)]) -> i64 {
        let parts = made_of.iter().map(|(atom, count)| {
            self.numbers
                .get(atom)
                .and_then(|number| form.get(*number))
                .map_or(0, |value| value.saturating_mul(*count))
        });
        parts.sum()
    }

    /// Whether a form counts what happens at corners.
    pub fn counts_corners(&self, form: &[i64]) -> bool {
        self.counts(form, |atom| matches!(atom, Atom::Mismatch(_)))
    }

    /// Whether a form counts hoopings, or what is cut for them.
    pub fn counts_hoopings(&self, form: &[i64]) -> bool {
        self.counts(form, |atom| {
            matches!(atom, Atom::Hooping(_) | Atom::Level(_))
        })
    }

    fn counts(&self, form: &[i64], which: impl Fn(Atom) -> bool) -> bool {
        let mut numbers = self.numbers.iter();
        numbers.any(|(atom, number)| which(*atom) && form[*number] != 0)
    }

    /// The number of an atom.
    pub fn number(&self, atom: Atom) -> Option<usize> {
        self.numbers.get(&atom).copied()
    }
}
