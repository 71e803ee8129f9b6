//! Work that was accepted and what came of it: kept in a database (SQLite), so that nothing is lost where the program ends.
//!
//! This is the one queue of all work that nobody waits for. Its interface is narrow: work is *accepted* whole or not at all
//! (`accept.rs`), *claimed* by whoever works (`claim.rs`), and *finished* once, or *put back*; what came of it is read in order
//! (`read.rs`) until it is old enough to go (`expire.rs`). Late plans are work too (`late.rs`). A claim ends with the process that
//! made it: whoever opens the store anew is alone in it, and takes up what was claimed.

mod accept;
mod claim;
mod expire;
mod late;
mod open;
mod read;
#[cfg(test)]
mod tests;

use std::fs::File;
use std::sync::{Mutex, MutexGuard, PoisonError};

use rusqlite::Connection;

use crate::hex::digits;

pub use accept::{Accepted, Body, NewBatch, Room};
pub use claim::{Ended, Question, Work};
pub use late::{LateEnd, LatePlan, LateState};
pub use read::{BatchState, KitRow, Load, ResultRow, State};

/// Why the store could not do what it was asked for.
#[derive(Debug, thiserror::Error)]
pub enum StoreError {
    /// Another program has the folder.
    #[error("another program works with {0}")]
    Taken(String),
    /// The folder or its lock cannot be used.
    #[error("{0}: {1}")]
    Folder(String, std::io::Error),
    /// The database failed.
    #[error("the store failed: {0}")]
    Database(#[from] rusqlite::Error),
    /// The database cannot be brought to this version.
    #[error("the store cannot be brought to this version: {0}")]
    Migration(#[from] rusqlite_migration::Error),
    /// The system gives no random numbers.
    #[error("there are no random numbers: {0}")]
    Random(getrandom::Error),
    /// What is stored cannot be read as what it is.
    #[error("what is stored cannot be read: {0}")]
    Unreadable(#[from] serde_json::Error),
}

/// Seconds since 1970-01-01T00:00:00Z.
pub type Seconds = i64;

/// The store. Calls take microseconds to milliseconds, and wait for each other.
pub struct Store {
    connection: Mutex<Connection>,
    /// Held for as long as the store is; the system lets go of it however the program ends.
    _lock: Option<File>,
}

impl Store {
    fn connection(&self) -> MutexGuard<'_, Connection> {
        // A call that panicked has left its transaction, which was rolled back.
        self.connection
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
    }
}

/// The time now.
pub fn now() -> Seconds {
    let since = std::time::SystemTime::now().duration_since(std::time::UNIX_EPOCH);
    since.map_or(0, |since| {
        Seconds::try_from(since.as_secs()).unwrap_or(Seconds::MAX)
    })
}

/// A name that nobody can guess: 128 random bits, in hexadecimal.
fn random_name() -> Result<String, StoreError> {
    let mut bytes = [0_u8; 16];
    getrandom::fill(&mut bytes).map_err(StoreError::Random)?;
    Ok(digits(bytes))
}

/// A count as the database gives it; none is below 0.
pub fn natural(count: i64) -> u64 {
    u64::try_from(count).unwrap_or(0)
}

/// A count as the database has it.
fn count(number: usize) -> i64 {
    i64::try_from(number).unwrap_or(i64::MAX)
}
