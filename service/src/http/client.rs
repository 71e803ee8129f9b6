//! Who asks: a key's name, or an address where there are no keys. What is shared out fairly is shared out among clients.

use std::convert::Infallible;
use std::sync::Arc;

use axum::extract::{FromRequestParts, Request, State};
use axum::http::request::Parts;
use axum::http::{HeaderMap, HeaderValue, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};

use super::Service;
use super::problem::{Kind, Problem};
use crate::keys::Admitted;

/// The name of a client.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub(super) struct Client(pub(super) Arc<str>);

impl<S: Sync> FromRequestParts<S> for Client {
    type Rejection = Infallible;

    /// What is known of the client; without that all requests are one client's.
    async fn from_request_parts(parts: &mut Parts, _: &S) -> Result<Client, Infallible> {
        let told = parts.extensions.get::<Client>().cloned();
        Ok(told.unwrap_or_else(|| Client("".into())))
    }
}

/// What anybody may fetch: whether the service is there, and what its interface is.
fn is_open(path: &str) -> bool {
    ["/openapi.json", "/docs", "/v1/health"].contains(&path)
        || ["/v1/health/", "/problems/"]
            .iter()
            .any(|start| path.starts_with(start))
}

/// Where there are keys, lets a request through that has one, and no more of them than its key may send.
pub(super) async fn admit(
    State(service): State<Arc<Service>>,
    mut request: Request,
    next: Next,
) -> Response {
    let mut known = None;
    if let Some(keys) = service.keys()
        && !is_open(request.uri().path())
    {
        let Some(key) = bearer(request.headers()) else {
            return refused(Problem::plain(Kind::KeyMissing), CHALLENGE);
        };
        match keys.admit(key) {
            Admitted::As(name) => {
                request.extensions_mut().insert(Client(name.clone()));
                known = Some(Client(name));
            }
            Admitted::Unknown => return refused(Problem::plain(Kind::KeyUnknown), INVALID),
            Admitted::After(wait) => {
                return Problem::plain(Kind::TooManyRequests)
                    .after(wait)
                    .into_response();
            }
        }
    }
    let mut response = next.run(request).await;
    // For the log.
    if let Some(client) = known {
        response.extensions_mut().insert(client);
    }
    response
}

/// What a client without a key is told to send (RFC 6750, section 3), and one whose key is not known.
const CHALLENGE: HeaderValue = HeaderValue::from_static("Bearer realm=\"sashwright\"");
const INVALID: HeaderValue =
    HeaderValue::from_static("Bearer realm=\"sashwright\", error=\"invalid_token\"");

fn refused(problem: Problem, challenge: HeaderValue) -> Response {
    let mut response = problem.into_response();
    response
        .headers_mut()
        .insert(header::WWW_AUTHENTICATE, challenge);
    response
}

/// The key of a request (RFC 6750, section 2.1); of one with two fields it is not clear which.
fn bearer(headers: &HeaderMap) -> Option<&str> {
    let mut fields = headers.get_all(header::AUTHORIZATION).iter();
    let field = fields.next()?.to_str().ok()?;
    if fields.next().is_some() {
        return None;
    }
    let (scheme, key) = field.split_once(' ')?;
    scheme.eq_ignore_ascii_case("bearer").then(|| key.trim())
}
