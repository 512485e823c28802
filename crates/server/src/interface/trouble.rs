//! What goes wrong, as programs are told it: problem details (RFC 9457), with every problem of a
//! request at its field.

use crate::papers::Withheld;
use axum::http::StatusCode;
use axum::http::header::{CONTENT_TYPE, HeaderName, HeaderValue, RETRY_AFTER, WWW_AUTHENTICATE};
use axum::response::{IntoResponse, Response};
use schemars::JsonSchema;
use serde::Serialize;
use stonewear_access::Scope;
use stonewear_journal::StoreError;
use stonewear_lab::{Problem, Refusal};
use stonewear_runtime::SubmitError;

/// What kind of trouble it is. Each has an address of its own, which `docs/interface.md` explains.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Kind {
    Malformed,
    NoToken,
    ScopeTooNarrow,
    NotAllowed,
    ForeignPage,
    NotFound,
    WrongMethod,
    NotAcceptable,
    MovedOn,
    TooLarge,
    WrongType,
    Refused,
    KeyUsed,
    Failed,
    NotRecorded,
}

impl Kind {
    /// Every kind: its name in the address of its type, its status, its title.
    pub(crate) const ALL: [(Self, &'static str, StatusCode, &'static str); 15] = [
        (Self::Malformed, "malformed", StatusCode::BAD_REQUEST, "The request cannot be read"),
        (Self::NoToken, "no-token", StatusCode::UNAUTHORIZED, "No token lets you in"),
        (
            Self::ScopeTooNarrow,
            "scope-too-narrow",
            StatusCode::FORBIDDEN,
            "The token does not go so far",
        ),
        (Self::NotAllowed, "not-allowed", StatusCode::FORBIDDEN, "The person may not do this"),
        (
            Self::ForeignPage,
            "foreign-page",
            StatusCode::FORBIDDEN,
            "Not from this machine, or from another page",
        ),
        (Self::NotFound, "not-found", StatusCode::NOT_FOUND, "There is nothing here"),
        (
            Self::WrongMethod,
            "wrong-method",
            StatusCode::METHOD_NOT_ALLOWED,
            "This cannot be done with this address",
        ),
        (
            Self::NotAcceptable,
            "not-acceptable",
            StatusCode::NOT_ACCEPTABLE,
            "It does not come in this form",
        ),
        (Self::MovedOn, "moved-on", StatusCode::CONFLICT, "Somebody else was quicker"),
        (Self::TooLarge, "too-large", StatusCode::PAYLOAD_TOO_LARGE, "That is too much at once"),
        (
            Self::WrongType,
            "wrong-type",
            StatusCode::UNSUPPORTED_MEDIA_TYPE,
            "The body is of another kind",
        ),
        (Self::Refused, "refused", StatusCode::UNPROCESSABLE_ENTITY, "The laboratory refuses"),
        (
            Self::KeyUsed,
            "key-used",
            StatusCode::UNPROCESSABLE_ENTITY,
            "The key belongs to another request",
        ),
        (Self::Failed, "failed", StatusCode::INTERNAL_SERVER_ERROR, "The program failed"),
        (
            Self::NotRecorded,
            "not-recorded",
            StatusCode::SERVICE_UNAVAILABLE,
            "Nothing can be recorded now",
        ),
    ];

    fn told(self) -> (&'static str, StatusCode, &'static str) {
        let found = Self::ALL.iter().find(|(kind, ..)| *kind == self);
        found.map_or(
            ("failed", StatusCode::INTERNAL_SERVER_ERROR, ""),
            |(_, name, status, title)| (name, *status, title),
        )
    }

    /// The status that it is answered with.
    pub(crate) fn status(self) -> StatusCode {
        self.told().1
    }

    /// The address of its type.
    pub(crate) fn address(self) -> String {
        format!("{}/problems/{}", super::ROOT, self.told().0)
    }
}

/// One thing that is wrong with a request.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub(crate) struct FieldProblem {
    /// The field: `mass_g`, `placements.0.jar`; empty for the request as a whole.
    field: String,
    /// A short stable name of the rule that says so: `item-not-in-service`.
    rule: String,
    /// What is wrong.
    message: String,
    /// What would be right; may be empty.
    hint: String,
    /// Whether a person may go on all the same by giving a reason as `deviation`.
    excusable: bool,
}

/// Problem details by RFC 9457.
#[derive(Debug, Clone, Serialize, JsonSchema)]
#[schemars(rename = "Problem")]
pub(crate) struct ProblemDetails {
    /// The address of its kind, relative to this server.
    #[serde(rename = "type")]
    kind: String,
    /// Its kind, in a few words.
    title: String,
    /// The status of the answer.
    status: u16,
    /// What went wrong this time, and what would be right.
    detail: String,
    /// Everything that is wrong with the request, each at its field.
    problems: Vec<FieldProblem>,
    /// Whether the request would be taken with a reason as `deviation`, because every problem is
    /// excusable.
    excusable: bool,
}

