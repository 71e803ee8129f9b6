//! The table of problems: what each is called, its status, and in words what it is, where it comes from, and what would mend it.

use axum::http::StatusCode;

/// What kind of problem it is.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(in crate::http) enum Kind {
    NotFound,
    PlanNotKept,
    MethodNotAllowed,
    NotAcceptable,
    WrongMediaType,
    BodyTooLarge,
    BodyTooSlow,
    BodyBroken,
    NotJson,
    FaultyQuery,
    FaultyScenario,
    FaultyDocuments,
    CannotBeStitched,
    BatchNotKept,
    BatchUnfinished,
    FaultyHeader,
    KeyMissing,
    KeyUnknown,
    FaultyBatch,
    KeyUsedBefore,
    TooManyRequests,
    TooManyWaiting,
    TooManyBatches,
    QueueFull,
    StoreFailed,
    Closing,
    Internal,
}

/// What is told of a kind of problem.
pub(in crate::http) struct Told {
    /// The last part of the problem's `type`; stable.
    pub(in crate::http) name: &'static str,
    pub(in crate::http) status: StatusCode,
    /// The problem's `title`: what it is.
    pub(in crate::http) title: &'static str,
    /// Where it comes from.
    pub(in crate::http) cause: &'static str,
    /// What the client can do about it.
    pub(in crate::http) mend: &'static str,
}

impl Kind {
    /// Every kind, in the order of the documentation.
    pub(in crate::http) const ALL: [Kind; 27] = [
        Kind::NotFound,
        Kind::PlanNotKept,
        Kind::MethodNotAllowed,
        Kind::NotAcceptable,
        Kind::WrongMediaType,
        Kind::BodyTooLarge,
        Kind::BodyTooSlow,
        Kind::BodyBroken,
        Kind::NotJson,
        Kind::FaultyQuery,
        Kind::FaultyScenario,
        Kind::FaultyDocuments,
        Kind::CannotBeStitched,
        Kind::BatchNotKept,
        Kind::BatchUnfinished,
        Kind::FaultyHeader,
        Kind::KeyMissing,
        Kind::KeyUnknown,
        Kind::FaultyBatch,
        Kind::KeyUsedBefore,
        Kind::TooManyRequests,
        Kind::TooManyWaiting,
        Kind::TooManyBatches,
        Kind::QueueFull,
        Kind::StoreFailed,
        Kind::Closing,
        Kind::Internal,
    ];

