//! Patterns at the ends of strips that miss every other pattern by the same: one of them stands for all.
//!
//! Scaled strips end their pattern exactly at the seam line. Their repeats differ with every scale, but where they only meet each other it does
//! not matter.

use std::collections::{BTreeMap, BTreeSet};

use crate::classes::Class;
use crate::cover::{CoverSpace, Phase};
use crate::length::Length;

/// With more pairs of patterns than this, they are not compared.
const MOST_PAIRS: usize = 20_000;

/// For patterns that another one stands for, that one.
#[derive(Clone, Default, Debug)]
pub struct PhaseStandIns(BTreeMap<Phase, Phase>);

impl PhaseStandIns {
    /// Those of the patterns that the ends of cornered strips can show.
    pub fn of(classes: &[Class], spaces: &[CoverSpace<'_>]) -> PhaseStandIns {
        let cornered = classes.iter().zip(spaces);
        let cornered = cornered.filter(|(class, _)| class.cornered);
        let shown = cornered.flat_map(|(_, space)| space.end_phases());
        let shown: BTreeSet<Phase> = shown.flatten().collect();
        let (exact, past): (Vec<Phase>, Vec<Phase>) =
            shown.into_iter().partition(Phase::ends_at_seam);
        if exact.len().saturating_mul(past.len()) > MOST_PAIRS {
            return PhaseStandIns::default();
        }
        let mut first: BTreeMap<Vec<Length>, Phase> = BTreeMap::new();
        let mut stand_ins = BTreeMap::new();
        for phase in exact {
            // Those that end at the seam line meet each other.
            let missed = past.iter().map(|other| phase.mismatch(other)).collect();
            stand_ins.insert(phase, *first.entry(missed).or_insert(phase));
        }
        PhaseStandIns(stand_ins)
    }

    /// The patterns that stand for these.
    pub fn pair(&self, phases: [Phase; 2]) -> [Phase; 2] {
        phases.map(|phase| self.0.get(&phase).copied().unwrap_or(phase))
    }
}
