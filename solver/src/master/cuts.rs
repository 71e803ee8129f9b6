//! Cuts: what the master learns from a choice that cannot be dealt out.

use crate::master::Master;
use crate::program::Sense;

impl Master {
    /// Forbids a point's choice of patterns and covers; or, where `changes` is given, any fewer hoop changes with it.
    ///
    /// Some pattern or cover has to be chosen more often or, of a pattern, less often. Since every class has as many
    /// covers as strips, a choice of covers that differs has more of some cover.
    pub fn cut(&mut self, values: &[i64], changes: Option<i64>) {
        let mut differs = Vec::new();
        let covers: Vec<usize> = self.covers.iter().map(|cover| cover.column).collect();
        for column in self.patterns.iter().copied().chain(covers.iter().copied()) {
            let value = values[column];
            if value == 0 {
                differs.push((column, 1));
                continue;
            }
            let most = self.program.columns[column].most;
            if value < most {
                // more = 1 only where column ≥ value + 1
                let more = self.program.whole(0, 1);
                self.program
                    .row([(column, 1), (more, -(value + 1))], Sense::AtLeast, 0);
                differs.push((more, 1));
            }
            if !covers.contains(&column) {
                // less = 1 only where column ≤ value − 1
                let less = self.program.whole(0, 1);
                self.program
                    .row([(column, 1), (less, most - value + 1)], Sense::AtMost, most);
                differs.push((less, 1));
            }
        }
        match (changes, self.changes) {
            (Some(least), Some(column)) => {
                let weakened = differs
                    .into_iter()
                    .map(|(differs, one)| (differs, one * least));
                self.program
                    .row(weakened.chain([(column, 1)]), Sense::AtLeast, least);
            }
            _ => self.program.row(differs, Sense::AtLeast, 1),
        }
    }
}
