//! The interface as it is told to programs: each route stands beside what is said of it, and both become one OpenAPI document.

mod components;
mod document;
mod operation;
mod page;
#[cfg(test)]
mod tests;

use std::collections::BTreeMap;
use std::sync::{Arc, LazyLock};

use axum::Router;
use axum::body::Bytes;
use axum::handler::Handler;
use axum::http::{Method, Uri};
use axum::response::Response;
use axum::routing::{self, MethodRouter};

use super::form::Form;
use super::problem::{Kind, Problem};
use super::{Service, routes};

pub(super) use operation::{Content, Group, Operation};

/// One method of one path: what answers it, and what is said of it.
pub(super) struct Route {
    path: &'static str,
    method: &'static str,
    handler: MethodRouter<Arc<Service>>,
    operation: Operation,
}

impl Route {
    pub(super) fn get<H, T>(path: &'static str, handler: H, operation: Operation) -> Route
    where
        H: Handler<T, Arc<Service>>,
        T: 'static,
    {
        Route::of(path, "get", routing::get(handler), operation)
    }

    pub(super) fn post<H, T>(path: &'static str, handler: H, operation: Operation) -> Route
    where
        H: Handler<T, Arc<Service>>,
        T: 'static,
    {
        Route::of(path, "post", routing::post(handler), operation)
    }

    pub(super) fn delete<H, T>(path: &'static str, handler: H, operation: Operation) -> Route
    where
        H: Handler<T, Arc<Service>>,
        T: 'static,
    {
        Route::of(path, "delete", routing::delete(handler), operation)
    }

    fn of(
        path: &'static str,
        method: &'static str,
        handler: MethodRouter<Arc<Service>>,
        operation: Operation,
    ) -> Route {
        Route {
            path,
            method,
            handler,
            operation,
        }
    }
}

/// Answers at every path of the routes; where a path does not answer a method, with a problem document.
pub(super) fn router(routes: Vec<Route>) -> Router<Arc<Service>> {
    let mut paths: BTreeMap<&'static str, MethodRouter<Arc<Service>>> = BTreeMap::new();
    for route in routes {
        let path = paths.remove(route.path).unwrap_or_default();
        paths.insert(route.path, path.merge(route.handler));
    }
    let answered = |router: Router<_>, (path, methods): (&str, MethodRouter<_>)| {
        router.route(path, methods.fallback(wrong_method))
    };
    paths.into_iter().fold(Router::new(), answered)
}

/// The router adds the `Allow` field to this answer.
async fn wrong_method(method: Method, uri: Uri) -> Problem {
    let path = uri.path();
    Problem::new(
        Kind::MethodNotAllowed,
        format!("{method} is not answered at {path}; the Allow header lists what is."),
    )
}

/// The OpenAPI document, as text and as a page. Both are the same for as long as the program runs.
static WRITTEN: LazyLock<(Bytes, Bytes)> = LazyLock::new(|| {
    let document = document::document(&routes());
    let page = page::page(&document);
    (format!("{document:#}\n").into(), page.into())
});

/// What is at the two paths that tell of the interface.
pub(super) fn own_routes() -> Vec<Route> {
    vec![
        Route::get(
            "/openapi.json",
            openapi,
            Operation::new(
                Group::About,
                "getOpenApi",
                "This interface as an OpenAPI document",
            )
            .described("OpenAPI 3.1, with the JSON Schema (2020-12) of every document.")
            .answers(200, "The document.", vec![Content::any_json()]),
        ),
        Route::get(
            "/docs",
            docs,
            Operation::new(Group::About, "getDocs", "This interface as a page to read")
                .described("One page that loads nothing else.")
                .answers(200, "The page.", vec![Content::text(Form::Page)]),
        ),
    ]
}

/// `GET /openapi.json`.
async fn openapi() -> Response {
    Form::Document.response(WRITTEN.0.clone())
}

/// `GET /docs`.
async fn docs() -> Response {
    Form::Page.response(WRITTEN.1.clone())
}
