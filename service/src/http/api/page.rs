//! The interface as a page to read: made from the OpenAPI document, so that it says the same, and complete in itself.

use maud::{DOCTYPE, Markup, PreEscaped, html};
use serde_json::{Map, Value};

use super::super::problem::Kind;

const STYLE: &str = include_str!("page.css");

/// The page of an OpenAPI document.
pub(super) fn page(document: &Value) -> String {
    let markup = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { "sashwright: the interface" }
                style { (PreEscaped(STYLE)) }
            }
            body {
                header {
                    h1 { "sashwright " (text(&document["info"]["version"])) ": the interface" }
                    p { (text(&document["info"]["description"])) }
                    p { "For programs: " a href="/openapi.json" { "/openapi.json" } " (OpenAPI " (text(&document["openapi"])) ")." }
                }
                nav aria-label="Contents" {
                    ul {
                        @for tag in list(&document["tags"]) {
                            li { a href={ "#group-" (text(&tag["name"])) } { (text(&tag["description"])) } }
                        }
                        li { a href="#problems" { "What can go wrong" } }
                        li { a href="#documents" { "The documents, field by field" } }
                    }
                }
                main {
                    @for tag in list(&document["tags"]) { (group(document, tag)) }
                    (problems())
                    section id="documents" {
                        h2 { "The documents, field by field" }
                        @for (name, schema) in fields(&document["components"]["schemas"]) { (component(name, schema)) }
                    }
                }
            }
        }
    };
    markup.into_string()
}

/// The operations of a group.
fn group(document: &Value, tag: &Value) -> Markup {
    let name = text(&tag["name"]);
    html! {
        section id={ "group-" (name) } {
            h2 { (text(&tag["description"])) }
            @for (path, methods) in fields(&document["paths"]) {
                @for (method, operation) in fields(methods) {
                    @if operation["tags"][0] == tag["name"] { (self::operation(path, method, operation)) }
                }
            }
        }
    }
}

fn operation(path: &str, method: &str, operation: &Value) -> Markup {
    let body = &operation["requestBody"];
    let sent = &body["content"]["application/json"];
    html! {
        article id=(text(&operation["operationId"])) {
            h3 { code { (method.to_uppercase()) " " (path) } }
            p { strong { (text(&operation["summary"])) "." } " " (text(&operation["description"])) }
            @if let Some(parameters) = operation["parameters"].as_array() {
                table {
                    caption { "What the request may say beside its body" }
                    thead { tr { th scope="col" { "Name" } th scope="col" { "Where" } th scope="col" { "Value" } th scope="col" { "Meaning" } } }
                    tbody {
                        @for parameter in parameters {
                            tr {
                                th scope="row" { code { (text(&parameter["name"])) } }
                                td { (text(&parameter["in"])) }
                                td { (kind(&parameter["schema"])) (default(&parameter["schema"])) }
                                td { (text(&parameter["description"])) }
                            }
                        }
                    }
                }
            }
            pre { code { (curl(path, method, operation)) } }
            @if !body.is_null() {
                p { "Body: " (kind(&sent["schema"])) ". " (text(&body["description"])) }
                (example("An example of the body", &sent["example"]))
            }
            table {
                caption { "Answers" }
                thead { tr { th scope="col" { "Status" } th scope="col" { "Meaning" } th scope="col" { "Written as" } } }
                tbody {
                    @for (status, answer) in fields(&operation["responses"]) {
                        tr {
                            th scope="row" { (status) }
                            td {
                                (text(&answer["description"]))
                                @for (name, header) in fields(&answer["headers"]) {
                                    br; code { (name) } ": " (text(&header["description"]))
                                }
                            }
                            td {
                                @for (media, content) in fields(&answer["content"]) {
                                    div { code { (media) } " " (kind(&content["schema"])) }
                                }
                            }
                        }
                    }
                }
            }
            @for (_, answer) in fields(&operation["responses"]) {
                (example("An example of the answer", &answer["content"]["application/json"]["example"]))
            }
        }
    }
}

/// How it is called from a shell, with the examples in place of what is told.
fn curl(path: &str, method: &str, operation: &Value) -> String {
    let mut place = path.to_string();
    for parameter in list(&operation["parameters"]) {
        let name = format!("{{{}}}", text(&parameter["name"]));
        let value = &parameter["example"];
        let value = value.as_str().map_or(value.to_string(), String::from);
        place = place.replace(&name, &value);
    }
    let sends = match operation["requestBody"].is_null() {
        true => "",
        false => " -H 'Content-Type: application/json' --data-binary @document.json",
    };
    let method = match method {
        "get" => String::new(),
        "post" if !sends.is_empty() => String::new(),
        method => format!(" -X {}", method.to_uppercase()),
    };
    format!("curl{method}{sends} http://127.0.0.1:8080{place}")
}

