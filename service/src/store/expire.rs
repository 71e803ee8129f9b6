//! Results go when they are old enough.

use rusqlite::params;

use super::{Seconds, Store, StoreError};

/// So many pages of the file are given back at once: each has 4 KiB.
const PAGES: u32 = 2000;

impl Store {
    /// Removes the oldest batch and the late plans that were closed before this time. Says whether there may be more: one batch at a
    /// time, so that others are not held up for long.
    ///
    /// # Errors
    /// See [`StoreError`].
    pub fn expire(&self, closed_before: Seconds) -> Result<bool, StoreError> {
        let connection = self.connection();
        let batches = connection.execute(
            "DELETE FROM batch WHERE number =
                 (SELECT number FROM batch WHERE closed < ?1 ORDER BY closed LIMIT 1)",
            params![closed_before],
        )?;
        connection.execute(
            "DELETE FROM late_plan WHERE closed < ?1",
            params![closed_before],
        )?;
        if batches == 0 {
            connection.execute(
                "DELETE FROM client WHERE NOT EXISTS (SELECT 1 FROM batch WHERE batch.client = client.name)",
                [],
            )?;
        }
        connection.execute_batch(&format!("PRAGMA incremental_vacuum({PAGES})"))?;
        Ok(batches > 0)
    }
}
