//! Recording once: a request with a key that was seen before is answered as it was the first time.
//!
//! The key travels in the envelope of every fact that the request became, so facts and key are on
//! the disk in one transaction, and no crash comes between them. A refusal leaves no fact; it is kept
//! beside the journal, and should a crash come before, the request is decided anew, which is as good.

use super::trouble::{Kind, Trouble};
use crate::app::App;
use axum::http::header::{CONTENT_TYPE, HeaderName, LOCATION};
use axum::http::{HeaderMap, HeaderValue, StatusCode};
use axum::response::{IntoResponse, Response};
use schemars::JsonSchema;
use serde::Serialize;
use stonewear_access::{Bearer, KeptAnswer};
use stonewear_journal::Hash;
use stonewear_lab::Fact;
use stonewear_lab::fact::round::RoundFact;
use stonewear_runtime::{KeptFact, OpenLaboratory, Receipt, SubmitError};

/// Names a request, so that it happens once however often it is sent.
const KEY: HeaderName = HeaderName::from_static("idempotency-key");
/// Longer keys are refused.
const LONGEST_KEY: usize = 200;
/// Digits of the hash that tells one request from another.
const PRINT: usize = 32;

/// A fact as programs are given it.
#[derive(Debug, Clone, Serialize, JsonSchema)]
#[schemars(rename = "Fact")]
pub(crate) struct FactGiven {
    /// Its place in the journal, from 1; absent in a rehearsal.
    pub(crate) position: Option<u64>,
    /// The SHA-256 of its entry, as hexadecimal; absent in a rehearsal.
    pub(crate) hash: Option<String>,
    /// When it was recorded, RFC 3339.
    #[schemars(extend("format" = "date-time"))]
    pub(crate) at: String,
    /// Who gave it, by initials.
    pub(crate) by: String,
    /// The token that it came through, by its code; absent for the page and the command line.
    pub(crate) through: Option<String>,
    /// What happened: `mass-weighed`.
    pub(crate) kind: String,
    /// The fact as the journal keeps it; readings are decimal text, exactly as read.
    pub(crate) fact: serde_json::Map<String, serde_json::Value>,
}

impl From<KeptFact> for FactGiven {
    fn from(kept: KeptFact) -> Self {
        Self {
            position: Some(kept.position),
            hash: Some(kept.hash.clone()),
            at: kept.at.to_string(),
            by: kept.by.clone(),
            through: through(&kept.request).map(str::to_owned),
            kind: kept.kind().to_owned(),
            fact: match kept.fact {
                serde_json::Value::Object(fact) => fact,
                _ => serde_json::Map::new(),
            },
        }
    }
}

/// What became of a request.
#[derive(Debug, Clone, Serialize, JsonSchema)]
#[schemars(rename = "Receipt")]
pub(super) struct ReceiptGiven {
    /// The name of the request.
    pub(super) request: String,
    /// Whether it was a rehearsal: nothing was recorded.
    pub(super) dry_run: bool,
    /// The codes of what is new: a sample, a run, a result.
    pub(super) codes: Vec<String>,
    /// The facts that followed, in order.
    pub(super) facts: Vec<FactGiven>,
}

/// The token that a fact came through, by the key of its request.
fn through(key: &str) -> Option<&str> {
    key.strip_prefix("via ")?.split_once('/').map(|(token, _)| token)
}

/// What a request is recorded under.
pub(super) struct Once {
    /// The key that the sender gave, if one was given.
    key: Option<String>,
    token: String,
    print: String,
}

impl Once {
    /// # Errors
    /// When the key cannot be used.
    pub(super) fn new(
        headers: &HeaderMap,
        bearer: &Bearer,
        sent: &[&[u8]],
    ) -> Result<Self, Trouble> {
        let mut keys = headers.get_all(KEY).iter();
        let key = match (keys.next(), keys.next()) {
            (None, _) => None,
            (Some(key), None) => {
                let key = key.to_str().unwrap_or_default();
                let is_good = (1..=LONGEST_KEY).contains(&key.len())
                    && key.bytes().all(|byte| byte.is_ascii_graphic());
                if !is_good {
                    return Err(Trouble::new(
                        Kind::Malformed,
                        format!(
                            "Idempotency-Key is 1 to {LONGEST_KEY} visible ASCII signs without spaces; \
                             a UUID will do"
                        ),
                    ));
                }
                Some(key.to_owned())
            }
            (Some(_), Some(_)) => {
                return Err(Trouble::new(Kind::Malformed, "there are two Idempotency-Key headers"));
            }
        };
        let mut print = Hash::of(&sent.join(&b"\n"[..])).to_string();
        print.truncate(PRINT);
        Ok(Self { key, token: bearer.token.clone(), print })
    }

    /// How the keys of this request's facts begin, whatever was sent with it.
    fn beginning(&self) -> Option<String> {
        self.key.as_ref().map(|key| format!("via {}/{key}#", self.token))
    }

    fn envelope_key(&self) -> String {
        match self.beginning() {
            Some(beginning) => beginning + &self.print,
            None => format!("via {}/{}", self.token, uuid::Uuid::new_v4()),
        }
    }
}

