//! The OpenAPI document: complete, true of the service, and compatible with what was released.

mod released;

use axum::body::Body;
use axum::http::{Request, StatusCode, header};
use serde_json::{Value, json};

use super::super::problem::Kind;
use super::super::tests::{ask, get, quick, service};
use super::super::{Settings, routes};
use super::components::{SCHEMAS, component_of};
use super::document::document;
use crate::text::tests::plan;

fn openapi() -> Value {
    document(&routes())
}

/// Every value in a document that satisfies a condition, with its place.
fn places(value: &Value, place: &str, of: &dyn Fn(&Value) -> bool, found: &mut Vec<String>) {
    if of(value) {
        found.push(place.to_string());
    }
    match value {
        Value::Object(fields) => {
            for (name, value) in fields {
                let name = name.replace('~', "~0").replace('/', "~1");
                places(value, &format!("{place}/{name}"), of, found);
            }
        }
        Value::Array(values) => {
            for (number, value) in values.iter().enumerate() {
                places(value, &format!("{place}/{number}"), of, found);
            }
        }
        _ => {}
    }
}

/// A schema of the document's components, with the components beside it.
fn validator(openapi: &Value, schema: &Value) -> jsonschema::Validator {
    let mut schema = schema.clone();
    schema["components"] = openapi["components"].clone();
    jsonschema::draft202012::options()
        .build(&schema)
        .expect("a schema")
}

#[test]
fn every_field_parameter_and_answer_is_described() {
    let openapi = openapi();
    let described = |value: &Value| {
        value["description"]
            .as_str()
            .is_some_and(|text| !text.is_empty())
    };
    let mut bare = Vec::new();
    let is_schema = |value: &Value| value["properties"].is_object();
    places(&openapi["components"], "", &is_schema, &mut bare);
    assert!(bare.len() > 60, "{}", bare.len());
    for place in &bare {
        let schema = openapi["components"].pointer(place).expect("there");
        for (name, field) in schema["properties"].as_object().expect("fields") {
            assert!(described(field), "{place}: {name}");
        }
    }
    for (name, schema) in openapi["components"]["schemas"]
        .as_object()
        .expect("schemas")
    {
        let small = name.contains('_');
        assert!(small || described(schema), "{name}");
    }
    let mut operations = 0;
    for (path, methods) in openapi["paths"].as_object().expect("paths") {
        for (method, operation) in methods.as_object().expect("methods") {
            operations += 1;
            assert!(
                !operation["summary"].as_str().expect("a summary").is_empty(),
                "{method} {path}"
            );
            for parameter in operation["parameters"].as_array().into_iter().flatten() {
                assert!(described(parameter), "{method} {path}: {parameter}");
            }
            let body = &operation["requestBody"];
            assert!(body.is_null() || described(body), "{method} {path}");
            for (status, answer) in operation["responses"].as_object().expect("answers") {
                assert!(described(answer), "{method} {path} {status}");
            }
        }
    }
    assert_eq!(operations, routes().len());
}

#[test]
fn every_reference_leads_to_a_component_and_two_documents_define_a_name_alike() {
    let openapi = openapi();
    let mut references = Vec::new();
    places(
        &openapi,
        "",
        &|value| value["$ref"].is_string(),
        &mut references,
    );
    assert!(references.len() > 100);
    for place in references {
        let reference = openapi.pointer(&format!("{place}/$ref")).expect("there");
        let target = reference
            .as_str()
            .expect("text")
            .strip_prefix('#')
            .expect("within the document");
        assert!(openapi.pointer(target).is_some(), "{place}: {reference}");
    }
    for (document, schema) in SCHEMAS {
        for (name, definition) in schema()["$defs"].as_object().into_iter().flatten() {
            let moved = super::components::moved(definition.clone(), document);
            let component = &openapi["components"]["schemas"][component_of(document, name)];
            assert_eq!(&moved, component, "{name} of {document}");
        }
    }
}

#[test]
fn every_example_keeps_to_its_schema() {
    let openapi = openapi();
    let mut examples = Vec::new();
    let has = |value: &Value| value.get("example").is_some() && value.get("schema").is_some();
    places(&openapi["paths"], "", &has, &mut examples);
    assert!(examples.len() >= 15, "{}", examples.len());
    for place in examples {
        let content = openapi["paths"].pointer(&place).expect("there");
        let validator = validator(&openapi, &content["schema"]);
        let faults: Vec<String> = validator
            .iter_errors(&content["example"])
            .map(|fault| fault.to_string())
            .collect();
        assert!(faults.is_empty(), "{place}: {faults:?}");
    }
}

/// The figures of each of these answers follow from its question, so that it is the same whenever it is asked.
#[tokio::test]
async fn every_example_of_a_question_is_answered_with_the_example_of_its_answer() {
    let router = service(crate::solve::planner(), Settings::default()).1;
    let openapi = openapi();
    let mut asked = 0;
    for (path, methods) in openapi["paths"].as_object().expect("paths") {
        let operation = &methods["post"];
        let body = &operation["requestBody"]["content"]["application/json"]["example"];
        let expected = &operation["responses"]["200"]["content"]["application/json"]["example"];
        if body.is_null() || expected.is_null() {
            continue;
        }
        let request = Request::post(path).header(header::CONTENT_TYPE, "application/json");
        let answer = ask(
            &router,
            request
                .body(Body::from(body.to_string()))
                .expect("a request"),
        )
        .await;
        assert_eq!(answer.status, StatusCode::OK, "{path}");
        assert_eq!(&answer.json(), expected, "{path}");
        asked += 1;
    }
    assert_eq!(asked, 6);
}

