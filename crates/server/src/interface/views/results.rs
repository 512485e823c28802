//! Results, what they stand on, and doubts about them.

use super::parts::{
    AttachmentGiven, DeviationGiven, Figure, Property, Recorded, attachments, code, codes,
    deviations, figure, properties, recorded, word,
};
use super::{Reading, View, listed, one};
use schemars::JsonSchema;
use serde::Serialize;
use stonewear_lab::agreement::{Agree, Pair};
use stonewear_lab::evidence::{Link, Proof};
use stonewear_lab::judgement::Judgement;

pub(super) fn views() -> Vec<View> {
    let mut views = Vec::new();
    views.extend(listed(
        ("/results", "/results/{code}"),
        ("results", "result"),
        "Losses with every version, judgement against the limit, agreement with what else is known, \
         release and doubts.",
        |reading| codes(reading.lab.results.keys()),
        result_given,
    ));
    views.push(one(
        "/results/{code}/evidence",
        "evidence",
        "What a result stands on, link by link: method, sample, specimens, runs, equipment and people, \
         each with what proved it when it was used.",
        |reading| {
            let result = reading.lab.results.get(reading.codes.first()?.as_str())?;
            let links = reading.lab.evidence(result).into_iter().map(link_given).collect();
            Some(Evidence { result: result.code.to_string(), links })
        },
    ));
    views.extend(listed(
        ("/doubts", "/doubts/{code}"),
        ("doubts", "doubt"),
        "Doubts: what turned out wrong, which results stand on it, what was decided about each.",
        |reading| codes(reading.lab.doubts.keys()),
        doubt_given,
    ));
    views
}

/// A person standing for a result.
#[derive(Debug, Serialize, JsonSchema)]
struct ReleaseGiven {
    /// Anything that the report should say.
    remark: String,
    deviations: Vec<DeviationGiven>,
    recorded: Recorded,
}

/// A version of a result.
#[derive(Debug, Serialize, JsonSchema)]
struct Version {
    /// The loss, %; absent where the test gives none.
    loss_percent: Option<Figure>,
    /// What the test gave beside it.
    properties: Vec<Property>,
    /// Why it replaces an earlier one; empty for the first.
    reason: String,
    /// By whom it was released.
    release: Option<ReleaseGiven>,
    recorded: Recorded,
}

/// A loss judged against a limit.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(rename = "Judgement")]
struct JudgementGiven {
    /// `conforms`, `conforms-in-guard-band`, `fails-in-guard-band`, `does-not-conform` or
    /// `not-decided`.
    verdict: String,
    /// The verdict in words.
    in_words: String,
    /// The rule: `simple`, `guarded` or `guarded-conditional` (ILAC-G8:09/2019).
    rule: String,
    /// The rule in words, with its risk.
    rule_in_words: String,
    /// The most loss that is allowed, %.
    limit_percent: Figure,
    /// The value that was compared, %.
    compared_percent: Figure,
    /// The most loss that the rule accepts, %.
    acceptance_percent: Option<Figure>,
    /// Standard uncertainty of the loss, % loss, where it is known.
    standard_percent: Option<Figure>,
    /// Expanded uncertainty (k = 2), % loss.
    expanded_percent: Option<Figure>,
    /// Probability that the verdict is wrong, a share from 0 to 1 to four decimals.
    probability_wrong: Option<Figure>,
    /// The same in words, or why it is not known.
    risk_in_words: String,
}

fn judgement_given(judgement: &Judgement) -> JudgementGiven {
    JudgementGiven {
        verdict: word(judgement.verdict),
        in_words: judgement.verdict.in_words().to_owned(),
        rule: word(judgement.rule),
        rule_in_words: judgement.rule_in_words(),
        limit_percent: figure(judgement.limit_percent),
        compared_percent: figure(judgement.compared_percent),
        acceptance_percent: judgement.acceptance_percent.map(figure),
        standard_percent: judgement.standard_percent().map(figure),
        expanded_percent: judgement.expanded_percent().map(figure),
        probability_wrong: judgement.probability_wrong().map(figure),
        risk_in_words: judgement.risk_in_words(),
    }
}

/// Two losses of one material held against each other.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(rename = "Pair")]
struct PairGiven {
    /// What they are losses of: `specimens`, `results` or `laboratories`.
    of: String,
    /// The first.
    one: String,
    /// Its loss, %.
    one_percent: Figure,
    /// The second, or the name of the other laboratory.
    other: String,
    /// Its loss, %.
    other_percent: Figure,
    /// How far they lie apart, % loss.
    difference_percent: Figure,
    /// Whether that is within the limit; absent where there is none.
    agree: Option<bool>,
    /// The limit, % loss.
    limit_percent: Option<Figure>,
    /// The pair in one sentence, with the source of the limit.
    in_words: String,
}

fn pair_given(pair: &Pair) -> PairGiven {
    let (agree, limit) = match &pair.agree {
        Agree::Yes(limit) => (Some(true), Some(limit)),
        Agree::No(limit) => (Some(false), Some(limit)),
        Agree::NotKnown { .. } => (None, None),
    };
    PairGiven {
        of: word(pair.of),
        one: pair.one.clone(),
        one_percent: figure(pair.one_percent),
        other: pair.other.clone(),
        other_percent: figure(pair.other_percent),
        difference_percent: figure(pair.difference_percent),
        agree,
        limit_percent: limit.map(|limit| figure(limit.limit_percent)),
        in_words: pair.in_words(),
    }
}

