//! What the sheet of a plan may be told: what it is printed on.

use axum::extract::{FromRequestParts, Query};
use axum::http::request::Parts;
use axum::response::Response;
use schemars::JsonSchema;
use serde::Deserialize;

use super::question::faulty_query;
use crate::arguments::Paper;

/// What a sheet may be told.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct ForSheet {
    /// What a PDF is printed on, where it is not to be the usual paper of the scenario's unit. No other form heeds it.
    #[serde(default)]
    #[schemars(with = "Paper")]
    paper: Option<Paper>,
}

/// The paper that is told, if any. A query that cannot be read is answered with a problem document.
pub(super) struct OnPaper(pub(super) Option<Paper>);

impl<S: Send + Sync> FromRequestParts<S> for OnPaper {
    type Rejection = Response;

    async fn from_request_parts(parts: &mut Parts, state: &S) -> Result<OnPaper, Response> {
        match Query::from_request_parts(parts, state).await {
            Ok(Query(ForSheet { paper })) => Ok(OnPaper(paper)),
            Err(rejection) => Err(faulty_query(&rejection, "\"paper\" can be a4 or letter")),
        }
    }
}
