//! The questions that are answered: each the same over the command line and over HTTP.
//!
//! A question reads its document, asks one function of the solver, and gives an answer that can be written as a document for
//! programs and in words for a person.

mod comparison;
mod explanation;
mod fit;
mod plan;
mod replan;

pub use comparison::Comparing;
pub use explanation::Explaining;
pub use fit::Coping;
pub use plan::Planning;
pub use replan::Replanning;

use std::time::Duration;

use sashwright_solver::deadline::{Deadline, StopSignal};
use sashwright_solver::fault::Fault;
use serde::Serialize;

use crate::arguments::Paper;
use crate::solve::Refusal;

/// Why an answer is not printed.
#[derive(Debug)]
pub enum Unprinted {
    /// It has too much text for a PDF: how much there is, and how much would do.
    TooLong(String),
    /// There are no sheets of it, or they cannot be printed.
    Impossible(String),
}

/// A question about a document.
pub trait Question: Send + 'static {
    /// What the document says.
    type Asked: Send;
    /// The answer, a document too.
    type Answer: Serialize + Send;

    /// The names of the documents that it is about. Where they are several, they come as the fields of one.
    fn documents(&self) -> &'static [&'static str] {
        &["scenario"]
    }

    /// Reads the document.
    ///
    /// # Errors
    /// Every fault of it, at least one.
    fn read(&self, document: &[u8]) -> Result<Self::Asked, Vec<Fault>>;

    /// How long the answer may take.
    fn limit(&self, asked: &Self::Asked) -> Duration;

    /// Answers by the deadline.
    ///
    /// # Errors
    /// See [`Refusal`].
    fn answer(&self, asked: &Self::Asked, deadline: &Deadline) -> Result<Self::Answer, Refusal>;

    /// The answer in words for a person.
    fn words(&self, asked: &Self::Asked, answer: &Self::Answer) -> String;

    /// The answer as sheets to print, one HTML page.
    ///
    /// # Errors
    /// There are none of this answer.
    fn page(&self, _: &Self::Asked, _: &Self::Answer) -> Result<Vec<u8>, String> {
        Err("there are sheets of a plan only; take --format text or json here".into())
    }

    /// The answer as sheets to print, one PDF, for the paper that is told.
    ///
    /// # Errors
    /// See [`Unprinted`].
    fn print(
        &self,
        _: &Self::Asked,
        _: &Self::Answer,
        _: Option<Paper>,
    ) -> Result<Vec<u8>, Unprinted> {
        let only = "there are sheets of a plan only; take --format text or json here";
        Err(Unprinted::Impossible(only.into()))
    }

    /// The pictures of the answer's sheets, each with the name of its file.
    ///
    /// # Errors
    /// There are none of this answer.
    fn pictures(
        &self,
        _: &Self::Asked,
        _: &Self::Answer,
    ) -> Result<Vec<(String, Vec<u8>)>, String> {
        Err("there are pictures of a plan only; take --format text or json here".into())
    }

    /// The answer's cut list (RFC 4180).
    ///
    /// # Errors
    /// There is none of this answer, or it cannot be written.
    fn cut_list(&self, _: &Self::Asked, _: &Self::Answer) -> Result<Vec<u8>, String> {
        Err("there is a cut list of a plan only; take --format text or json here".into())
    }
}

/// Reads a document and answers the question about it. The time limit begins once the document is read.
///
/// # Errors
/// See [`Refusal`].
pub fn ask<Q: Question>(
    question: &Q,
    document: &[u8],
    stop: StopSignal,
) -> Result<(Q::Asked, Q::Answer), Refusal> {
    let asked = question.read(document).map_err(Refusal::Faulty)?;
    let deadline = Deadline::after(question.limit(&asked), stop);
    let answer = question.answer(&asked, &deadline)?;
    Ok((asked, answer))
}

/// An answer's document as it is given out: indented JSON, and a line end.
///
/// # Errors
/// An answer that cannot be written as JSON, which would be an error of this program.
pub fn as_json<A: Serialize>(answer: &A) -> Result<Vec<u8>, serde_json::Error> {
    let mut bytes = serde_json::to_vec_pretty(answer)?;
    bytes.push(b'\n');
    Ok(bytes)
}
