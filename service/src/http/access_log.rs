//! One log line for each request, under a name that its answer tells.

use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, LazyLock};
use std::time::{Instant, SystemTime, UNIX_EPOCH};

use axum::body::HttpBody;
use axum::extract::{Request, State};
use axum::http::{HeaderMap, HeaderName, HeaderValue, Method, StatusCode, header};
use axum::middleware::Next;
use axum::response::Response;

use super::client::Client;
use super::{Service, metrics};
use crate::version;

/// The field in which a request and its answer are named (common practice).
pub(super) const REQUEST_ID: HeaderName = HeaderName::from_static("x-request-id");

/// The longest name that a client may give.
const LONGEST_NAME: usize = 64;

/// A request that is being answered; dropped without an answer, its client has gone.
struct Record {
    name: String,
    method: Method,
    path: String,
    route: Option<String>,
    client: Option<Client>,
    begun: Instant,
    answer: Option<Sent>,
}

/// What is told of an answer.
struct Sent {
    status: StatusCode,
    /// Of its body; nothing where that is written as it comes.
    bytes: Option<u64>,
}

impl Drop for Record {
    fn drop(&mut self) {
        let (request, method, path) = (self.name.as_str(), &self.method, self.path.as_str());
        let route = self.route.as_deref();
        let client = self.client.as_ref().map(|client| client.0.as_ref());
        let milliseconds = self.begun.elapsed().as_millis();
        match &self.answer {
            Some(Sent { status, bytes }) => {
                let status = status.as_u16();
                tracing::info!(request, client, %method, path, route, status, bytes, milliseconds, "answered");
            }
            None => {
                tracing::info!(request, client, %method, path, route, milliseconds, "the client has gone");
            }
        }
    }
}

/// Logs the request's name, its client, method, path, route, status, bytes and milliseconds; the answer tells that name, and what answered.
pub(super) async fn log(
    State(service): State<Arc<Service>>,
    request: Request,
    next: Next,
) -> Response {
    let _answering = service.course.answering();
    let name = given_name(request.headers()).unwrap_or_else(new_name);
    let mut record = Record {
        name: name.clone(),
        method: request.method().clone(),
        path: request.uri().path().to_string(),
        route: metrics::route_of(&request),
        client: request.extensions().get::<Client>().cloned(),
        begun: Instant::now(),
        answer: None,
    };
    let mut response = next.run(request).await;
    // Whose key it was is known only now.
    if let Some(client) = response.extensions_mut().remove::<Client>() {
        record.client = Some(client);
    }
    record.answer = Some(Sent {
        status: response.status(),
        bytes: response.body().size_hint().exact(),
    });
    let after = record.begun.elapsed();
    let (route, method) = (record.route.as_deref(), record.method.as_str());
    service
        .metrics
        .answered(route, method, response.status(), after);
    let headers = response.headers_mut();
    if let Ok(name) = HeaderValue::try_from(name) {
        headers.insert(REQUEST_ID, name);
    }
    if let Ok(product) = HeaderValue::try_from(version::PRODUCT) {
        headers.insert(header::SERVER, product);
    }
    response
}

/// The name that the client gave, where it is one that a log line can hold.
fn given_name(headers: &HeaderMap) -> Option<String> {
    let name = headers.get(REQUEST_ID)?.to_str().ok()?;
    let fits = |byte: u8| byte.is_ascii_alphanumeric() || b"-_.".contains(&byte);
    let fits = (1..=LONGEST_NAME).contains(&name.len()) && name.bytes().all(fits);
    fits.then(|| name.to_string())
}

/// A name that no other request has: the moment at which this program began, and a number.
fn new_name() -> String {
    static BEGUN: LazyLock<u128> = LazyLock::new(|| {
        let since = SystemTime::now().duration_since(UNIX_EPOCH);
        since.map_or(0, |since| since.as_micros())
    });
    static NUMBER: AtomicU64 = AtomicU64::new(0);
    let number = NUMBER.fetch_add(1, Ordering::Relaxed);
    format!("{:x}-{number}", *BEGUN)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_is_taken_over_where_a_log_line_can_hold_it() {
        let given = |name: &'static str| {
            let headers = HeaderMap::from_iter([(REQUEST_ID, HeaderValue::from_static(name))]);
            given_name(&headers)
        };
        assert_eq!(given("order-17.b_2").as_deref(), Some("order-17.b_2"));
        let long: &'static str =
            "0123456789012345678901234567890123456789012345678901234567890123x";
        for bad in ["", "two words", "a=b", "\"x\"", long] {
            assert_eq!(given(bad), None, "{bad}");
        }
        assert_eq!(given_name(&HeaderMap::new()), None);
        assert_ne!(new_name(), new_name());
    }
}
