//! The least length of roll for so many hoopings in each hoop, by trying every level that could be cut next.

use std::collections::BTreeMap;

use sashwright_solver::cutting::Lay;
use sashwright_solver::scenario::Scenario;

/// The roll of a scenario, and the lengths that are known.
pub struct Roll {
    width: i128,
    /// For each hoop the ways in which its piece can lie: along the roll, across it.
    ways: Vec<Vec<[i128; 2]>>,
    known: BTreeMap<Vec<u8>, i128>,
}

impl Roll {
    /// The roll; `None` where no width is told.
    pub fn of(scenario: &Scenario) -> Option<Roll> {
        let stocks = &scenario.materials.stabilizer_stocks;
        let width = i128::from(stocks.bolts.first()?.width.nanometres());
        let margin = i128::from(scenario.materials.stabilizer.margin.nanometres());
        let ways = scenario.hoops.iter().map(|hoop| {
            let [first, second] = hoop
                .frame
                .map(|side| i128::from(side.nanometres()) + 2 * margin);
            let mut ways = Vec::new();
            if stocks.lay != Lay::Crosswise {
                ways.push([first, second]);
            }
            if stocks.lay != Lay::Lengthwise {
                ways.push([second, first]);
            }
            ways
        });
        Some(Roll {
            width,
            ways: ways.collect(),
            known: BTreeMap::new(),
        })
    }

    /// The least length, in nanometres.
    pub fn least(&mut self, counts: &[u8]) -> i128 {
        if counts.iter().all(|count| *count == 0) {
            return 0;
        }
        if let Some(known) = self.known.get(counts) {
            return *known;
        }
        let mut best = i128::MAX;
        for part in parts(counts) {
            let Some(level) = self.level(&part) else {
                continue;
            };
            let rest: Vec<u8> = counts
                .iter()
                .zip(&part)
                .map(|(all, cut)| all - cut)
                .collect();
            best = best.min(self.least(&rest).saturating_add(level));
        }
        self.known.insert(counts.to_vec(), best);
        best
    }

    /// How long a level is that holds just these; `None` where they do not lie side by side.
    fn level(&self, part: &[u8]) -> Option<i128> {
        let lengths = self.ways.iter().flatten().map(|way| way[0]);
        let holds = |length: &i128| {
            let across = self.ways.iter().zip(part).map(|(ways, count)| {
                let short = ways.iter().filter(|way| way[0] <= *length);
                let least = short.map(|way| way[1]).min();
                match count {
                    0 => Some(0),
                    _ => least.map(|across| across * i128::from(*count)),
                }
            });
            across
                .sum::<Option<i128>>()
                .is_some_and(|across| across <= self.width)
        };
        lengths.filter(holds).min()
    }
}

/// Every part of the counts but the empty one.
fn parts(counts: &[u8]) -> Vec<Vec<u8>> {
    let mut parts = vec![Vec::new()];
    for count in counts {
        parts = parts
            .into_iter()
            .flat_map(|part| {
                (0..=*count).map(move |taken| {
                    let mut longer = part.clone();
                    longer.push(taken);
                    longer
                })
            })
            .collect();
    }
    parts.retain(|part| part.iter().any(|count| *count > 0));
    parts
}
