//! Opens the store: alone, in the newest version, with what was claimed free again.

use std::fs::{self, File, TryLockError};
use std::path::Path;
use std::sync::{LazyLock, Mutex};

use rusqlite::Connection;
use rusqlite_migration::{M, Migrations};

use super::{Store, StoreError};

/// The database's file in its folder.
const DATABASE: &str = "sashwright.sqlite";
/// The file whose lock says that a program works with the folder.
const LOCK: &str = "lock";

/// Each version of the store follows from the one before. What was released is never changed, only added to.
static MIGRATIONS: LazyLock<Migrations<'static>> = LazyLock::new(|| {
    Migrations::new(vec![
        M::up(include_str!("first.sql")),
        M::up(include_str!("second.sql")),
    ])
});

impl Store {
    /// A store that lasts as long as the program.
    ///
    /// # Errors
    /// See [`StoreError`].
    pub fn in_memory() -> Result<Store, StoreError> {
        Store::of(Connection::open_in_memory()?, None)
    }

    /// The store in a folder, which is made where it is not there. Work that was claimed when a program ended is free again.
    ///
    /// # Errors
    /// See [`StoreError`]; [`StoreError::Taken`] where another program works with the folder.
    pub fn open(folder: &Path) -> Result<Store, StoreError> {
        let failed = |error| StoreError::Folder(folder.display().to_string(), error);
        fs::create_dir_all(folder).map_err(failed)?;
        let lock = File::options()
            .create(true)
            .truncate(false)
            .write(true)
            .open(folder.join(LOCK))
            .map_err(failed)?;
        match lock.try_lock() {
            Ok(()) => {}
            Err(TryLockError::WouldBlock) => {
                return Err(StoreError::Taken(folder.display().to_string()));
            }
            Err(TryLockError::Error(error)) => return Err(failed(error)),
        }
        let connection = Connection::open(folder.join(DATABASE))?;
        Store::of(connection, Some(lock))
    }

    fn of(mut connection: Connection, lock: Option<File>) -> Result<Store, StoreError> {
        // Before anything is written: what goes makes room that is given back. The rest is for each connection.
        connection.pragma_update(None, "auto_vacuum", "INCREMENTAL")?;
        connection.pragma_update(None, "journal_mode", "WAL")?;
        // What was accepted is on the disk before anybody is told so, even where the machine stops.
        connection.pragma_update(None, "synchronous", "FULL")?;
        connection.pragma_update(None, "foreign_keys", true)?;
        MIGRATIONS.to_latest(&mut connection)?;
        connection.execute_batch(
            "UPDATE question SET claimed = 0 WHERE claimed = 1;
             UPDATE batch SET claimed = 0 WHERE claimed = 1;
             UPDATE late_plan SET claimed = 0 WHERE claimed = 1 AND closed IS NULL;",
        )?;
        connection.set_prepared_statement_cache_capacity(64);
        Ok(Store {
            connection: Mutex::new(connection),
            _lock: lock,
        })
    }
}
