//! Reading a request body: JSON alone, within bounds of size and time.

use axum::body::{Body, Bytes};
use axum::http::{HeaderMap, header};
use http_body_util::BodyExt;

use super::Service;
use super::problem::{Kind, Problem};

/// How many times the largest body is read and thrown away before the connection is cut. Answering while the client
/// still sends would reset the connection, and the client would see that instead of the answer.
const THROWN_AWAY: usize = 8;

/// The whole body.
///
/// # Errors
/// The problem to answer: no JSON by its headers, too large, too slow, or broken off.
pub(super) async fn read(
    service: &Service,
    headers: &HeaderMap,
    body: Body,
) -> Result<Vec<u8>, Problem> {
    read_up_to(service, headers, body, service.settings.largest_body).await
}

/// The same of a body that may have so many bytes.
pub(super) async fn read_up_to(
    service: &Service,
    headers: &HeaderMap,
    body: Body,
    largest: usize,
) -> Result<Vec<u8>, Problem> {
    let settings = &service.settings;
    let Ok(_reading) = service.bodies.try_acquire() else {
        return Err(Problem::plain(Kind::QueueFull));
    };
    let refused = refusal(headers, largest);
    if refused.is_some() && headers.contains_key(header::EXPECT) {
        // The client waits for leave to send, and does not get it.
        return refused.map_or(Ok(Vec::new()), Err);
    }
    let room = if refused.is_some() { 0 } else { largest };
    let collected = tokio::time::timeout(settings.body_time, collect(body, room, largest));
    match (collected.await, refused) {
        (Ok(_), Some(problem)) => Err(problem),
        (Ok(Ok(bytes)), None) => Ok(bytes),
        (Ok(Err(kind)), None) => Err(Problem::plain(kind)),
        (Err(_), _) => Err(Problem::new(
            Kind::BodyTooSlow,
            format!(
                "The body was not complete after {} s.",
                settings.body_time.as_secs()
            ),
        )),
    }
}

/// What the headers alone are refused for.
fn refusal(headers: &HeaderMap, largest: usize) -> Option<Problem> {
    let text = |name| headers.get(name).and_then(|value| value.to_str().ok());
    let Some(kind) = headers.get(header::CONTENT_TYPE) else {
        return Some(Problem::new(
            Kind::WrongMediaType,
            "The request has no Content-Type. Send application/json.",
        ));
    };
    if !kind.to_str().is_ok_and(is_json) {
        let seen = kind.to_str().unwrap_or("no readable text");
        let seen: String = seen.chars().take(100).collect();
        return Some(Problem::new(
            Kind::WrongMediaType,
            format!("The Content-Type is {seen:?}. Send application/json."),
        ));
    }
    if let Some(coding) = headers.get(header::CONTENT_ENCODING)
        && coding != "identity"
    {
        return Some(Problem::new(
            Kind::WrongMediaType,
            "The body has a Content-Encoding. Send it uncompressed.",
        ));
    }
    let length = text(header::CONTENT_LENGTH).and_then(|length| length.parse::<u64>().ok());
    if length.is_some_and(|length| length > largest as u64) {
        return Some(Problem::new(
            Kind::BodyTooLarge,
            format!("The body has more than {largest} bytes."),
        ));
    }
    None
}

/// `application/json` or any type with the `+json` suffix (RFC 6839), whatever its parameters.
fn is_json(kind: &str) -> bool {
    let kind = kind.split(';').next().unwrap_or_default().trim();
    let kind = kind.to_ascii_lowercase();
    let suffixed = kind
        .split_once('/')
        .is_some_and(|(_, subtype)| subtype.len() > "+json".len() && subtype.ends_with("+json"));
    kind == "application/json" || suffixed
}

/// Collects up to `room` bytes; of a longer body the rest is read and thrown away, within reason.
async fn collect(mut body: Body, room: usize, largest: usize) -> Result<Vec<u8>, Kind> {
    let mut bytes = Vec::new();
    let mut seen = 0_usize;
    while let Some(frame) = body.frame().await {
        let data: Bytes = match frame.map(hyper::body::Frame::into_data) {
            Ok(Ok(data)) => data,
            // Trailers say nothing about the scenario.
            Ok(Err(_)) => continue,
            Err(_) => return Err(Kind::BodyBroken),
        };
        seen = seen.saturating_add(data.len());
        if seen > room {
            bytes = Vec::new();
        } else {
            bytes.extend_from_slice(&data);
        }
        if seen > room && seen > largest.saturating_mul(THROWN_AWAY) {
            break;
        }
    }
    if seen > room {
        return Err(Kind::BodyTooLarge);
    }
    Ok(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn json_is_known_by_type_or_suffix() {
        for kind in [
            "application/json",
            "Application/JSON; charset=utf-8",
            "application/vnd.trial+json",
        ] {
            assert!(is_json(kind), "{kind}");
        }
        for kind in [
            "text/plain",
            "application/jsonp",
            "",
            "+json",
            "application/+json",
            "json",
        ] {
            assert!(!is_json(kind), "{kind}");
        }
    }
}
