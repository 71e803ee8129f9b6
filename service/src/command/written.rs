//! In which form an answer is given, and where it goes.

use std::io::{self, IsTerminal, Write};

use crate::arguments::{Format, Output};
use crate::command::{Exit, fail, write_result};
use crate::files::{Folder, Target};
use crate::question::{Question, Unprinted, as_json};

/// An answer as it is written.
pub(super) enum Written {
    /// One text or document.
    Whole(Vec<u8>),
    /// Several, each with the name of its file.
    Files(Vec<(String, Vec<u8>)>),
}

impl Written {
    /// Writes an answer in the form that is asked for.
    ///
    /// # Errors
    /// This answer has no such form.
    pub(super) fn of<Q: Question>(
        question: &Q,
        asked: &Q::Asked,
        answer: &Q::Answer,
        output: &Output,
    ) -> Result<Written, String> {
        let whole = match output.format {
            Format::Text => question.words(asked, answer).into_bytes(),
            Format::Json => as_json(answer).map_err(|error| error.to_string())?,
            Format::Html => question.page(asked, answer)?,
            Format::Csv => question.cut_list(asked, answer)?,
            Format::Pdf => question
                .print(asked, answer, output.paper)
                .map_err(unprinted)?,
            Format::Svg => return question.pictures(asked, answer).map(Written::Files),
        };
        Ok(Written::Whole(whole))
    }
}

/// What is said where an answer is not printed.
fn unprinted(why: Unprinted) -> String {
    match why {
        Unprinted::TooLong(seen) => {
            format!("{seen}; take --format html, and print what is needed from a browser")
        }
        Unprinted::Impossible(why) => why,
    }
}

/// Where an answer goes: looked over before the work, written to after it.
pub(super) enum Place {
    /// Standard output.
    Standard,
    /// A file.
    File(Target),
    /// Files in a folder.
    Folder(Folder),
}

impl Place {
    /// The place that is asked for.
    ///
    /// # Errors
    /// A sentence that says why nothing can be written there, and what would do.
    pub(super) fn of(output: &Output) -> Result<Place, String> {
        if output.paper.is_some() && output.format != Format::Pdf {
            return Err(
                "--paper says what a PDF is printed on: take it with --format pdf only.".into(),
            );
        }
        match (output.format, output.out.as_deref()) {
            (Format::Svg, Some(path)) => Folder::new(path).map(Place::Folder),
            (Format::Svg, None) => Err(
                "The pictures are files of their own: say with --out into which folder they go."
                    .into(),
            ),
            (_, Some(path)) => Target::new(path).map(Place::File),
            (Format::Pdf, None) if io::stdout().is_terminal() => {
                Err("A PDF is no text for a terminal: say with --out which file it goes to.".into())
            }
            (_, None) => Ok(Place::Standard),
        }
    }

    /// Writes the answer there.
    pub(super) fn put(&self, written: &Written, out: &mut dyn Write, err: &mut dyn Write) -> Exit {
        let done = match (self, written) {
            (Place::Standard, Written::Whole(bytes)) => return write_result(bytes, out, err),
            (Place::File(target), Written::Whole(bytes)) => target.write(bytes),
            (Place::Folder(folder), Written::Files(files)) => folder.write(files),
            (Place::Folder(_), Written::Whole(_)) | (_, Written::Files(_)) => {
                Err("This program wrote something else than it was asked for.".into())
            }
        };
        match done {
            Ok(()) => Exit::Done,
            Err(reason) => fail(err, &reason),
        }
    }
}
