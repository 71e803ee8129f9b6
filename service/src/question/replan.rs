//! What now? A scenario, its plan and the progress in, what is left out.

use std::time::Duration;

use sashwright_solver::deadline::Deadline;
use sashwright_solver::fault::{Fault, FaultCode};
use sashwright_solver::json;
use sashwright_solver::replan::{Asked, DOCUMENTS, Replan, replan};
use serde_json::Value;

use super::Question;
use crate::solve::Refusal;
use crate::text;

/// Asks what is left to do.
#[derive(Clone, Copy, Default, Debug)]
pub struct Replanning {
    /// Whether just the next step is told.
    pub only_next: bool,
}

impl Question for Replanning {
    type Asked = Asked;
    type Answer = Replan;

    fn documents(&self) -> &'static [&'static str] {
        &DOCUMENTS
    }

    fn read(&self, document: &[u8]) -> Result<Asked, Vec<Fault>> {
        let parts = apart(document)?;
        let [scenario, plan, progress] = &parts;
        Asked::read([scenario, plan, progress])
    }

    fn limit(&self, asked: &Asked) -> Duration {
        asked.scenario.time_limit
    }

    fn answer(&self, asked: &Asked, deadline: &Deadline) -> Result<Replan, Refusal> {
        Ok(replan(asked, self.only_next, deadline)?)
    }

    fn words(&self, asked: &Asked, answer: &Replan) -> String {
        text::replan(asked, answer)
    }
}

/// Takes the joint document apart into its three.
fn apart(document: &[u8]) -> Result<[Vec<u8>; 3], Vec<Fault>> {
    let fault = |pointer: &str, code: FaultCode, message: String, mend: &str| Fault {
        pointer: pointer.into(),
        code,
        message,
        mend: mend.into(),
    };
    let wanted =
        "Give an object with the fields \"scenario\", \"plan\" and \"progress\", each a document.";
    let mut fields = match json::read(document) {
        Ok(Value::Object(fields)) => fields,
        Ok(_) => {
            let message = "This is no object with three fields.".to_string();
            return Err(vec![fault("", FaultCode::WrongKind, message, wanted)]);
        }
        Err(error) => {
            let code = if error.is_data() {
                FaultCode::WrongKind
            } else {
                FaultCode::JsonSyntax
            };
            let message = format!("This is not a JSON document with three fields: {error}.");
            return Err(vec![fault("", code, message, wanted)]);
        }
    };
    let mut faults = Vec::new();
    let parts = DOCUMENTS.map(|name| {
        let part = fields.remove(name);
        if part.is_none() {
            let message = format!("The field \"{name}\" is missing here.");
            faults.push(fault("", FaultCode::MissingField, message, wanted));
        }
        part.map(|part| part.to_string().into_bytes())
            .unwrap_or_default()
    });
    for name in fields.keys().take(20) {
        let shown: String = name.chars().take(60).collect();
        let message = format!("There is no field {shown:?} here.");
        faults.push(fault("", FaultCode::UnknownField, message, wanted));
    }
    if faults.is_empty() {
        Ok(parts)
    } else {
        Err(faults)
    }
}
