//! Several things solved at once, each within an even share of the time that is left.

use std::sync::Mutex;
use std::thread;

use crate::deadline::Deadline;
use crate::planner::NoPlan;

/// The stack of a solve, in bytes. The search goes as deep as a scenario has strips.
const STACK: usize = 64 << 20;

/// Does `work` for each of `items`, on as many threads as there are cores, and gives the results in their order. `to_come` more
/// will have to be done in the same time.
///
/// # Errors
/// The first that `work` gave; the others are done all the same.
pub fn solve_each<T: Sync, R: Send>(
    items: &[T],
    to_come: usize,
    deadline: &Deadline,
    work: impl Fn(&T, &Deadline) -> Result<R, NoPlan> + Sync,
) -> Result<Vec<R>, NoPlan> {
    if items.is_empty() {
        return Ok(Vec::new());
    }
    let threads = thread::available_parallelism()
        .map_or(1, usize::from)
        .min(items.len());
    let next = Mutex::new(0..items.len());
    let take = || {
        let mut next = next.lock().ok()?;
        let turns = (next.len() + to_come).div_ceil(threads);
        Some((next.next()?, u32::try_from(turns).unwrap_or(u32::MAX)))
    };
    let turn = || {
        let mut done = Vec::new();
        while let Some((place, turns)) = take() {
            // Each has an even share of what is left, so that slow ones leave time for those behind them.
            let share = deadline.at_most(deadline.left() / turns.max(1));
            done.push((place, work(&items[place], &share)?));
        }
        Ok(done)
    };
    let mut all = if threads <= 1 {
        turn()?
    } else {
        thread::scope(|scope| {
            let started: Vec<_> = (0..threads)
                .map(|_| {
                    thread::Builder::new()
                        .stack_size(STACK)
                        .spawn_scoped(scope, turn)
                })
                .collect();
            let mut all = Vec::new();
            let mut failed = 0;
            for thread in started {
                match thread.map(thread::ScopedJoinHandle::join) {
                    Ok(Ok(done)) => all.extend(done?),
                    Ok(Err(panic)) => std::panic::resume_unwind(panic),
                    Err(_) => failed += 1,
                }
            }
            // Where the system has no room for a single thread more, this one does the work.
            if failed == threads {
                all = turn()?;
            }
            Ok(all)
        })?
    };
    all.sort_by_key(|(place, _)| *place);
    Ok(all.into_iter().map(|(_, result)| result).collect())
}

#[cfg(test)]
mod tests {
    use std::time::Duration;

    use super::*;
    use crate::deadline::StopSignal;

    #[test]
    fn nothing_to_do_is_done_at_once() {
        let deadline = Deadline::after(Duration::from_secs(5), StopSignal::new());
        let none: [u64; 0] = [];
        let results = solve_each(&none, 3, &deadline, |item, _| Ok(*item)).expect("no failure");
        assert_eq!(results, none);
    }

    #[test]
    fn results_come_in_the_order_of_their_items() {
        let deadline = Deadline::after(Duration::from_secs(5), StopSignal::new());
        let items: Vec<u64> = (0..50).collect();
        let slow_first = |item: &u64, _: &Deadline| {
            thread::sleep(Duration::from_millis(if *item < 2 { 20 } else { 0 }));
            Ok(item * item)
        };
        let squares = solve_each(&items, 0, &deadline, slow_first).expect("no failure");
        assert_eq!(
            squares,
            items.iter().map(|item| item * item).collect::<Vec<_>>()
        );
    }
}
