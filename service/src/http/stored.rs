//! Calls of the store from requests: on a thread that may wait for the disk, and with its failures as problems.

use std::sync::Arc;

use super::Service;
use super::problem::{Kind, Problem};
use crate::store::{Store, StoreError};

/// What the store answers.
///
/// # Errors
/// The store failed: told in the log, and to the client that it may try again.
pub(super) async fn stored<T: Send + 'static>(
    service: &Service,
    call: impl FnOnce(&Store) -> Result<T, StoreError> + Send + 'static,
) -> Result<T, Problem> {
    let store: Arc<Store> = service.store.clone();
    match tokio::task::spawn_blocking(move || call(&store)).await {
        Ok(Ok(answer)) => Ok(answer),
        Ok(Err(error)) => {
            tracing::error!(%error, "the store failed");
            Err(Problem::plain(Kind::StoreFailed))
        }
        Err(_) => {
            tracing::error!("a call of the store panicked");
            Err(Problem::plain(Kind::Internal))
        }
    }
}