fn example(heading: &str, example: &Value) -> Markup {
    html! {
        @if !example.is_null() {
            details { summary { (heading) } pre { code { (format!("{example:#}")) } } }
        }
    }
}

/// The table of problems.
fn problems() -> Markup {
    html! {
        section id="problems" {
            h2 { "What can go wrong" }
            p { "Each problem document has one of these as the last part of its type." }
            table {
                caption { "Kinds of problems" }
                thead {
                    tr { th scope="col" { "Name" } th scope="col" { "Status" } th scope="col" { "What it is" } th scope="col" { "Where it comes from" } th scope="col" { "What would do" } }
                }
                tbody {
                    @for told in Kind::ALL.map(Kind::told) {
                        tr id={ "problem-" (told.name) } {
                            th scope="row" { a href={ "/problems/" (told.name) } { code { (told.name) } } }
                            td { (told.status.as_u16()) }
                            td { (told.title) }
                            td { (told.cause) }
                            td { (told.mend) }
                        }
                    }
                }
            }
        }
    }
}

/// A schema among the components, with its fields.
fn component(name: &str, schema: &Value) -> Markup {
    html! {
        article id={ "schema-" (name) } {
            h3 { (name) }
            p { (text(&schema["description"])) }
            (shape(schema))
        }
    }
}

/// What a schema asks for: the fields of an object, and of the objects within it, or else its kind.
fn shape(schema: &Value) -> Markup {
    let members = fields(&schema["properties"]);
    let alternatives = ["oneOf", "anyOf"]
        .iter()
        .flat_map(|word| list(&schema[*word]));
    let alternatives: Vec<&Value> = alternatives
        .filter(|one| one.get("required").is_none() || one.get("properties").is_some())
        .collect();
    html! {
        @if members.is_empty() && alternatives.is_empty() { p { (kind(schema)) } }
        @if !alternatives.is_empty() {
            p { "One of:" }
            ul {
                @for one in alternatives {
                    li {
                        @if one.get("properties").is_some() { (text(&one["description"])) (shape(one)) }
                        @else { (kind(one)) " " (text(&one["description"])) }
                    }
                }
            }
        }
        @if !members.is_empty() {
            table {
                thead { tr { th scope="col" { "Field" } th scope="col" { "Value" } th scope="col" { "Meaning" } } }
                tbody {
                    @for (name, member) in members {
                        tr {
                            th scope="row" { code { (name) } @if list(&schema["required"]).iter().any(|one| one == name) { " (required)" } }
                            td { (kind(member)) (default(member)) }
                            td {
                                (text(&member["description"]))
                                @for within in [member, &member["items"]] {
                                    @if within.get("properties").is_some() || within.get("oneOf").is_some_and(|_| within.get("const").is_none()) { (shape(within)) }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// What kind of value a schema allows, in a few words.
fn kind(schema: &Value) -> Markup {
    let component = schema["$ref"]
        .as_str()
        .and_then(|place| place.strip_prefix("#/components/schemas/"));
    let alternatives: Vec<&Value> = ["oneOf", "anyOf"]
        .iter()
        .flat_map(|word| list(&schema[*word]))
        .collect();
    let types: Vec<&str> = match &schema["type"] {
        Value::Array(types) => types.iter().filter_map(Value::as_str).collect(),
        one => one.as_str().into_iter().collect(),
    };
    html! {
        @if let Some(component) = component { a href={ "#schema-" (component) } { (component) } }
        @else if let Some(value) = schema.get("const") { code { (value) } }
        @else if let Some(values) = schema["enum"].as_array() {
            @for (place, value) in values.iter().enumerate() { @if place > 0 { ", " } code { (value) } }
        }
        @else if schema["type"] == "array" && schema["items"].is_object() { "list of " (kind(&schema["items"])) }
        @else if schema.get("properties").is_none() && !alternatives.is_empty() {
            @for (place, one) in alternatives.iter().enumerate() { @if place > 0 { " or " } (kind(one)) }
        }
        @else { (types.join(" or ")) }
    }
}

fn default(schema: &Value) -> Markup {
    html! { @if let Some(value) = schema.get("default") { "; " code { (value) } " if absent" } }
}

fn text(value: &Value) -> &str {
    value.as_str().unwrap_or_default()
}

fn list(value: &Value) -> &[Value] {
    value.as_array().map_or(&[], Vec::as_slice)
}

fn fields(value: &Value) -> Vec<(&String, &Value)> {
    value.as_object().into_iter().flat_map(Map::iter).collect()
}
