//! What a client would rather have: the `Prefer` field (RFC 7240).

use std::time::Duration;

use axum::http::{HeaderMap, HeaderName, HeaderValue};

/// The field's name; `http` has no constant for it.
pub(super) const PREFER: HeaderName = HeaderName::from_static("prefer");
/// That a preference was kept to (section 3).
pub(super) const PREFERENCE_APPLIED: HeaderName = HeaderName::from_static("preference-applied");

/// A preference about how long an answer may take.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Wait(pub(super) Duration);

impl Wait {
    /// How long the client would wait: `wait=N` in seconds (section 4.3); not at all with `respond-async` alone (section 4.1). What cannot
    /// be read is passed over, as the RFC asks; of several the first counts (section 2).
    pub(super) fn wanted(headers: &HeaderMap) -> Option<Wait> {
        let mut wait = None;
        let mut at_once = false;
        let lines = headers.get_all(PREFER).iter();
        let lines = lines.filter_map(|line| line.to_str().ok());
        for preference in lines.flat_map(|line| line.split(',')) {
            // Parameters after a semicolon say nothing about these two.
            let preference = preference.split(';').next().unwrap_or_default();
            let (name, value) = preference.split_once('=').unwrap_or((preference, ""));
            let (name, value) = (name.trim(), value.trim().trim_matches('"'));
            if name.eq_ignore_ascii_case("respond-async") {
                at_once = true;
            } else if name.eq_ignore_ascii_case("wait") && wait.is_none() {
                wait = seconds(value);
            }
        }
        wait.or(at_once.then_some(Duration::ZERO)).map(Wait)
    }

    /// What tells the client that it was kept to.
    pub(super) fn applied(self) -> Option<HeaderValue> {
        HeaderValue::try_from(format!("wait={}", self.0.as_secs())).ok()
    }
}

/// A number of seconds (RFC 9111, section 1.2.2): a larger one than can be read is as good as the largest.
fn seconds(value: &str) -> Option<Duration> {
    let digits = !value.is_empty() && value.bytes().all(|digit| digit.is_ascii_digit());
    digits.then(|| Duration::from_secs(value.parse::<u32>().unwrap_or(u32::MAX).into()))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn wanted(lines: &[&'static str]) -> Option<u64> {
        let mut headers = HeaderMap::new();
        for line in lines {
            headers.append(PREFER, HeaderValue::from_static(line));
        }
        Wait::wanted(&headers).map(|Wait(wait)| wait.as_secs())
    }

    #[test]
    fn a_wait_is_read_wherever_it_stands() {
        assert_eq!(wanted(&[]), None);
        assert_eq!(wanted(&["wait=10"]), Some(10));
        assert_eq!(wanted(&["respond-async, wait=10"]), Some(10));
        assert_eq!(wanted(&["respond-async", "WAIT = \"7\"; x=1"]), Some(7));
        assert_eq!(wanted(&["Respond-Async"]), Some(0));
        assert_eq!(wanted(&["wait=1, wait=2"]), Some(1));
        assert_eq!(wanted(&["wait=0"]), Some(0));
        assert_eq!(
            wanted(&["wait=99999999999999999999"]),
            Some(u32::MAX.into())
        );
        for nothing in ["wait", "wait=", "wait=-1", "wait=1.5", "return=minimal", ""] {
            assert_eq!(wanted(&[nothing]), None, "{nothing}");
        }
    }
}
