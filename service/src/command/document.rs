//! Documents in files: a scenario or a plan in a file of its own, or inside the answer to what now, which holds both.

use std::path::Path;

use serde_json::Value;

use crate::files;

/// A field that only the answer to what now has.
const OF_ANSWER: &str = "hoopings_left";

/// The document of this name, such as `scenario`: what the file holds, or, where that is an answer to what now, the part of it. So
/// the next question starts from an answer as it was written.
///
/// # Errors
/// As [`files::read`].
pub(super) fn read(path: &Path, name: &str) -> Result<Vec<u8>, String> {
    let bytes = files::read(path)?;
    Ok(part(&bytes, name).unwrap_or(bytes))
}

/// The part of an answer; `None` where this is none, or has no such part.
fn part(bytes: &[u8], name: &str) -> Option<Vec<u8>> {
    // Large documents that are no answers are not read twice.
    std::str::from_utf8(bytes)
        .ok()?
        .contains(OF_ANSWER)
        .then_some(())?;
    let answer: Value = serde_json::from_slice(bytes).ok()?;
    answer.get(OF_ANSWER)?;
    let part = answer.get(name).filter(|part| part.is_object())?;
    Some(part.to_string().into_bytes())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_an_answer_is_taken_apart() {
        let answer = br#"{"format": 1, "hoopings_left": 2, "scenario": {"name": "left", "x": 0.1}, "plan": {"name": "of it"}}"#;
        let found =
            |text: &[u8], name| part(text, name).map(|part| String::from_utf8(part).expect("text"));
        assert_eq!(
            found(answer, "scenario").as_deref(),
            Some(r#"{"name":"left","x":0.1}"#)
        );
        assert_eq!(
            found(answer, "plan").as_deref(),
            Some(r#"{"name":"of it"}"#)
        );
        assert_eq!(found(answer, "progress"), None);
        let others = [
            r#"{"name": "hoopings_left", "plan": {}}"#,
            r#"{"plan": {}}"#,
            "hoopings_left",
            "",
        ];
        for other in others {
            assert_eq!(found(other.as_bytes(), "plan"), None, "{other}");
        }
    }
}