/// A loss.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(rename = "Result")]
struct ResultGiven {
    /// Its code.
    code: String,
    /// The sample.
    sample: String,
    /// The specimens that it was worked out from.
    specimens: Vec<String>,
    /// The method.
    method: String,
    /// The loss that counts, %; absent where the test gives none.
    loss_percent: Option<Figure>,
    /// What the test gave beside it.
    properties: Vec<Property>,
    /// Number of the version that counts, from 1.
    version: usize,
    /// Whether that version is released.
    released: bool,
    /// Every version, oldest first.
    versions: Vec<Version>,
    /// The loss judged against the limit of its sample; absent where there is none.
    judgement: Option<JudgementGiven>,
    /// The loss held against what else is known of the sample.
    agreement: Vec<PairGiven>,
    /// What follows from the agreement by the laboratory's policy, a sentence each.
    agreement_next: Vec<String>,
    /// Doubts that touch it, open or closed.
    doubts: Vec<String>,
    /// Whether one of them is still open for it.
    in_doubt: bool,
    deviations: Vec<DeviationGiven>,
    attachments: Vec<AttachmentGiven>,
}

fn result_given(reading: &Reading<'_>, typed: &str) -> Option<ResultGiven> {
    let lab = reading.lab;
    let result = lab.results.get(typed)?;
    let versions = result.versions.iter().map(|one| Version {
        loss_percent: one.value.loss_percent.map(figure),
        properties: properties(&one.value.properties),
        reason: one.value.reason.clone(),
        release: one.value.release.as_ref().map(|release| ReleaseGiven {
            remark: release.value.remark.clone(),
            deviations: deviations(&release.value.deviations),
            recorded: recorded(release),
        }),
        recorded: recorded(one),
    });
    let current = result.current().map(|current| &current.value);
    let agreement = lab.agreement(result);
    Some(ResultGiven {
        code: result.code.to_string(),
        sample: result.sample.to_string(),
        specimens: codes(&result.specimens),
        method: result.method.to_string(),
        loss_percent: current.and_then(|current| current.loss_percent).map(figure),
        properties: current.map_or_else(Vec::new, |current| properties(&current.properties)),
        version: result.version(),
        released: result.release().is_some(),
        versions: versions.collect(),
        judgement: lab.judgement(result).as_ref().map(judgement_given),
        agreement: agreement.pairs.iter().map(pair_given).collect(),
        agreement_next: agreement.next,
        doubts: codes(lab.doubts_of(&result.code).map(|doubt| &doubt.code)),
        in_doubt: lab.doubts_of(&result.code).any(|doubt| doubt.is_open_for(&result.code)),
        deviations: deviations(&result.deviations),
        attachments: attachments(lab.attachments_of(result.code.as_str())),
    })
}

/// What a result stands on.
#[derive(Debug, Serialize, JsonSchema)]
struct Evidence {
    /// The result.
    result: String,
    /// From the result back to what it stands on.
    links: Vec<LinkGiven>,
}

/// One link of the evidence of a result.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(rename = "EvidenceLink")]
struct LinkGiven {
    /// What it is about: `result`, `method`, `sample`, `specimen`, `run`, `item` or `person`.
    kind: String,
    /// What it is, in a word: `jar`, `balance`, `run by`.
    role: String,
    /// Its code.
    code: String,
    /// What people call it.
    name: String,
    /// `recorded`, `proved`, `authorised`, `supervised` or `not-proved`.
    state: String,
    /// The check, authorisation or person that proves it, or why nothing does; empty where nothing
    /// has to be proved.
    by: String,
    /// Since when it is proved, or when it was recorded.
    #[schemars(extend("format" = "date-time"))]
    since: Option<String>,
    /// Until when it is proved; absent when the proof does not run out.
    #[schemars(extend("format" = "date-time"))]
    until: Option<String>,
    /// Places in the journal of the facts that it rests on.
    positions: Vec<u64>,
}

fn link_given(link: Link) -> LinkGiven {
    let (state, by) = match &link.proof {
        Proof::Recorded => ("recorded", String::new()),
        Proof::Proved { check } => ("proved", check.to_string()),
        Proof::Authorised { authorisation } => ("authorised", authorisation.to_string()),
        Proof::Supervised { by } => ("supervised", by.to_string()),
        Proof::NotProved { why } => ("not-proved", why.clone()),
    };
    LinkGiven {
        kind: word(link.kind),
        state: state.to_owned(),
        by,
        since: code(&link.since),
        until: code(&link.until),
        role: link.role,
        code: link.code,
        name: link.name,
        positions: link.positions,
    }
}

/// What was decided about a result in doubt.
#[derive(Debug, Serialize, JsonSchema)]
struct Decision {
    /// The result.
    result: String,
    /// What was decided, and why.
    reason: String,
    recorded: Recorded,
}

/// Something that results stand on turned out wrong, or may have.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(rename = "Doubt")]
struct DoubtGiven {
    /// Its code.
    code: String,
    /// The item.
    item: String,
    /// What of it.
    attribute: String,
    /// The value as found.
    found: Option<Figure>,
    /// What happened.
    reason: String,
    /// The results in doubt.
    results: Vec<String>,
    /// Those that nobody has dealt with yet.
    open: Vec<String>,
    /// What was decided about the others.
    closed: Vec<Decision>,
    opened: Recorded,
}

fn doubt_given(reading: &Reading<'_>, typed: &str) -> Option<DoubtGiven> {
    let doubt = reading.lab.doubts.get(typed)?;
    let closed = doubt.closed.iter().map(|(result, reason)| Decision {
        result: result.to_string(),
        reason: reason.value.clone(),
        recorded: recorded(reason),
    });
    Some(DoubtGiven {
        code: doubt.code.to_string(),
        item: doubt.item.to_string(),
        attribute: doubt.attribute.clone(),
        found: doubt.found.map(figure),
        reason: doubt.opened.value.clone(),
        results: codes(&doubt.results),
        open: codes(doubt.open_results()),
        closed: closed.collect(),
        opened: recorded(&doubt.opened),
    })
}