    /// Its row of the table.
    pub(in crate::http) fn told(self) -> Told {
        match self {
            Kind::NotFound => Told {
                name: "not-found",
                status: StatusCode::NOT_FOUND,
                title: "There is nothing at this path",
                cause: "No route has this path: it is misspelt, or the version in front is wrong.",
                mend: "Send scenarios to POST /v1/plans; GET /v1/health tells whether the service is there.",
            },
            Kind::PlanNotKept => Told {
                name: "plan-not-kept",
                status: StatusCode::NOT_FOUND,
                title: "The plan is not kept, or not kept any more",
                cause: "The plan was never made here, or newer plans took its place, or the service was started anew.",
                mend: "Only recent plans are kept. Post the scenario again: the answer's Content-Location says where its plan is.",
            },
            Kind::MethodNotAllowed => Told {
                name: "method-not-allowed",
                status: StatusCode::METHOD_NOT_ALLOWED,
                title: "This path does not answer that method",
                cause: "The path is there, and answers other methods.",
                mend: "Use a method that the Allow header lists.",
            },
            Kind::NotAcceptable => Told {
                name: "not-acceptable",
                status: StatusCode::NOT_ACCEPTABLE,
                title: "The answer is not there in a form that the Accept field allows",
                cause: "The Accept field names no form in which the answer can be written.",
                mend: "Name one of the media types that the detail lists, or leave the field out.",
            },
            Kind::WrongMediaType => Told {
                name: "wrong-media-type",
                status: StatusCode::UNSUPPORTED_MEDIA_TYPE,
                title: "The body is not sent as JSON",
                cause: "The request has no Content-Type that says JSON, or its body is compressed.",
                mend: "Send the scenario as it is, uncompressed, with Content-Type: application/json.",
            },
            Kind::BodyTooLarge => Told {
                name: "body-too-large",
                status: StatusCode::PAYLOAD_TOO_LARGE,
                title: "The body is too large",
                cause: "The body has more bytes than the service reads.",
                mend: "Send a smaller scenario, or plan it with the command line.",
            },
            Kind::BodyTooSlow => Told {
                name: "body-too-slow",
                status: StatusCode::REQUEST_TIMEOUT,
                title: "The body took too long to arrive",
                cause: "The connection is slow, or the body is shorter than its Content-Length.",
                mend: "Send the whole body at once.",
            },
            Kind::BodyBroken => Told {
                name: "body-broken",
                status: StatusCode::BAD_REQUEST,
                title: "The body broke off",
                cause: "The connection closed, or the chunks are not well formed, before the body was complete.",
                mend: "Send the request again, with a Content-Length that fits or in well-formed chunks.",
            },
            Kind::NotJson => Told {
                name: "not-json",
                status: StatusCode::BAD_REQUEST,
                title: "The body is not a JSON document",
                cause: "The text breaks the grammar of JSON, or is nested too deep.",
                mend: "Mend the text at the line and column that the fault names.",
            },
            Kind::FaultyQuery => Told {
                name: "faulty-query",
                status: StatusCode::BAD_REQUEST,
                title: "The query part of the address cannot be read",
                cause: "The query has a name that the path does not know, or a value that cannot be read.",
                mend: "Leave it out, or give what the documentation of the path names.",
            },
            Kind::FaultyScenario => Told {
                name: "faulty-scenario",
                status: StatusCode::UNPROCESSABLE_ENTITY,
                title: "The scenario has faults",
                cause: "A field is missing, unknown or cannot be read, or fields contradict each other.",
                mend: "Each fault gives its place as a JSON Pointer, what was seen there, and what would mend it.",
            },
            Kind::FaultyDocuments => Told {
                name: "faulty-documents",
                status: StatusCode::UNPROCESSABLE_ENTITY,
                title: "The documents have faults, or do not belong together",
                cause: "A field of one of them is faulty, or a plan or a progress is not that of the scenario.",
                mend: "Each fault gives its place as a JSON Pointer that begins with the name of the document.",
            },
            Kind::CannotBeStitched => Told {
                name: "cannot-be-stitched",
                status: StatusCode::UNPROCESSABLE_ENTITY,
                title: "Strips cannot be stitched",
                cause: "No covering of a strip fits into any hoop, or wishes contradict each other.",
                mend: "Each fault names a strip and its closest miss. With rules.allow_partial such strips are left out of the plan.",
            },
            Kind::BatchNotKept => Told {
                name: "batch-not-kept",
                status: StatusCode::NOT_FOUND,
                title: "The batch, or this part of it, is not kept, or not kept any more",
                cause: "The batch was never accepted here, it has expired, it is another client's, or it has no plan of that number.",
                mend: "Use the Location that the batch was accepted with. Expired batches have to be sent again.",
            },
            Kind::BatchUnfinished => Told {
                name: "batch-unfinished",
                status: StatusCode::CONFLICT,
                title: "The batch is not finished",
                cause: "Totals and the order list are there once every plan of the batch is.",
                mend: "Try again after the seconds that the Retry-After header gives, or listen to the batch's events.",
            },
            Kind::FaultyHeader => Told {
                name: "faulty-header",
                status: StatusCode::BAD_REQUEST,
                title: "A header field cannot be read",
                cause: "The Idempotency-Key is empty, longer than 255 characters, given twice, or not printable ASCII; or the Last-Event-ID is no number.",
                mend: "Send a key such as a UUID, or leave the field out.",
            },
            Kind::KeyMissing => Told {
                name: "key-missing",
                status: StatusCode::UNAUTHORIZED,
                title: "The request has no key",
                cause: "The service is for those who have a key, and the request has no Authorization field with one.",
                mend: "Send Authorization: Bearer KEY, with the key that whoever runs the service gave you.",
            },
            Kind::KeyUnknown => Told {
                name: "key-unknown",
                status: StatusCode::UNAUTHORIZED,
                title: "The key is not known",
                cause: "The key is misspelt, or it was taken back.",
                mend: "Ask whoever runs the service for a new one.",
            },
            Kind::FaultyBatch => Told {
                name: "faulty-batch",
                status: StatusCode::UNPROCESSABLE_ENTITY,
                title: "The batch has faults",
                cause: "A field of the batch or of one of its scenarios is missing, unknown or cannot be read, or fields contradict each other.",
                mend: "Each fault gives its place as a JSON Pointer into the batch, what was seen there, and what would mend it.",
            },
            Kind::KeyUsedBefore => Told {
                name: "idempotency-key-used",
                status: StatusCode::UNPROCESSABLE_ENTITY,
                title: "The Idempotency-Key was used for another batch",
                cause: "The same client sent another body with this key before.",
                mend: "Send each batch with a key of its own, and with the same key only to send the very same batch once more.",
            },
            Kind::TooManyRequests => Told {
                name: "too-many-requests",
                status: StatusCode::TOO_MANY_REQUESTS,
                title: "The key has sent as many requests as it may",
                cause: "Each key may send so many requests a minute.",
                mend: "Try again after the seconds that the Retry-After header gives.",
            },
            Kind::TooManyWaiting => Told {
                name: "too-many-waiting",
                status: StatusCode::TOO_MANY_REQUESTS,
                title: "Too many requests of this client are waiting",
                cause: "The client has as many requests or late plans under way as one client may have.",
                mend: "Try again after the seconds that the Retry-After header gives, with fewer at once, or send a batch.",
            },
            Kind::TooManyBatches => Told {
                name: "too-many-batches",
                status: StatusCode::TOO_MANY_REQUESTS,
                title: "Too many batches of this client are unfinished",
                cause: "The client has as many unfinished batches as one client may have.",
                mend: "Wait until one of them is finished, or cancel one.",
            },
            Kind::StoreFailed => Told {
                name: "store-failed",
                status: StatusCode::SERVICE_UNAVAILABLE,
                title: "What is stored cannot be reached",
                cause: "The disk of the service is full or has failed.",
                mend: "Try again after the seconds that the Retry-After header gives; whoever runs the service finds more in its log.",
            },
            Kind::QueueFull => Told {
                name: "queue-full",
                status: StatusCode::SERVICE_UNAVAILABLE,
                title: "Too many requests are waiting",
                cause: "More is asked for at once than the service works on and lets wait.",
                mend: "Try again after the seconds that the Retry-After header gives.",
            },
            Kind::Closing => Told {
                name: "closing",
                status: StatusCode::SERVICE_UNAVAILABLE,
                title: "The service is stopping",
                cause: "The service was told to stop while the request was waiting or running.",
                mend: "Try again once it has been started anew.",
            },
            Kind::Internal => Told {
                name: "internal",
                status: StatusCode::INTERNAL_SERVER_ERROR,
                title: "The service failed",
                cause: "The program made an error.",
                mend: "This is an error of the program, not of the scenario. Please report it, with the scenario if you may share it.",
            },
        }
    }

    /// Whether its answer says after how many seconds another try may do.
    pub(in crate::http) fn says_when(self) -> bool {
        matches!(
            self.told().status,
            StatusCode::SERVICE_UNAVAILABLE | StatusCode::TOO_MANY_REQUESTS | StatusCode::CONFLICT
        )
    }
}
