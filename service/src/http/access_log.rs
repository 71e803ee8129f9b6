//! One log line for each request.

use std::time::Instant;

use axum::extract::Request;
use axum::http::{Method, StatusCode};
use axum::middleware::Next;
use axum::response::Response;

/// A request that is being answered; dropped without an answer, its client has gone.
struct Record {
    method: Method,
    path: String,
    begun: Instant,
    status: Option<StatusCode>,
}

impl Drop for Record {
    fn drop(&mut self) {
        let (method, path) = (&self.method, self.path.as_str());
        let milliseconds = self.begun.elapsed().as_millis();
        match self.status {
            Some(status) => {
                let status = status.as_u16();
                tracing::info!(%method, path, status, milliseconds, "answered");
            }
            None => tracing::info!(%method, path, milliseconds, "the client has gone"),
        }
    }
}

/// Logs method, path, status and milliseconds.
pub(super) async fn log(request: Request, next: Next) -> Response {
    let mut record = Record {
        method: request.method().clone(),
        path: request.uri().path().to_string(),
        begun: Instant::now(),
        status: None,
    };
    let response = next.run(request).await;
    record.status = Some(response.status());
    response
}
