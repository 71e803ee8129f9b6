//! What the store tells of batches: how far they are, what came of them, page by page.

use rusqlite::{OptionalExtension, Row, ToSql, params};

use super::{Seconds, Store, StoreError, count, natural};

/// How far a batch is.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum State {
    /// Questions are left.
    Open,
    /// All have ended and are added up.
    Adding,
    /// Everything is there.
    Finished,
    /// It was cancelled: what was done before is there.
    Cancelled,
}

/// What is told of a batch.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct BatchState {
    /// Its number in the store.
    pub number: i64,
    /// Its id.
    pub id: String,
    /// Its name.
    pub name: String,
    /// Who sent it.
    pub client: String,
    /// Whether strips of different kits may meet in a hooping: then each plan is followed once, whatever copies are in it.
    pub shared: bool,
    /// Kits, each once for each of its hoop sets.
    pub rows: i64,
    /// Their copies.
    pub copies: i64,
    /// Different questions.
    pub questions: i64,
    /// Questions that have ended.
    pub ended: i64,
    /// Those among them that have a plan.
    pub planned: i64,
    /// How far it is.
    pub state: State,
    /// When it was accepted.
    pub accepted: Seconds,
    /// When it was finished or cancelled.
    pub closed: Option<Seconds>,
    /// What it adds up to (JSON), once it is finished.
    pub summary: Option<String>,
}

/// How a question ended.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct ResultRow {
    /// Its place in the order in which questions ended, from 1.
    pub place: i64,
    /// Its number in the batch, from 1.
    pub number: i64,
    /// How many copies of the scenario are made.
    pub copies: i64,
    /// How it ended, in a few figures (JSON).
    pub outcome: String,
}

/// What was accepted and is not done.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Load {
    /// Batches that are not finished.
    pub batches: u64,
    /// Questions of theirs that have not ended.
    pub questions: u64,
    /// Late plans that have not ended.
    pub late: u64,
}

/// A kit with one of its hoop sets.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct KitRow {
    /// Its number among these, from 1.
    pub number: i64,
    /// The kit's id.
    pub id: String,
    /// The hoop set's name.
    pub hoop_set: Option<String>,
    /// How many are made.
    pub copies: i64,
    /// The kit's labels (JSON).
    pub labels: String,
    /// The number of its question.
    pub question: i64,
    /// How that ended: the outcome's `status`; `None` while it has not.
    pub status: Option<String>,
}

const OF_A_BATCH: &str = "number, id, name, client, rows, copies, questions, ended, planned, state, accepted, closed, summary, shared";

fn batch_of(row: &Row<'_>) -> rusqlite::Result<BatchState> {
    let state: String = row.get(9)?;
    Ok(BatchState {
        number: row.get(0)?,
        id: row.get(1)?,
        name: row.get(2)?,
        client: row.get(3)?,
        rows: row.get(4)?,
        copies: row.get(5)?,
        questions: row.get(6)?,
        ended: row.get(7)?,
        planned: row.get(8)?,
        state: match state.as_str() {
            "open" => State::Open,
            "adding" => State::Adding,
            "finished" => State::Finished,
            _ => State::Cancelled,
        },
        accepted: row.get(10)?,
        closed: row.get(11)?,
        summary: row.get(12)?,
        shared: row.get(13)?,
    })
}

/// So many rows are read at once where all are.
const PAGE: usize = 1_000;

impl Store {
    /// The batch of that id.
    ///
    /// # Errors
    /// See [`StoreError`], as for all that follow.
    pub fn batch(&self, id: &str) -> Result<Option<BatchState>, StoreError> {
        self.batch_where("id", id)
    }

    /// The batch of that number.
    ///
    /// # Errors
    /// See [`StoreError`].
    pub fn batch_numbered(&self, number: i64) -> Result<Option<BatchState>, StoreError> {
        self.batch_where("number", number)
    }

    fn batch_where(
        &self,
        column: &str,
        value: impl ToSql,
    ) -> Result<Option<BatchState>, StoreError> {
        let sql = format!("SELECT {OF_A_BATCH} FROM batch WHERE {column} = ?1");
        let connection = self.connection();
        let mut statement = connection.prepare_cached(&sql)?;
        Ok(statement.query_row([value], batch_of).optional()?)
    }

