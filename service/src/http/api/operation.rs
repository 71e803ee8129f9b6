//! What is said of an operation: its words, what it is sent, and what it answers, as an OpenAPI operation object.

use schemars::{JsonSchema, schema_for};
use serde_json::{Map, Value, json};

use super::super::form::Form;
use super::super::problem::{self, Kind};

/// What operations are for.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(in crate::http) enum Group {
    /// Plans, and what is asked about one scenario.
    Planning,
    /// Runs of kits.
    Batches,
    /// How the service fares.
    Watching,
    /// The service itself.
    About,
}

impl Group {
    pub(super) const ALL: [Group; 4] = [
        Group::Planning,
        Group::Batches,
        Group::Watching,
        Group::About,
    ];

    /// Its name, and what it is for.
    pub(super) fn told(self) -> (&'static str, &'static str) {
        match self {
            Group::Planning => ("planning", "Plans of one scenario, and questions about it."),
            Group::Batches => ("batches", "Runs of kits, planned while nobody waits."),
            Group::Watching => ("watching", "How the service fares, for whoever runs it."),
            Group::About => ("about", "The service itself, and this interface."),
        }
    }
}

/// One media type of an answer.
pub(in crate::http) struct Content {
    media: &'static str,
    schema: Value,
    example: Option<&'static str>,
}

impl Content {
    /// A JSON document with a schema among the components, and an example of it (JSON).
    pub(in crate::http) fn document(component: &str, example: &'static str) -> Content {
        Content {
            media: "application/json",
            schema: reference(component),
            example: Some(example),
        }
    }

    /// JSON of which nothing more is said.
    pub(in crate::http) fn any_json() -> Content {
        Content {
            media: "application/json",
            schema: json!({"type": "object"}),
            example: None,
        }
    }

    /// A stream of server-sent events.
    pub(in crate::http) fn events() -> Content {
        Content {
            media: "text/event-stream",
            schema: json!({
                "type": "object", "required": ["event", "data"],
                "description": "Each event of the stream.",
                "properties": {
                    "event": {"enum": ["result", "incumbent", "status"], "description": "What it tells of."},
                    "id": {"type": "string", "description": "Of a result its place."},
                    "data": {"type": "string", "contentMediaType": "application/json", "description": "The document."},
                },
            }),
            example: None,
        }
    }

    /// A form that is no JSON.
    pub(in crate::http) fn text(form: Form) -> Content {
        let schema = match form {
            Form::Print => json!({"description": "The bytes of a PDF (RFC 8118)."}),
            _ => json!({"type": "string"}),
        };
        Content {
            media: form.content_type(),
            schema,
            example: None,
        }
    }

    /// All forms that are offered, the document with its schema.
    pub(in crate::http) fn forms(
        offered: &[Form],
        component: &str,
        example: &'static str,
    ) -> Vec<Content> {
        let content = |form: &Form| match form {
            Form::Document => Content::document(component, example),
            form => Content::text(*form),
        };
        offered.iter().map(content).collect()
    }
}

/// What is said of an operation.
pub(in crate::http) struct Operation {
    pub(super) group: Group,
    id: &'static str,
    summary: &'static str,
    description: &'static str,
    parameters: Vec<Value>,
    body: Option<Value>,
    answers: Vec<(u16, Value)>,
    problems: Vec<Kind>,
}

/// The problems that any body can have.
const OF_A_BODY: [Kind; 5] = [
    Kind::WrongMediaType,
    Kind::BodyTooLarge,
    Kind::BodyTooSlow,
    Kind::BodyBroken,
    Kind::NotJson,
];

/// The problems of all that waits for its turn.
const OF_WORK: [Kind; 3] = [Kind::QueueFull, Kind::Closing, Kind::Internal];

impl Operation {
    /// Where the service has keys, all but what tells of itself asks for one.
    pub(in crate::http) fn new(group: Group, id: &'static str, summary: &'static str) -> Operation {
        let problems = match group {
            Group::About => Vec::new(),
            _ => vec![Kind::KeyMissing, Kind::KeyUnknown, Kind::TooManyRequests],
        };
        Operation {
            group,
            id,
            summary,
            description: "",
            parameters: Vec::new(),
            body: None,
            answers: Vec::new(),
            problems,
        }
    }

    /// Says more than the summary.
    pub(in crate::http) fn described(mut self, description: &'static str) -> Operation {
        self.description = description;
        self
    }

    /// A part of the path.
    pub(in crate::http) fn part(
        mut self,
        name: &str,
        description: &str,
        schema: Value,
        example: &str,
    ) -> Operation {
        self.parameters.push(json!({
            "name": name, "in": "path", "required": true,
            "description": description, "schema": schema, "example": example,
        }));
        self
    }

    /// What the query may say: the fields of a type.
    pub(in crate::http) fn query<T: JsonSchema>(mut self) -> Operation {
        let schema = schema_for!(T).to_value();
        let required = schema["required"].as_array().cloned().unwrap_or_default();
        let fields = schema["properties"]
            .as_object()
            .cloned()
            .unwrap_or_default();
        for (name, mut schema) in fields {
            let description = schema
                .as_object_mut()
                .and_then(|schema| schema.remove("description"));
            self.parameters.push(json!({
                "name": name, "in": "query", "required": required.contains(&json!(name)),
                "description": description, "schema": schema,
            }));
        }
        self.problem(Kind::FaultyQuery)
    }

