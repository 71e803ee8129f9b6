//! The queue in front of the solves: a few at once, a few waiting, and no more. Whose turn it is goes round among the clients who wait.

use std::collections::{HashMap, VecDeque};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use tokio::sync::oneshot;

use super::client::Client;

/// Places for requests that are solved or wait for it.
#[derive(Clone)]
pub(super) struct Queue(Arc<Shared>);

struct Shared {
    /// Solves at once.
    at_once: usize,
    /// Requests inside: solved or waiting.
    size: usize,
    /// The same of one client.
    each: usize,
    lines: Mutex<Lines>,
}

/// Who is inside.
#[derive(Default)]
struct Lines {
    running: usize,
    waiting: usize,
    /// Requests inside of each client that has any.
    inside: HashMap<Client, usize>,
    /// Of each client that waits its requests, first come, first served.
    of: HashMap<Client, VecDeque<Ticket>>,
    /// Those clients, the next one first.
    round: VecDeque<Client>,
    tickets: u64,
}

/// What a waiting request is called with.
struct Ticket {
    number: u64,
    call: oneshot::Sender<Turn>,
}

/// Why there is no place.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum NoPlace {
    /// All places are taken.
    Full,
    /// The client has as many as it may have.
    TooManyOfClient,
}

/// A place in the queue; dropping it leaves the queue.
pub(super) struct Waiting {
    /// Its own place among those who wait.
    line: Option<Place>,
    called: oneshot::Receiver<Turn>,
}

/// Where a request waits.
struct Place {
    queue: Queue,
    client: Client,
    number: u64,
}

/// The right to run one solve; held by its thread until that ends, whether or not its client still waits.
pub(super) struct Turn(Option<(Queue, Client)>);

impl Queue {
    /// So many at once, so many more that wait, and so many of one client in all.
    pub(super) fn new(at_once: usize, waiting: usize, each: usize) -> Queue {
        Queue(Arc::new(Shared {
            at_once,
            size: at_once.saturating_add(waiting),
            each,
            lines: Mutex::default(),
        }))
    }

    /// A place in the queue.
    ///
    /// # Errors
    /// There is none.
    pub(super) fn enter(&self, client: &Client) -> Result<Waiting, NoPlace> {
        let (call, called) = oneshot::channel();
        let mut lines = self.lines();
        if lines.running + lines.waiting >= self.0.size {
            return Err(NoPlace::Full);
        }
        let inside = lines.inside.entry(client.clone()).or_default();
        if *inside >= self.0.each {
            return Err(NoPlace::TooManyOfClient);
        }
        *inside += 1;
        lines.tickets += 1;
        let number = lines.tickets;
        lines.waiting += 1;
        let line = lines.of.entry(client.clone()).or_default();
        let alone = line.is_empty();
        line.push_back(Ticket { number, call });
        if alone {
            lines.round.push_back(client.clone());
        }
        self.call_next(&mut lines);
        drop(lines);
        Ok(Waiting {
            line: Some(Place {
                queue: self.clone(),
                client: client.clone(),
                number,
            }),
            called,
        })
    }

    /// How many solves run and how many requests wait for one, at this moment.
    pub(super) fn load(&self) -> (usize, usize) {
        let lines = self.lines();
        (lines.running, lines.waiting)
    }

    /// Calls those whose turn it is.
    fn call_next(&self, lines: &mut Lines) {
        while lines.running < self.0.at_once
            && let Some(client) = lines.round.pop_front()
        {
            let Some(line) = lines.of.get_mut(&client) else {
                continue;
            };
            let ticket = line.pop_front();
            if line.is_empty() {
                lines.of.remove(&client);
            } else {
                lines.round.push_back(client.clone());
            }
            let Some(ticket) = ticket else {
                continue;
            };
            lines.waiting -= 1;
            lines.running += 1;
            let turn = Turn(Some((self.clone(), client.clone())));
            if let Err(mut turn) = ticket.call.send(turn) {
                // It has gone just now. Its turn ends here, and not when it is dropped, which would wait for the lock that is held.
                turn.0 = None;
                lines.running -= 1;
                lines.leaves(&client);
            }
        }
    }

