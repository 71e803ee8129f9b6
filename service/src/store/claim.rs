//! Claiming work, in an order that is fair to all who wait, and finishing it once.

use rusqlite::{OptionalExtension, Transaction, params};

use super::late::LatePlan;
use super::{Seconds, Store, StoreError};

/// Work that was claimed.
#[derive(Debug)]
pub enum Work {
    /// A plan whose client was told to come again for it.
    Late(LatePlan),
    /// A question of a batch.
    Question(Question),
    /// What came of a batch is to be added up: its number in the store.
    Adding(i64),
}

/// A question of a batch.
#[derive(Debug)]
pub struct Question {
    /// The batch's number in the store.
    pub batch: i64,
    /// The batch's id.
    pub batch_id: String,
    /// The question's number in the batch, from 1.
    pub number: i64,
    /// The scenario document.
    pub scenario: String,
}

/// How a question ended.
pub struct Ended {
    /// In a few figures (JSON).
    pub outcome: String,
    /// The plan document (JSON), where there is one.
    pub plan: Option<String>,
}

impl Store {
    /// Claims what is next: late plans first, as somebody will soon come again for them; then, of the clients who wait, the one
    /// who waits longest; of its batches the one that waits longest; and of that the next question.
    ///
    /// # Errors
    /// See [`StoreError`]; nothing is claimed then.
    pub fn claim(&self) -> Result<Option<Work>, StoreError> {
        let mut connection = self.connection();
        let transaction = connection.transaction()?;
        let mut work = super::late::claim(&transaction)?.map(Work::Late);
        if work.is_none() {
            work = claim_of_batch(&transaction)?;
        }
        transaction.commit()?;
        Ok(work)
    }

    /// Finishes a question. Says whether that was still open: what was finished or cancelled before stays as it is.
    ///
    /// # Errors
    /// See [`StoreError`]; nothing is finished then.
    pub fn finish(&self, batch: i64, question: i64, ended: &Ended) -> Result<bool, StoreError> {
        let mut connection = self.connection();
        let transaction = connection.transaction()?;
        let stored = transaction.execute(
            "UPDATE question SET claimed = 0, outcome = ?3, plan = ?4,
                 place = (SELECT ended + 1 FROM batch WHERE batch.number = ?1)
             WHERE batch = ?1 AND number = ?2 AND place IS NULL
                 AND EXISTS (SELECT 1 FROM batch WHERE batch.number = ?1 AND state = 'open')",
            params![batch, question, ended.outcome, ended.plan],
        )?;
        if stored == 1 {
            transaction.execute(
                "UPDATE batch SET ended = ended + 1, planned = planned + ?2,
                     state = iif(ended + 1 = questions, 'adding', state)
                 WHERE number = ?1",
                params![batch, ended.plan.is_some()],
            )?;
        }
        transaction.commit()?;
        Ok(stored == 1)
    }

    /// Finishes a batch with what it adds up to (JSON). Says whether that was still open.
    ///
    /// # Errors
    /// See [`StoreError`]; nothing is finished then.
    pub fn finish_batch(
        &self,
        batch: i64,
        summary: &str,
        now: Seconds,
    ) -> Result<bool, StoreError> {
        let finished = self.connection().execute(
            "UPDATE batch SET state = 'finished', claimed = 0, summary = ?2, closed = ?3
             WHERE number = ?1 AND state = 'adding'",
            params![batch, summary, now],
        )?;
        Ok(finished == 1)
    }

    /// Puts work back that was claimed and not done: it is next again.
    ///
    /// # Errors
    /// See [`StoreError`].
    pub fn put_back(&self, work: &Work) -> Result<(), StoreError> {
        let connection = self.connection();
        match work {
            Work::Late(late) => connection.execute(
                "UPDATE late_plan SET claimed = 0 WHERE id = ?1 AND closed IS NULL",
                [&late.id],
            ),
            Work::Question(question) => connection.execute(
                "UPDATE question SET claimed = 0 WHERE batch = ?1 AND number = ?2 AND place IS NULL",
                params![question.batch, question.number],
            ),
            Work::Adding(batch) => {
                connection.execute("UPDATE batch SET claimed = 0 WHERE number = ?1", [batch])
            }
        }?;
        Ok(())
    }

    /// Cancels a batch that is not finished: what is done of it stays, nothing more is claimed.
    ///
    /// # Errors
    /// See [`StoreError`]; nothing is cancelled then.
    pub fn cancel(&self, id: &str, now: Seconds) -> Result<bool, StoreError> {
        let cancelled = self.connection().execute(
            "UPDATE batch SET state = 'cancelled', closed = ?2 WHERE id = ?1 AND closed IS NULL",
            params![id, now],
        )?;
        Ok(cancelled == 1)
    }
}

fn claim_of_batch(transaction: &Transaction<'_>) -> Result<Option<Work>, StoreError> {
    let next = transaction
        .prepare_cached(
            "SELECT batch.number, batch.id, batch.client, batch.state = 'adding'
             FROM batch JOIN client ON client.name = batch.client
             WHERE batch.closed IS NULL AND ((batch.state = 'adding' AND batch.claimed = 0)
                 OR (batch.state = 'open' AND EXISTS (
                     SELECT 1 FROM question WHERE question.batch = batch.number
                         AND question.place IS NULL AND question.claimed = 0)))
             ORDER BY client.served, batch.served, batch.number LIMIT 1",
        )?
        .query_row([], |row| {
            Ok((
                row.get::<_, i64>(0)?,
                row.get::<_, String>(1)?,
                row.get::<_, String>(2)?,
                row.get::<_, bool>(3)?,
            ))
        })
        .optional()?;
    let Some((batch, batch_id, client, adding)) = next else {
        return Ok(None);
    };
    let turn: i64 = transaction.query_row(
        "SELECT coalesce(max(served), 0) + 1 FROM client",
        [],
        |row| row.get(0),
    )?;
    transaction.execute(
        "UPDATE client SET served = ?2 WHERE name = ?1",
        params![client, turn],
    )?;
    transaction.execute(
        "UPDATE batch SET served = ?2, claimed = ?3 WHERE number = ?1",
        params![batch, turn, adding],
    )?;
    if adding {
        return Ok(Some(Work::Adding(batch)));
    }
    let (number, scenario) = transaction
        .prepare_cached(
            "SELECT number, scenario FROM question
             WHERE batch = ?1 AND place IS NULL AND claimed = 0 ORDER BY number LIMIT 1",
        )?
        .query_row([batch], |row| Ok((row.get(0)?, row.get(1)?)))?;
    transaction.execute(
        "UPDATE question SET claimed = 1 WHERE batch = ?1 AND number = ?2",
        params![batch, number],
    )?;
    Ok(Some(Work::Question(Question {
        batch,
        batch_id,
        number,
        scenario,
    })))
}
