//! Accepting a batch: whole, or not at all, and the same one once.

use rusqlite::{OptionalExtension, Transaction, params};
use sashwright_solver::batch::Batch;

use super::{Seconds, Store, StoreError, count, random_name};
use crate::batch::{Ending, Outcome};

/// The hash of what was sent.
pub type Body = [u8; 32];

/// What is to be accepted.
pub struct NewBatch<'a> {
    /// Who asks.
    pub client: &'a str,
    /// The Idempotency-Key that it is sent with.
    pub key: Option<&'a str>,
    /// The hash of what was sent.
    pub body: Body,
    /// What was read.
    pub batch: &'a Batch,
    /// When.
    pub now: Seconds,
}

/// How much may wait.
#[derive(Clone, Copy, Debug)]
pub struct Room {
    /// Batches of one client that are not finished.
    pub batches_each: usize,
    /// Questions, of all clients together, that have not ended.
    pub questions: usize,
}

/// What became of it.
#[derive(PartialEq, Eq, Debug)]
pub enum Accepted {
    /// It is accepted under this id.
    New(String),
    /// It was accepted before, with the same key, under this id.
    Before(String),
    /// Something else was accepted with this key.
    OtherBody,
    /// The client has as many batches as it may have.
    TooManyOfClient,
    /// Too many questions wait.
    Full,
}

impl Store {
    /// Accepts a batch.
    ///
    /// # Errors
    /// See [`StoreError`]; nothing is accepted then.
    pub fn accept(&self, new: &NewBatch<'_>, room: Room) -> Result<Accepted, StoreError> {
        let id = random_name()?;
        let mut connection = self.connection();
        let transaction = connection.transaction()?;
        if let Some(before) = accepted_before(&transaction, new)? {
            return Ok(before);
        }
        let open: i64 = transaction.query_row(
            "SELECT count(*) FROM batch WHERE client = ?1 AND closed IS NULL",
            [new.client],
            |row| row.get(0),
        )?;
        if open >= count(room.batches_each) {
            return Ok(Accepted::TooManyOfClient);
        }
        let waiting: i64 = transaction.query_row(
            "SELECT coalesce(sum(questions - ended), 0) FROM batch WHERE closed IS NULL",
            [],
            |row| row.get(0),
        )?;
        let questions = count(new.batch.questions.len());
        if waiting.saturating_add(questions) > count(room.questions) {
            return Ok(Accepted::Full);
        }
        insert(&transaction, new, &id)?;
        transaction.commit()?;
        Ok(Accepted::New(id))
    }
}

/// What was accepted with the same key.
fn accepted_before(
    transaction: &Transaction<'_>,
    new: &NewBatch<'_>,
) -> Result<Option<Accepted>, StoreError> {
    let Some(key) = new.key else {
        return Ok(None);
    };
    let found = transaction
        .query_row(
            "SELECT id, body FROM batch WHERE client = ?1 AND idempotency_key = ?2",
            [new.client, key],
            |row| Ok((row.get::<_, String>(0)?, row.get::<_, Body>(1)?)),
        )
        .optional()?;
    Ok(found.map(|(id, body)| {
        if body == new.body {
            Accepted::Before(id)
        } else {
            Accepted::OtherBody
        }
    }))
}

fn insert(transaction: &Transaction<'_>, new: &NewBatch<'_>, id: &str) -> Result<(), StoreError> {
    let batch = new.batch;
    transaction.execute(
        "INSERT OR IGNORE INTO client (name) VALUES (?1)",
        [new.client],
    )?;
    let copies = batch.rows.iter().filter_map(|row| batch.kits.get(row.kit));
    let copies = copies.fold(0_u64, |sum, kit| sum.saturating_add(kit.copies));
    let faulty = batch
        .questions
        .iter()
        .filter(|asked| !asked.faults.is_empty());
    let faulty = faulty.count();
    let state = match faulty == batch.questions.len() {
        true => "adding",
        false => "open",
    };
    transaction.execute(
        "INSERT INTO batch (id, client, idempotency_key, body, name, rows, copies, questions, ended, state, accepted, shared)
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12)",
        params![
            id,
            new.client,
            new.key,
            new.body,
            batch.name,
            count(batch.rows.len()),
            i64::try_from(copies).unwrap_or(i64::MAX),
            count(batch.questions.len()),
            count(faulty),
            state,
            new.now,
            batch.share_across_kits,
        ],
    )?;
    let number = transaction.last_insert_rowid();
    let mut statement = transaction.prepare_cached(
        "INSERT INTO question (batch, number, scenario, copies, place, outcome) VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
    )?;
    let mut place = 0_i64;
    for (question, asked) in (1_i64..).zip(&batch.questions) {
        let mut ended = (None, None);
        if !asked.faults.is_empty() {
            place += 1;
            let outcome = Outcome::without_plan(Ending::Faulty, asked.faults.clone());
            ended = (Some(place), Some(serde_json::to_string(&outcome)?));
        }
        let copies = i64::try_from(asked.copies).unwrap_or(i64::MAX);
        statement.execute(params![
            number,
            question,
            asked.scenario,
            copies,
            ended.0,
            ended.1
        ])?;
    }
    let mut statement = transaction.prepare_cached(
        "INSERT INTO kit (batch, number, id, hoop_set, copies, labels, question) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
    )?;
    for (row, of) in (1_i64..).zip(&batch.rows) {
        let Some(kit) = batch.kits.get(of.kit) else {
            continue;
        };
        statement.execute(params![
            number,
            row,
            kit.id,
            of.hoop_set,
            i64::try_from(kit.copies).unwrap_or(i64::MAX),
            serde_json::to_string(&kit.labels)?,
            count(of.question) + 1,
        ])?;
    }
    Ok(())
}
