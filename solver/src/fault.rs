//! Faults of a document: where, what was seen, and what would mend it.

use std::fmt;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// What kind of fault it is; the kebab-case name is stable and may be relied on by programs.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum FaultCode {
    /// The text is not JSON.
    JsonSyntax,
    /// A field that the document does not have.
    UnknownField,
    /// A field that must be there is not.
    MissingField,
    /// A value of the wrong kind, such as a text where a list belongs.
    WrongKind,
    /// A number or text that cannot be read as a length, scale or price.
    UnreadableNumber,
    /// A number below or above what is accepted.
    OutOfRange,
    /// A word that is not among those accepted.
    UnknownWord,
    /// An id that names nothing in the scenario.
    UnknownId,
    /// Two things of one kind share an id.
    DuplicateId,
    /// Two fields that exclude each other, or one that needs another.
    Conflict,
    /// A field or frame smaller than what lies in it.
    TooSmall,
    /// There is no strip to stitch.
    NothingToStitch,
    /// A strip that no covering and no hoop can take.
    CannotBeStitched,
    /// A wish that cannot be kept, by itself or beside others.
    ContradictingWishes,
    /// A plan that breaks a rule.
    BrokenPlan,
    /// More faults than are listed.
    More,
}

impl FaultCode {
    /// The stable name, as it is written in JSON.
    pub fn name(self) -> &'static str {
        match self {
            FaultCode::JsonSyntax => "json-syntax",
            FaultCode::UnknownField => "unknown-field",
            FaultCode::MissingField => "missing-field",
            FaultCode::WrongKind => "wrong-kind",
            FaultCode::UnreadableNumber => "unreadable-number",
            FaultCode::OutOfRange => "out-of-range",
            FaultCode::UnknownWord => "unknown-word",
            FaultCode::UnknownId => "unknown-id",
            FaultCode::DuplicateId => "duplicate-id",
            FaultCode::Conflict => "conflict",
            FaultCode::TooSmall => "too-small",
            FaultCode::NothingToStitch => "nothing-to-stitch",
            FaultCode::CannotBeStitched => "cannot-be-stitched",
            FaultCode::ContradictingWishes => "contradicting-wishes",
            FaultCode::BrokenPlan => "broken-plan",
            FaultCode::More => "more",
        }
    }
}

/// One fault of a document.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize, JsonSchema)]
pub struct Fault {
    /// Where it is: a JSON Pointer (RFC 6901) into the document; empty for the document itself.
    pub pointer: String,
    /// The kind of fault; stable.
    pub code: FaultCode,
    /// What was seen there, in a sentence.
    pub message: String,
    /// What would mend it, in a sentence.
    pub mend: String,
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let place = match self.pointer.as_str() {
            "" => "the document",
            pointer => pointer,
        };
        write!(f, "{place}: {} {}", self.message, self.mend)
    }
}

/// The most faults that one answer lists; one more says how many were left out.
const MOST_LISTED: usize = 200;

/// The faults found so far, in the order in which they were found.
#[derive(Default, Debug)]
pub struct FaultList {
    listed: Vec<Fault>,
    left_out: usize,
}

impl FaultList {
    /// Adds a fault, or counts it where the list is already long.
    pub fn add(
        &mut self,
        pointer: impl Into<String>,
        code: FaultCode,
        message: impl Into<String>,
        mend: impl Into<String>,
    ) {
        if self.listed.len() == MOST_LISTED {
            self.left_out += 1;
            return;
        }
        self.listed.push(Fault {
            pointer: pointer.into(),
            code,
            message: message.into(),
            mend: mend.into(),
        });
    }

    /// Whether nothing is wrong so far.
    pub fn is_empty(&self) -> bool {
        self.listed.is_empty()
    }

    /// The list, closed by a line that counts what it leaves out.
    pub fn into_faults(self) -> Vec<Fault> {
        let mut faults = self.listed;
        if self.left_out > 0 {
            faults.push(Fault {
                pointer: String::new(),
                code: FaultCode::More,
                message: format!("{} more faults are not listed.", self.left_out),
                mend: "Mend those above first.".into(),
            });
        }
        faults
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn json_names_are_the_stable_names() {
        for code in [
            FaultCode::JsonSyntax,
            FaultCode::UnknownId,
            FaultCode::CannotBeStitched,
        ] {
            assert_eq!(serde_json::json!(code), serde_json::json!(code.name()));
        }
    }
}
