//! Web pages of other origins that may ask the service from a browser (CORS, as the Fetch standard has it): those that are named, and no others.

use std::time::Duration;

use axum::http::{HeaderName, HeaderValue, Method, Uri, header};
use tower_http::cors::{AllowOrigin, CorsLayer};

use super::access_log::REQUEST_ID;

/// How long a browser may remember what it was allowed.
const REMEMBERED: Duration = Duration::from_secs(3600);

/// What lets the pages of these origins in; none where none is named.
pub(super) fn layer(origins: &[HeaderValue]) -> Option<CorsLayer> {
    if origins.is_empty() {
        return None;
    }
    let layer = CorsLayer::new()
        .allow_origin(AllowOrigin::list(origins.iter().cloned()))
        .allow_methods([Method::GET, Method::POST, Method::DELETE])
        .allow_headers([
            header::ACCEPT,
            header::AUTHORIZATION,
            header::CACHE_CONTROL,
            header::CONTENT_TYPE,
            header::IF_NONE_MATCH,
            HeaderName::from_static("idempotency-key"),
            HeaderName::from_static("last-event-id"),
            HeaderName::from_static("prefer"),
            REQUEST_ID,
        ])
        .expose_headers([
            header::CONTENT_LOCATION,
            header::ETAG,
            header::LINK,
            header::LOCATION,
            header::RETRY_AFTER,
            header::WWW_AUTHENTICATE,
            HeaderName::from_static("preference-applied"),
            REQUEST_ID,
        ])
        .allow_private_network(true)
        .max_age(REMEMBERED);
    Some(layer)
}

/// An origin as browsers write it (RFC 6454, section 6.2): scheme, host, and the port where it is not the scheme's own.
///
/// # Errors
/// What would be one.
pub fn origin(text: &str) -> Result<HeaderValue, String> {
    let wanted = "an origin is a scheme, a host and perhaps a port, such as https://kits.example, with nothing after it";
    let lower = text.to_ascii_lowercase();
    let uri = lower.parse::<Uri>().map_err(|_| wanted)?;
    let web = ["http", "https"].map(Some).contains(&uri.scheme_str());
    let host = uri.host().is_some_and(|host| !host.is_empty());
    let userinfo = uri
        .authority()
        .is_some_and(|name| name.as_str().contains('@'));
    let rebuilt = (uri.scheme_str(), uri.authority().map(|name| name.as_str()));
    let whole =
        matches!(rebuilt, (Some(scheme), Some(name)) if format!("{scheme}://{name}") == lower);
    if !web || !host || userinfo || !whole {
        return Err(wanted.into());
    }
    let own = if uri.scheme_str() == Some("https") {
        443
    } else {
        80
    };
    if uri.port_u16() == Some(own) {
        return Err(format!(
            "browsers leave out the port {own} here: leave it out as well"
        ));
    }
    HeaderValue::try_from(lower).map_err(|_| wanted.into())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn origins_are_what_browsers_write() {
        for good in [
            "https://kits.example",
            "http://localhost:3000",
            "http://[::1]:8000",
        ] {
            assert_eq!(
                origin(good).as_ref().map(HeaderValue::as_bytes),
                Ok(good.as_bytes())
            );
        }
        assert_eq!(
            origin("https://Kits.Example").expect("one"),
            "https://kits.example"
        );
        for bad in [
            "",
            "*",
            "null",
            "kits.example",
            "https://",
            "https://kits.example/",
            "https://kits.example/a",
            "https://a@kits.example",
            "ftp://kits.example",
            "https://kits.example?x",
            "https://kits.example:443",
            "http://kits.example:80",
        ] {
            assert!(origin(bad).is_err(), "{bad}");
        }
    }
}