    fn lines(&self) -> MutexGuard<'_, Lines> {
        // Nothing that is done with the lines can panic halfway.
        self.0.lines.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl Lines {
    /// One request less of a client is inside.
    fn leaves(&mut self, client: &Client) {
        if let Some(inside) = self.inside.get_mut(client) {
            *inside -= 1;
            if *inside == 0 {
                self.inside.remove(client);
            }
        }
    }
}

impl Waiting {
    /// Waits for its turn. `None` would mean that the queue has gone, which it does not while somebody waits.
    pub(super) async fn turn(mut self) -> Option<Turn> {
        let turn = (&mut self.called).await.ok();
        self.line = None;
        turn
    }
}

impl Drop for Place {
    /// Leaves the line, where it still stands there.
    fn drop(&mut self) {
        let mut lines = self.queue.lines();
        let Some(line) = lines.of.get_mut(&self.client) else {
            return;
        };
        let Some(at) = line.iter().position(|ticket| ticket.number == self.number) else {
            return;
        };
        line.remove(at);
        if line.is_empty() {
            lines.of.remove(&self.client);
            lines.round.retain(|client| *client != self.client);
        }
        lines.waiting -= 1;
        lines.leaves(&self.client);
    }
}

impl Drop for Turn {
    fn drop(&mut self) {
        if let Some((queue, client)) = self.0.take() {
            let mut lines = queue.lines();
            lines.running -= 1;
            lines.leaves(&client);
            queue.call_next(&mut lines);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn client(name: &str) -> Client {
        Client(name.into())
    }

    /// Whoever is called, by the names of those who wait.
    fn called<'w>(waiting: &mut Vec<(&'w str, Waiting)>) -> Vec<(&'w str, Turn)> {
        let mut turns = Vec::new();
        waiting.retain_mut(|(name, waiting)| match waiting.called.try_recv() {
            Ok(turn) => {
                turns.push((*name, turn));
                false
            }
            Err(_) => true,
        });
        turns
    }

    #[test]
    fn turns_go_round_among_the_clients() {
        let queue = Queue::new(1, 10, 10);
        let mut waiting = Vec::new();
        for name in ["a", "a", "a", "a", "b", "b", "c"] {
            let place = queue.enter(&client(name)).expect("a place");
            waiting.push((name, place));
        }
        assert_eq!(queue.load(), (1, 6));
        let mut order = Vec::new();
        loop {
            let turns = called(&mut waiting);
            if turns.is_empty() {
                break;
            }
            // One at a time: the next is called once this turn ends.
            assert_eq!(turns.len(), 1);
            order.extend(turns.into_iter().map(|(name, _)| name));
        }
        assert_eq!(order, ["a", "a", "b", "c", "a", "b", "a"]);
        assert_eq!(queue.load(), (0, 0));
        assert!(queue.lines().inside.is_empty() && queue.lines().of.is_empty());
    }

    #[test]
    fn who_leaves_makes_room_wherever_it_stood() {
        let queue = Queue::new(1, 2, 2);
        let mut waiting: Vec<(&str, Waiting)> = Vec::new();
        waiting.push(("a", queue.enter(&client("a")).expect("a place")));
        let leaving = queue.enter(&client("a")).expect("a place");
        assert_eq!(
            queue.enter(&client("a")).err(),
            Some(NoPlace::TooManyOfClient)
        );
        waiting.push(("b", queue.enter(&client("b")).expect("a place")));
        assert_eq!(queue.enter(&client("b")).err(), Some(NoPlace::Full));
        drop(leaving);
        assert_eq!(queue.load(), (1, 1));
        let turns = called(&mut waiting);
        assert_eq!((turns.len(), turns[0].0), (1, "a"));
        drop(turns);
        // b is called, and goes before it hears of it: the turn ends with it.
        assert_eq!(queue.load(), (1, 0));
        drop(waiting);
        assert_eq!(queue.load(), (0, 0));
        assert!(queue.lines().inside.is_empty() && queue.lines().round.is_empty());
    }
}
