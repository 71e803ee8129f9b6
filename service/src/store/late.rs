//! Late plans: what takes longer than its client waits for is stored, and goes on.

use rusqlite::{OptionalExtension, Transaction, params};

use super::{Seconds, Store, StoreError, count};

/// A plan that is asked for.
#[derive(Debug)]
pub struct LatePlan {
    /// Its name, made from the options and the scenario's text.
    pub id: String,
    /// The options (JSON).
    pub told: String,
    /// The scenario as it was sent.
    pub scenario: Vec<u8>,
}

/// What a late plan ended with.
#[derive(PartialEq, Eq, Debug)]
pub enum LateEnd {
    /// The plan document.
    Plan(Vec<u8>),
    /// Why there is none (JSON).
    Problem(String),
}

/// How far a late plan is.
#[derive(PartialEq, Eq, Debug)]
pub enum LateState {
    /// It is worked on, or waits.
    Open,
    /// It ended: what was sent, and what came of it.
    Closed(Vec<u8>, LateEnd),
}

impl Store {
    /// Accepts a plan that is being made as one that is late. Says whether there was room for it: a client has so many at most.
    ///
    /// # Errors
    /// See [`StoreError`]; it is not accepted then.
    pub fn accept_late(
        &self,
        client: &str,
        late: &LatePlan,
        most_each: usize,
        now: Seconds,
    ) -> Result<bool, StoreError> {
        let mut connection = self.connection();
        let transaction = connection.transaction()?;
        let open: i64 = transaction.query_row(
            "SELECT count(*) FROM late_plan WHERE client = ?1 AND closed IS NULL AND id <> ?2",
            [client, &late.id],
            |row| row.get(0),
        )?;
        if open >= count(most_each) {
            return Ok(false);
        }
        transaction.execute(
            "INSERT INTO late_plan (id, client, told, scenario, accepted) VALUES (?1, ?2, ?3, ?4, ?5)
             ON CONFLICT (id) DO UPDATE SET claimed = 1, accepted = ?5, closed = NULL, plan = NULL, problem = NULL
             WHERE closed IS NOT NULL",
            params![late.id, client, late.told, late.scenario, now],
        )?;
        transaction.commit()?;
        Ok(true)
    }

    /// Finishes a late plan. Says whether that was still open.
    ///
    /// # Errors
    /// See [`StoreError`]; it is not finished then.
    pub fn finish_late(&self, id: &str, end: &LateEnd, now: Seconds) -> Result<bool, StoreError> {
        let (plan, problem) = match end {
            LateEnd::Plan(plan) => (Some(plan), None),
            LateEnd::Problem(problem) => (None, Some(problem)),
        };
        let finished = self.connection().execute(
            "UPDATE late_plan SET claimed = 0, closed = ?2, plan = ?3, problem = ?4
             WHERE id = ?1 AND closed IS NULL",
            params![id, now, plan, problem],
        )?;
        Ok(finished == 1)
    }

    /// How far the late plan of that name is; `None` where there is none.
    ///
    /// # Errors
    /// See [`StoreError`].
    pub fn late(&self, id: &str) -> Result<Option<LateState>, StoreError> {
        let found = self
            .connection()
            .prepare_cached("SELECT scenario, closed, plan, problem FROM late_plan WHERE id = ?1")?
            .query_row([id], |row| {
                let closed: Option<Seconds> = row.get(1)?;
                if closed.is_none() {
                    return Ok(LateState::Open);
                }
                let end = match row.get::<_, Option<Vec<u8>>>(2)? {
                    Some(plan) => LateEnd::Plan(plan),
                    None => LateEnd::Problem(row.get(3)?),
                };
                Ok(LateState::Closed(row.get(0)?, end))
            })
            .optional()?;
        Ok(found)
    }
}

/// Claims the late plan that waits longest.
pub(super) fn claim(transaction: &Transaction<'_>) -> Result<Option<LatePlan>, StoreError> {
    let next = transaction
        .prepare_cached(
            "SELECT id, told, scenario FROM late_plan
             WHERE closed IS NULL AND claimed = 0 ORDER BY accepted, id LIMIT 1",
        )?
        .query_row([], |row| {
            Ok(LatePlan {
                id: row.get(0)?,
                told: row.get(1)?,
                scenario: row.get(2)?,
            })
        })
        .optional()?;
    if let Some(late) = &next {
        transaction.execute("UPDATE late_plan SET claimed = 1 WHERE id = ?1", [&late.id])?;
    }
    Ok(next)
}