#[tokio::test]
async fn the_document_and_the_page_are_served_and_the_page_loads_nothing() {
    let router = quick(|| Ok(plan()));
    let answer = ask(&router, get("/openapi.json")).await;
    assert_eq!(answer.headers[header::CONTENT_TYPE], "application/json");
    assert_eq!(answer.json(), openapi());
    let answer = ask(&router, get("/docs")).await;
    assert_eq!(
        answer.headers[header::CONTENT_TYPE],
        "text/html; charset=utf-8"
    );
    let page = String::from_utf8(answer.bytes).expect("text");
    for loaded in ["src=", "<link", "<script", "@import", "url("] {
        assert!(!page.contains(loaded), "{loaded}");
    }
    for kind in Kind::ALL {
        let part = format!("id=\"problem-{}\"", kind.told().name);
        assert_eq!(page.matches(&part).count(), 1, "{part}");
    }
    for name in openapi()["components"]["schemas"]
        .as_object()
        .expect("schemas")
        .keys()
    {
        assert_eq!(
            page.matches(&format!("id=\"schema-{name}\"")).count(),
            1,
            "{name}"
        );
    }
    for methods in openapi()["paths"].as_object().expect("paths").values() {
        for operation in methods.as_object().expect("methods").values() {
            let id = operation["operationId"].as_str().expect("text");
            assert_eq!(
                page.matches(&format!("<article id=\"{id}\"")).count(),
                1,
                "{id}"
            );
        }
    }
}

/// What an answer leads to is an operation with that id in its path, and the answer says it.
#[test]
fn every_link_of_an_answer_leads_to_an_operation() {
    let document = openapi();
    let paths = document["paths"].as_object().expect("paths");
    let operations = || {
        paths.values().flat_map(|methods| {
            let methods = methods.as_object().expect("methods");
            methods.values()
        })
    };
    let mut links = 0;
    for operation in operations() {
        for answer in operation["responses"]
            .as_object()
            .expect("answers")
            .values()
        {
            for link in answer["links"]
                .as_object()
                .into_iter()
                .flat_map(|of| of.values())
            {
                links += 1;
                assert_eq!(link["parameters"]["id"], "$response.body#/id");
                let example = &answer["content"]["application/json"]["example"];
                assert!(example["id"].is_string(), "{example}");
                let mut targets =
                    operations().filter(|one| one["operationId"] == link["operationId"]);
                let target = targets.next().unwrap_or_else(|| panic!("{link}"));
                let parameters = target["parameters"].as_array().expect("parameters");
                assert!(
                    parameters
                        .iter()
                        .any(|one| one["name"] == "id" && one["in"] == "path")
                );
            }
        }
    }
    // Two of a late plan, six of a batch.
    assert_eq!(links, 8);
}

/// Links within the page lead to a part of it.
#[test]
fn every_link_within_the_page_leads_somewhere() {
    let page = super::page::page(&openapi());
    let targets: Vec<&str> = page
        .split("href=\"#")
        .skip(1)
        .filter_map(|rest| rest.split('"').next())
        .collect();
    assert!(targets.len() > 100);
    for target in targets {
        assert!(page.contains(&format!("id=\"{target}\"")), "{target}");
    }
}

#[tokio::test]
async fn each_kind_of_problem_is_explained_under_its_name() {
    let router = quick(|| Ok(plan()));
    for kind in Kind::ALL {
        let told = kind.told();
        let answer = ask(&router, get(&format!("/problems/{}", told.name))).await;
        assert_eq!(answer.status, StatusCode::OK);
        let words = String::from_utf8(answer.bytes).expect("text");
        for part in [told.title, told.cause, told.mend] {
            assert!(words.contains(part), "{words}");
        }
    }
}

#[tokio::test]
async fn a_scenario_is_checked_without_a_solve() {
    let router = quick(|| panic!("no solve"));
    let check = |document: Value| {
        let request =
            Request::post("/v1/scenarios/check").header(header::CONTENT_TYPE, "application/json");
        request
            .body(Body::from(document.to_string()))
            .expect("a request")
    };
    let mut scenario: Value =
        serde_json::from_str(include_str!("../../../../examples/scenario.json")).expect("JSON");
    let answer = ask(&router, check(scenario.clone())).await;
    // Four sides of the border and two ties.
    assert_eq!(
        answer.json(),
        json!({"valid": true, "faults": [], "strips": 6})
    );
    scenario["unit"] = json!("cubit");
    let answer = ask(&router, check(scenario)).await;
    assert_eq!(answer.status, StatusCode::OK);
    let verdict = answer.json();
    assert_eq!(
        (&verdict["valid"], &verdict["faults"][0]["pointer"]),
        (&json!(false), &json!("/unit"))
    );
    let broken =
        Request::post("/v1/scenarios/check").header(header::CONTENT_TYPE, "application/json");
    let answer = ask(&router, broken.body(Body::from("{")).expect("a request")).await;
    answer.problem(400, "not-json");
}
