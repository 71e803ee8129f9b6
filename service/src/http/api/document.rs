//! The OpenAPI document (OpenAPI Specification 3.1.0): the operations of all routes, the schemas, and words for both.

use std::collections::BTreeMap;

use serde_json::{Map, Value, json};

use super::components::components;
use super::{Group, Route};
use crate::version::VERSION;

/// The document of these routes.
pub(super) fn document(routes: &[Route]) -> Value {
    let mut paths: BTreeMap<&str, Map<String, Value>> = BTreeMap::new();
    for route in routes {
        let path = paths.entry(route.path).or_default();
        path.insert(route.method.into(), route.operation.written());
    }
    let tags = Group::ALL.map(|group| {
        let (name, description) = group.told();
        json!({"name": name, "description": description})
    });
    json!({
        "openapi": "3.1.0",
        "info": {
            "title": "sashwright",
            "version": VERSION,
            "description": ABOUT,
            "license": {"name": "MIT OR Apache-2.0", "identifier": "MIT OR Apache-2.0"},
        },
        "servers": [{"url": "/", "description": "This service."}],
        "tags": tags,
        "paths": paths,
        "components": {
            "schemas": components(),
            "securitySchemes": {"key": {
                "type": "http", "scheme": "bearer",
                "description": "A key that whoever runs the service gave out (RFC 6750). A service without keys asks for none.",
            }},
        },
    })
}

/// What holds for all operations.
const ABOUT: &str = "Plans quilt borders and sashing that are stitched in embroidery hoops: which hoop and size for which stretch, in \
which order, with a proof of how good that is. Within /v1 nothing is renamed or removed, and what is added to documents can be left out. \
Every answer that is no success is a problem document (RFC 9457), as application/problem+json; its type is a path at which it is explained. \
JSON is UTF-8, a body is sent uncompressed and as application/json. What an answer is written as is chosen by the Accept field. \
Every answer names its request in X-Request-Id, as the client named it there (letters, digits, dash, dot and underscore, at most 64) or anew; the log has that name.";
