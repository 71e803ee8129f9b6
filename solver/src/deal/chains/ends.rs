//! Which hoopings finish strips with inner runs, and with which of their outer runs; with growth one way also which start them. It is settled
//! before all else, since the order of the work hangs on it.

use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet};

use super::{Matching, Place, takes};

/// An outer run, after how many runs its job has: most come first.
type End = (Reverse<usize>, usize);

/// By kind the outer runs that may finish (or start) a strip that waits for it.
type Ends = BTreeMap<usize, BTreeSet<End>>;

impl Matching<'_> {
    /// Settles which hoopings finish (or start) strips, and with which of their outer runs. Hoopings are taken in this order.
    pub(super) fn settle_ends<'o>(
        &mut self,
        order: impl Iterator<Item = &'o usize>,
        starts: bool,
    ) -> Option<()> {
        let mut ends = self.ends_to_settle(starts);
        let mut rank = 0;
        for hooping in order.copied() {
            if self.deadline.over() {
                return None;
            }
            // A hooping that finishes strips starts none.
            if self.finishing[hooping].is_some() {
                continue;
            }
            let mut any = false;
            // Places are listed hooping by hooping.
            let of = |hooping: usize| move |place: &Place| place.hooping < hooping;
            let first = self.places.partition_point(of(hooping));
            for place in first..self.places.partition_point(of(hooping + 1)) {
                if self.run_at[place].is_none()
                    && let Some(run) = self.to_settle(place, &ends)
                {
                    self.put(run, place);
                    self.fixed[run] = true;
                    let job = self.runs[run].job;
                    for (kind, end) in self.ends_of(job) {
                        ends.entry(kind).or_default().remove(&end);
                    }
                    if starts {
                        self.started[job] = Some(rank);
                        self.begins.insert(self.jobs[job].strip, self.runs[run].run);
                    } else {
                        self.finished[job] = Some(rank);
                    }
                    any = true;
                }
            }
            if any {
                let settling = if starts {
                    &mut self.starting
                } else {
                    &mut self.finishing
                };
                settling[hooping] = Some(rank);
                rank += 1;
            }
        }
        let settled = if starts {
            &self.started
        } else {
            &self.finished
        };
        let all = (0..self.jobs.len())
            .all(|job| !self.is_to_settle(job, starts) || settled[job].is_some());
        all.then_some(())
    }

    /// The outer runs of a job, by kind.
    fn ends_of(&self, job: usize) -> impl Iterator<Item = (usize, End)> {
        let runs = self.runs_of[job].clone();
        let outer = runs.filter(|run| self.is_outer(*run));
        outer.map(move |run| {
            let end = (Reverse(self.jobs[job].runs.len()), run);
            (self.runs[run].kind, end)
        })
    }

    /// The outer runs without a place of all jobs that are to be finished (or started).
    fn ends_to_settle(&self, starts: bool) -> Ends {
        let mut ends = Ends::new();
        for job in (0..self.jobs.len()).filter(|job| self.is_to_settle(*job, starts)) {
            for (kind, end) in self.ends_of(job) {
                if self.place_of[end.1].is_none() {
                    ends.entry(kind).or_default().insert(end);
                }
            }
        }
        ends
    }

    /// The outer run that a place had best take to finish (or start) its strip: an exact fit first, then a long run, then that of the strip
    /// with most runs.
    fn to_settle(&self, place: usize, ends: &Ends) -> Option<usize> {
        let Place { hooping, kind, .. } = self.places[place];
        let fits = |run: &usize| takes(self.table, kind, *run) && self.has_share(kind, *run);
        let fitting = ends.iter().filter(|(run, _)| fits(run));
        let best = fitting.filter_map(|(of, ends)| {
            let is_free = |end: &&End| self.held(self.runs[end.1].job, hooping).is_none();
            let end = ends.iter().find(is_free)?;
            Some((*of != kind, Reverse(self.table.kinds[*of].length), *end))
        });
        let (_, _, (_, run)) = best.min()?;
        Some(run)
    }

    /// Whether a strip with inner runs needs a hooping that starts (or one that finishes) it: what is left of a begun strip was
    /// started before.
    fn is_to_settle(&self, job: usize, starts: bool) -> bool {
        self.is_long(job) && !(starts && self.jobs[job].is_rest)
    }
}