/// Records a request, or answers as it was answered before. Waits for the disk.
pub(super) fn once(
    app: &App,
    name: &str,
    once: &Once,
    submit: impl FnOnce(&mut OpenLaboratory, &str) -> Result<Receipt, SubmitError>,
) -> Response {
    // Two of the same key at once: the second waits here, and is then told what the first was.
    let mut laboratory = app.write();
    match before(app, &laboratory, name, once) {
        Ok(Some(answer)) => return answer,
        Ok(None) => {}
        Err(trouble) => return trouble.into_response(),
    }
    let submitted = submit(&mut laboratory, &once.envelope_key());
    app.news.tell(laboratory.head().position);
    let answer = match submitted {
        Ok(receipt) => recorded(&laboratory, name, &receipt.positions),
        Err(error) => Err(error.into()),
    };
    let (status, body) = match &answer {
        // What became facts is found by them.
        Ok(receipt) if !receipt.facts.is_empty() => return given(receipt),
        Ok(receipt) => (StatusCode::CREATED, serde_json::to_vec(receipt).unwrap_or_default()),
        Err(trouble) => (trouble.kind().status(), trouble.body()),
    };
    if let (Some(beginning), Ok(access), false) =
        (once.beginning(), &app.access, status.is_server_error())
    {
        let kept = KeptAnswer { print: once.print.clone(), status: status.as_u16(), body };
        if let Err(error) = access.keep_answer(&beginning, &kept, laboratory.now()) {
            return Trouble::not_recorded(error.to_string()).into_response();
        }
    }
    answer.map_or_else(IntoResponse::into_response, |receipt| given(&receipt))
}

/// The answer that this request had before, if it had one.
fn before(
    app: &App,
    laboratory: &OpenLaboratory,
    name: &str,
    once: &Once,
) -> Result<Option<Response>, Trouble> {
    let Some(beginning) = once.beginning() else { return Ok(None) };
    let used = || {
        Trouble::new(
            Kind::KeyUsed,
            "this Idempotency-Key was sent before with another request; take a new key for a new request",
        )
    };
    let mut positions = Vec::new();
    for (position, key) in laboratory.keyed(&beginning)? {
        // A longer key may begin with this one and its sign: its rest is longer, too.
        let print = key.get(beginning.len()..).unwrap_or_default();
        if print.len() == PRINT && print.bytes().all(|byte| byte.is_ascii_hexdigit()) {
            if print != once.print {
                return Err(used());
            }
            positions.push(position);
        }
    }
    if !positions.is_empty() {
        return Ok(Some(given(&recorded(laboratory, name, &positions)?)));
    }
    let access = app.access.as_ref().map_err(|error| Trouble::not_recorded(error.clone()))?;
    let kept =
        access.kept_answer(&beginning).map_err(|error| Trouble::not_recorded(error.to_string()))?;
    let Some(kept) = kept else { return Ok(None) };
    if kept.print != once.print {
        return Err(used());
    }
    let status = StatusCode::from_u16(kept.status).unwrap_or(StatusCode::UNPROCESSABLE_ENTITY);
    let kind = if status.is_success() { "application/json" } else { "application/problem+json" };
    Ok(Some((status, [(CONTENT_TYPE, HeaderValue::from_static(kind))], kept.body).into_response()))
}

/// What stands recorded at these places: the same whenever it is asked for.
fn recorded(
    laboratory: &OpenLaboratory,
    name: &str,
    positions: &[u64],
) -> Result<ReceiptGiven, Trouble> {
    let kept = laboratory.facts_at(positions)?;
    let codes = kept
        .iter()
        .filter_map(|kept| serde_json::from_value::<Fact>(kept.fact.clone()).ok())
        .filter_map(|fact| new_code(&fact))
        .collect();
    Ok(ReceiptGiven {
        request: name.to_owned(),
        dry_run: false,
        codes,
        facts: kept.into_iter().map(FactGiven::from).collect(),
    })
}

fn given(receipt: &ReceiptGiven) -> Response {
    let first = receipt.facts.first().and_then(|fact| fact.position);
    let body = serde_json::to_vec(receipt).unwrap_or_default();
    let kind = HeaderValue::from_static("application/json");
    let mut response = (StatusCode::CREATED, [(CONTENT_TYPE, kind)], body).into_response();
    let place = first.map(|position| format!("{}/facts/{position}", super::ROOT));
    if let Some(Ok(place)) = place.map(|place| HeaderValue::from_str(&place)) {
        response.headers_mut().insert(LOCATION, place);
    }
    response
}

/// The code that a fact brings into the world.
pub(super) fn new_code(fact: &Fact) -> Option<String> {
    match fact {
        Fact::PersonAdded { person, .. } => Some(person.to_string()),
        Fact::AuthorisationGranted(granted) => Some(granted.authorisation.to_string()),
        Fact::MethodAdopted { method } => Some(method.key().to_string()),
        Fact::ItemRegistered { item, .. } => Some(item.to_string()),
        Fact::CheckStarted { check, .. } => Some(check.to_string()),
        Fact::SampleReceived { sample, .. } => Some(sample.to_string()),
        Fact::SpecimenBegun { specimen, .. } => Some(specimen.to_string()),
        Fact::RunStarted { run, .. } => Some(run.to_string()),
        Fact::ResultWorkedOut { result, .. } => Some(result.to_string()),
        Fact::DoubtOpened { doubt, .. } => Some(doubt.to_string()),
        Fact::StudyPlanned(plan) => Some(plan.study.to_string()),
        Fact::LotRegistered(lot) => Some(lot.lot.to_string()),
        Fact::InvestigationOpened(opened) => Some(opened.investigation.to_string()),
        Fact::Round(RoundFact::Planned(plan)) => Some(plan.round.to_string()),
        Fact::ExperimentPlanned(plan) => Some(plan.experiment.to_string()),
        Fact::ExperimentImported(imported) => Some(imported.experiment.to_string()),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_token_of_a_fact_stands_in_its_key() {
        assert_eq!(through("via T-12/a/b#00"), Some("T-12"));
        assert_eq!(through("0b2e7c8e-40a7-4b2c-9d0e-000000000000"), None);
        assert_eq!(through("via nothing"), None);
    }
}