    /// How questions of a batch ended, in the order in which they did, at most `most` after this place.
    ///
    /// # Errors
    /// See [`StoreError`].
    pub fn results(
        &self,
        batch: i64,
        after: i64,
        most: usize,
    ) -> Result<Vec<ResultRow>, StoreError> {
        let connection = self.connection();
        let mut statement = connection.prepare_cached(
            "SELECT place, number, copies, outcome FROM question
             WHERE batch = ?1 AND place > ?2 ORDER BY place LIMIT ?3",
        )?;
        let rows = statement.query_map(params![batch, after, count(most)], |row| {
            Ok(ResultRow {
                place: row.get(0)?,
                number: row.get(1)?,
                copies: row.get(2)?,
                outcome: row.get(3)?,
            })
        })?;
        Ok(rows.collect::<Result<_, _>>()?)
    }

    /// Kits of a batch, at most `most` after this number.
    ///
    /// # Errors
    /// See [`StoreError`].
    pub fn kits(&self, batch: i64, after: i64, most: usize) -> Result<Vec<KitRow>, StoreError> {
        let connection = self.connection();
        let mut statement = connection.prepare_cached(
            "SELECT kit.number, kit.id, kit.hoop_set, kit.copies, kit.labels, kit.question, outcome ->> 'status'
             FROM kit JOIN question ON question.batch = kit.batch AND question.number = kit.question
             WHERE kit.batch = ?1 AND kit.number > ?2 ORDER BY kit.number LIMIT ?3",
        )?;
        let rows = statement.query_map(params![batch, after, count(most)], |row| {
            Ok(KitRow {
                number: row.get(0)?,
                id: row.get(1)?,
                hoop_set: row.get(2)?,
                copies: row.get(3)?,
                labels: row.get(4)?,
                question: row.get(5)?,
                status: row.get(6)?,
            })
        })?;
        Ok(rows.collect::<Result<_, _>>()?)
    }

    /// Every kit of a batch, read page by page.
    pub fn every_kit(&self, batch: i64) -> impl Iterator<Item = Result<KitRow, StoreError>> {
        pages(move |after| self.kits(batch, after, PAGE), |row| row.number)
    }

    /// How every question of a batch that has ended did, read page by page.
    pub fn every_result(&self, batch: i64) -> impl Iterator<Item = Result<ResultRow, StoreError>> {
        pages(
            move |after| self.results(batch, after, PAGE),
            |row| row.place,
        )
    }

    /// The scenario of a question, and its plan where there is one.
    ///
    /// # Errors
    /// See [`StoreError`].
    pub fn planned(
        &self,
        batch: i64,
        question: i64,
    ) -> Result<Option<(String, Option<String>)>, StoreError> {
        let connection = self.connection();
        let mut statement = connection.prepare_cached(
            "SELECT scenario, plan FROM question WHERE batch = ?1 AND number = ?2",
        )?;
        let found = statement.query_row([batch, question], |row| Ok((row.get(0)?, row.get(1)?)));
        Ok(found.optional()?)
    }

    /// What was accepted and is not done.
    ///
    /// # Errors
    /// See [`StoreError`].
    pub fn load(&self) -> Result<Load, StoreError> {
        let connection = self.connection();
        let (batches, questions): (i64, i64) = connection
            .prepare_cached(
                "SELECT count(*), coalesce(sum(questions - ended), 0) FROM batch WHERE closed IS NULL",
            )?
            .query_row([], |row| Ok((row.get(0)?, row.get(1)?)))?;
        let late: i64 = connection
            .prepare_cached("SELECT count(*) FROM late_plan WHERE closed IS NULL")?
            .query_row([], |row| row.get(0))?;
        Ok(Load {
            batches: natural(batches),
            questions: natural(questions),
            late: natural(late),
        })
    }
}

/// All rows, of which `read` answers with those after a place, as many as a page has.
fn pages<R>(
    read: impl Fn(i64) -> Result<Vec<R>, StoreError>,
    place: impl Fn(&R) -> i64,
) -> impl Iterator<Item = Result<R, StoreError>> {
    let mut after = Some(0);
    let pages = std::iter::from_fn(move || {
        let page = read(after?);
        after = page.as_ref().ok().and_then(|rows| rows.last()).map(&place);
        Some(match page {
            Ok(rows) => rows.into_iter().map(Ok).collect(),
            Err(error) => vec![Err(error)],
        })
    });
    pages.flatten()
}
