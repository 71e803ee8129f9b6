//! Who asks: what is shared out fairly is shared out among clients.

use std::convert::Infallible;
use std::sync::Arc;

use axum::extract::FromRequestParts;
use axum::http::request::Parts;

/// The name of a client: that of its key, or its address where there are no keys.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub(super) struct Client(pub(super) Arc<str>);

impl<S: Sync> FromRequestParts<S> for Client {
    type Rejection = Infallible;

    /// What the connection said of the client; without that all requests are one client's.
    async fn from_request_parts(parts: &mut Parts, _: &S) -> Result<Client, Infallible> {
        let told = parts.extensions.get::<Client>().cloned();
        Ok(told.unwrap_or_else(|| Client("".into())))
    }
}