    /// A header field that it heeds.
    pub(in crate::http) fn heeds(
        mut self,
        name: &str,
        description: &str,
        schema: Value,
    ) -> Operation {
        self.parameters.push(json!({
            "name": name, "in": "header", "required": false,
            "description": description, "schema": schema,
        }));
        self
    }

    /// The body that it is sent: a component, and an example of it (JSON).
    pub(in crate::http) fn body(
        self,
        component: &str,
        description: &str,
        example: &str,
    ) -> Operation {
        self.any_body(reference(component), description, example)
    }

    /// The same with a schema that is no component.
    pub(in crate::http) fn any_body(
        mut self,
        schema: Value,
        description: &str,
        example: &str,
    ) -> Operation {
        self.body = Some(json!({
            "required": true,
            "description": description,
            "content": {"application/json": {"schema": schema, "example": read(example)}},
        }));
        self.problems(&OF_A_BODY)
    }

    /// An answer that is no problem.
    pub(in crate::http) fn answers(
        self,
        status: u16,
        description: &str,
        contents: Vec<Content>,
    ) -> Operation {
        self.answers_with(status, description, contents, &[])
    }

    /// The same with header fields: each with its description.
    pub(in crate::http) fn answers_with(
        mut self,
        status: u16,
        description: &str,
        contents: Vec<Content>,
        headers: &[(&str, &str)],
    ) -> Operation {
        let mut answer = Map::from_iter([("description".to_string(), json!(description))]);
        if !headers.is_empty() {
            let headers = headers.iter().map(|(name, description)| {
                let header = json!({"description": description, "schema": {"type": "string"}});
                (name.to_string(), header)
            });
            answer.insert("headers".into(), headers.collect::<Map<_, _>>().into());
        }
        if !contents.is_empty() {
            let contents = contents.into_iter().map(|content| {
                let mut written = json!({"schema": content.schema});
                if let Some(example) = content.example {
                    written["example"] = read(example);
                }
                (content.media.to_string(), written)
            });
            answer.insert("content".into(), contents.collect::<Map<_, _>>().into());
        }
        self.answers.push((status, answer.into()));
        self
    }

    /// What the answer that was told last leads to: operations whose `id` is the one in it (OpenAPI 3.1, "Link Object").
    pub(in crate::http) fn leads_to(mut self, links: &[(&str, &str)]) -> Operation {
        let links = links.iter().map(|(name, operation)| {
            let link =
                json!({"operationId": operation, "parameters": {"id": "$response.body#/id"}});
            (name.to_string(), link)
        });
        if let Some((_, answer)) = self.answers.last_mut() {
            answer["links"] = links.collect::<Map<_, _>>().into();
        }
        self
    }

    /// A kind of problem that it may answer with.
    pub(in crate::http) fn problem(self, kind: Kind) -> Operation {
        self.problems(&[kind])
    }

    pub(in crate::http) fn problems(mut self, kinds: &[Kind]) -> Operation {
        for kind in kinds {
            if !self.problems.contains(kind) {
                self.problems.push(*kind);
            }
        }
        self
    }

    /// It waits for its turn.
    pub(in crate::http) fn works(self) -> Operation {
        self.problems(&OF_WORK)
    }

    /// The operation object.
    pub(super) fn written(&self) -> Value {
        let mut answers = Map::new();
        for (status, answer) in &self.answers {
            answers.insert(status.to_string(), answer.clone());
        }
        for kind in Kind::ALL
            .into_iter()
            .filter(|kind| self.problems.contains(kind))
        {
            let status = kind.told().status;
            let alike = |other: &&Kind| other.told().status == status;
            let of_status: Vec<Kind> = self.problems.iter().filter(alike).copied().collect();
            answers
                .entry(status.as_str())
                .or_insert_with(|| of_problems(&of_status));
        }
        let mut written = json!({
            "operationId": self.id,
            "tags": [self.group.told().0],
            "summary": self.summary,
            "responses": answers,
        });
        if self.problems.contains(&Kind::KeyMissing) {
            // With a key, or, where the service has none, without (OpenAPI 3.1, "Security Requirement Object").
            written["security"] = json!([{"key": []}, {}]);
        }
        if !self.description.is_empty() {
            written["description"] = json!(self.description);
        }
        if !self.parameters.is_empty() {
            written["parameters"] = json!(self.parameters);
        }
        if let Some(body) = &self.body {
            written["requestBody"] = body.clone();
        }
        written
    }
}

/// A response object of kinds of problems that share a status.
fn of_problems(kinds: &[Kind]) -> Value {
    let named = |kind: &Kind| format!("{} ({})", kind.told().title, kind.told().name);
    let named: Vec<String> = kinds.iter().map(named).collect();
    let mut answer = json!({
        "description": format!("{}.", named.join("; or: ")),
        "content": {problem::MEDIA_TYPE: {"schema": reference("Problem")}},
    });
    if kinds.iter().any(|kind| kind.says_when()) {
        let schema = json!({"type": "integer", "minimum": 0});
        let description = "Seconds after which another try may do.";
        answer["headers"] = json!({"Retry-After": {"description": description, "schema": schema}});
    }
    answer
}

/// A schema among the components.
pub(super) fn reference(component: &str) -> Value {
    json!({"$ref": format!("#/components/schemas/{component}")})
}

/// An example; a test reads each of them.
fn read(example: &str) -> Value {
    serde_json::from_str(example).unwrap_or_default()
}