/// Something that went wrong.
#[derive(Debug, Clone)]
pub(crate) struct Trouble {
    kind: Kind,
    detail: String,
    problems: Vec<Problem>,
    // Boxed, so that an answer that went well is not made large by it.
    header: Option<Box<(HeaderName, HeaderValue)>>,
}

impl Trouble {
    pub(crate) fn new(kind: Kind, detail: impl Into<String>) -> Self {
        Self { kind, detail: detail.into(), problems: Vec::new(), header: None }
    }

    /// The request cannot be read, for these reasons.
    pub(super) fn malformed(problems: Vec<Problem>) -> Self {
        Self { problems, ..Self::new(Kind::Malformed, "the body is not a request of this kind") }
    }

    /// Nobody is let in. The header tells what would open (RFC 6750).
    pub(super) fn no_token(why: &str, presented: bool) -> Self {
        let wanted = if presented {
            format!(
                "Bearer realm=\"stonewear\", error=\"invalid_token\", error_description=\"{why}\""
            )
        } else {
            "Bearer realm=\"stonewear\"".to_owned()
        };
        let detail = format!(
            "{why}; send `Authorization: Bearer TOKEN` with a token made by `stonewear token new`"
        );
        Self { header: header(WWW_AUTHENTICATE, &wanted), ..Self::new(Kind::NoToken, detail) }
    }

    /// The token does not go so far.
    pub(super) fn scope_too_narrow(has: Scope, wanted: Scope) -> Self {
        let told = format!("Bearer error=\"insufficient_scope\", scope=\"{wanted}\"");
        let detail = format!("this needs a token of the scope {wanted}, and yours is for {has}");
        Self { header: header(WWW_AUTHENTICATE, &told), ..Self::new(Kind::ScopeTooNarrow, detail) }
    }

    /// It cannot be answered now.
    pub(super) fn not_recorded(detail: impl Into<String>) -> Self {
        Self { header: header(RETRY_AFTER, "5"), ..Self::new(Kind::NotRecorded, detail) }
    }

    /// A paper is not handed out.
    pub(super) fn withheld(why: Withheld) -> Self {
        let kind = match why.status {
            StatusCode::NOT_FOUND => Kind::NotFound,
            StatusCode::UNPROCESSABLE_ENTITY => Kind::Refused,
            _ => Kind::Failed,
        };
        Self::new(kind, why.words)
    }

    pub(super) fn kind(&self) -> Kind {
        self.kind
    }

    /// The body of the answer.
    pub(super) fn body(&self) -> Vec<u8> {
        let (_, status, title) = self.kind.told();
        let excusable =
            !self.problems.is_empty() && self.problems.iter().all(|problem| problem.excusable);
        let problems = self.problems.iter().map(|problem| FieldProblem {
            field: problem.field.clone(),
            rule: problem.rule.to_owned(),
            message: problem.message.clone(),
            hint: problem.hint.clone(),
            excusable: problem.excusable,
        });
        let details = ProblemDetails {
            kind: self.kind.address(),
            title: title.to_owned(),
            status: status.as_u16(),
            detail: self.detail.clone(),
            problems: problems.collect(),
            excusable,
        };
        serde_json::to_vec(&details).unwrap_or_default()
    }
}

fn header(name: HeaderName, value: &str) -> Option<Box<(HeaderName, HeaderValue)>> {
    // Words of ours may hold signs that a header cannot carry.
    let plain: String = value.chars().filter(|sign| (' '..='~').contains(sign)).collect();
    HeaderValue::from_str(&plain).ok().map(|value| Box::new((name, value)))
}

impl From<Refusal> for Trouble {
    fn from(refusal: Refusal) -> Self {
        let of_person = |problem: &Problem| {
            problem.field == "by" && matches!(problem.rule, "right-missing" | "person-unknown")
        };
        let kind =
            if refusal.problems.iter().any(of_person) { Kind::NotAllowed } else { Kind::Refused };
        let detail = refusal.to_string().replace('\n', ". ");
        Self { problems: refusal.problems, ..Self::new(kind, detail) }
    }
}

impl From<StoreError> for Trouble {
    fn from(error: StoreError) -> Self {
        match error {
            StoreError::Conflict { .. } => Self::new(Kind::MovedOn, error.to_string()),
            StoreError::Draft { .. } => Self::new(Kind::Refused, error.to_string()),
            _ => Self::not_recorded(error.to_string()),
        }
    }
}

impl From<SubmitError> for Trouble {
    fn from(error: SubmitError) -> Self {
        match error {
            SubmitError::Refused(refusal) => refusal.into(),
            SubmitError::Store(error) => error.into(),
            SubmitError::ReadOnly(_) | SubmitError::Clock(_) => {
                Self::not_recorded(error.to_string())
            }
        }
    }
}

impl IntoResponse for Trouble {
    fn into_response(self) -> Response {
        let kind = HeaderValue::from_static("application/problem+json");
        let mut response =
            (self.kind.status(), [(CONTENT_TYPE, kind)], self.body()).into_response();
        if let Some((name, value)) = self.header.map(|header| *header) {
            response.headers_mut().insert(name, value);
        }
        response
    }
}
