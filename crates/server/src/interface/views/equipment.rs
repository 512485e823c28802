//! Equipment, its checks, and whether testing can begin.

use super::parts::{
    AttachmentGiven, Document, Figure, Recorded, attachments, code, codes, document, figure,
    recorded, word,
};
use super::{Reading, View, listed, many, one};
use schemars::JsonSchema;
use serde::Serialize;
use stonewear_lab::fact::Seen;
use stonewear_lab::ready::{Lack, Readiness};
use stonewear_lab::state::CheckState;

pub(super) fn views() -> Vec<View> {
    let mut views = Vec::new();
    views.extend(listed(
        ("/equipment", "/equipment/{code}"),
        ("equipment", "item"),
        "Equipment: what it is, where it stands, what proves it and until when.",
        |reading| codes(reading.lab.items.keys()),
        item_given,
    ));
    views.push(
        one(
            "/equipment/{code}/wear",
            "wear",
            "How a ball charge wears: the readings of its mass, the trend, when it leaves its tolerance.",
            wear_given,
        )
        .timely(),
    );
    views.extend(listed(
        ("/checks", "/checks/{code}"),
        ("checks", "check"),
        "Checks of equipment, with every observation and its verdict.",
        |reading| codes(reading.lab.checks.keys()),
        check_given,
    ));
    views.push(
        many(
            "/readiness",
            "readiness",
            "For every machine and every method that it runs: whether a test can begin, until when, \
             and what is missing.",
            |reading| {
                let all = reading.lab.readiness(reading.now);
                all.iter().map(|one| format!("{}/{}", one.apparatus, one.method)).collect()
            },
            |reading, key| {
                let all = reading.lab.readiness(reading.now);
                let one = all.iter().find(|one| format!("{}/{}", one.apparatus, one.method) == key);
                one.map(readiness_given)
            },
        )
        .timely(),
    );
    views
}

/// A change of where an item stands.
#[derive(Debug, Serialize, JsonSchema)]
struct StandingGiven {
    /// `being-proved`, `in-service`, `held` or `retired`.
    standing: String,
    /// Why.
    reason: String,
    recorded: Recorded,
}

/// What proves an item.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(rename = "ItemProof")]
struct ProofGiven {
    /// The check that it passed.
    check: String,
    /// Until when; absent when the proof does not run out.
    #[schemars(extend("format" = "date-time"))]
    until: Option<String>,
}

/// A piece of equipment.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(rename = "Item")]
struct ItemGiven {
    /// The code marked on it.
    code: String,
    /// What it is: `apparatus`, `jar`, `ball-charge`, …
    kind: String,
    /// What people call it.
    name: String,
    /// Who made it, and its number.
    maker_and_serial: String,
    /// Opening of a sieve, mm.
    opening_mm: Option<Figure>,
    /// The smallest step that an instrument shows, in the unit that it reads.
    resolution: Option<Figure>,
    /// How an apparatus is built.
    apparatus: Option<Document>,
    /// Where it stands: `being-proved`, `in-service`, `held` or `retired`.
    standing: String,
    /// What proves it.
    proof: Option<ProofGiven>,
    /// Every change of its standing, oldest first.
    standings: Vec<StandingGiven>,
    /// Its checks, oldest first.
    checks: Vec<String>,
    attachments: Vec<AttachmentGiven>,
    registered: Recorded,
}

fn item_given(reading: &Reading<'_>, typed: &str) -> Option<ItemGiven> {
    let lab = reading.lab;
    let item = lab.items.get(typed)?;
    let standings = item.standings.iter().map(|one| StandingGiven {
        standing: word(one.value.standing),
        reason: one.value.reason.clone(),
        recorded: recorded(one),
    });
    let proof = lab.proof_of(&item.code).map(|check| ProofGiven {
        check: check.code.to_string(),
        until: code(&lab.proves_until(check)),
    });
    Some(ItemGiven {
        code: item.code.to_string(),
        kind: word(item.kind),
        name: item.name.clone(),
        maker_and_serial: item.maker_and_serial.clone(),
        opening_mm: item.opening_mm.map(figure),
        resolution: item.resolution.map(figure),
        apparatus: item.apparatus.as_ref().map(document),
        standing: word(item.standing()),
        proof,
        standings: standings.collect(),
        checks: codes(lab.checks_of(&item.code).map(|check| &check.code)),
        attachments: attachments(lab.attachments_of(item.code.as_str())),
        registered: recorded(&item.registered),
    })
}

/// A reading of the mass of a charge.
#[derive(Debug, Serialize, JsonSchema)]
struct MassReadingGiven {
    /// The mass, g.
    mass_g: Figure,
    /// Revolutions that the charge had turned by then.
    revolutions: Figure,
    /// When.
    #[schemars(extend("format" = "date-time"))]
    at: String,
    /// Where it was read.
    read: String,
    /// The stretch between changes of the charge that it belongs to, from 0.
    stretch: usize,
}

/// How a ball charge wears.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(rename = "Wear")]
struct WearGiven {
    /// The charge.
    charge: String,
    /// Revolutions that it has turned in all.
    revolutions: Figure,
    /// Runs that it turned in.
    runs: usize,
    /// The mass that it has to keep, in words with its unit; absent where nothing says so.
    tolerance: Option<String>,
    /// What it loses, g per 1,000 revolutions; absent where that cannot be said.
    rate_g_per_1000: Option<f64>,
    /// The 95 % interval of that rate, g per 1,000 revolutions.
    rate_interval: Option<[f64; 2]>,
    /// The rate in a sentence, or why there is none.
    rate_in_words: String,
    /// When it leaves its tolerance, in a sentence, or why that cannot be said.
    forecast_in_words: String,
    /// How kinds of stone differ, in a sentence.
    stones_in_words: String,
    /// Every reading of its mass, oldest first.
    readings: Vec<MassReadingGiven>,
}

fn wear_given(reading: &Reading<'_>) -> Option<WearGiven> {
    let code = reading.codes.first()?.as_str();
    let wear = reading.lab.wear(&code.into(), reading.now)?;
    let readings = wear.history.readings.iter().map(|one| MassReadingGiven {
        mass_g: figure(one.mass_g),
        revolutions: figure(one.turned),
        at: one.at.to_string(),
        read: one.from.in_words(),
        stretch: one.segment,
    });
    let trend = wear.trend.as_ref().ok();
    let interval = trend.and_then(|trend| trend.interval.as_ref().ok());
    Some(WearGiven {
        charge: wear.history.charge.to_string(),
        revolutions: figure(wear.history.turned),
        runs: wear.history.turnings.len(),
        tolerance: wear.tolerance.as_ref().map(|one| format!("{} g, {}", one.limits, one.source)),
        rate_g_per_1000: trend.map(|trend| trend.rate),
        rate_interval: interval.map(|interval| [interval.lower, interval.upper]),
        rate_in_words: wear.rate_in_words(),
        forecast_in_words: wear.forecast_in_words(),
        stones_in_words: wear.stones().verdict,
        readings: readings.collect(),
    })
}

/// What was really seen, where an observation was corrected.
#[derive(Debug, Serialize, JsonSchema)]
struct ObservationCorrected {
    /// `yes`, `no`, or the number that was read.
    seen: String,
    /// Whether it was as it must be.
    passed: bool,
    /// Why it was recorded otherwise.
    reason: String,
    recorded: Recorded,
}

/// What was seen or read in a step.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(rename = "Observation")]
struct ObservationGiven {
    /// The step.
    step: String,
    /// `yes`, `no`, or the number that was read.
    seen: String,
    /// Whether it was as it must be.
    passed: bool,
    /// What a number was read with.
    instrument: Option<String>,
    /// Expanded uncertainty (k = 2) of the number, where the verdict was guarded with it.
    uncertainty: Option<Figure>,
    /// Anything worth keeping.
    note: String,
    /// What it was corrected to later.
    corrected: Option<ObservationCorrected>,
    recorded: Recorded,
}

/// A check of an item.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(rename = "Check")]
struct CheckGiven {
    /// Its code.
    code: String,
    /// The item.
    item: String,
    /// The procedure.
    procedure: String,
    /// Its title.
    title: String,
    /// `going`, `passed` or `not-passed`.
    state: String,
    /// The step that it waits for.
    next_step: Option<String>,
    /// Why it was given up, if it was.
    given_up: String,
    /// Until when it proves its item, if it does and a pass runs out.
    #[schemars(extend("format" = "date-time"))]
    proves_until: Option<String>,
    /// Every observation, in order; repeats stay.
    observations: Vec<ObservationGiven>,
    attachments: Vec<AttachmentGiven>,
    started: Recorded,
    ended: Option<Recorded>,
}

fn seen(what: &Seen) -> String {
    match what {
        Seen::AsExpected(true) => "yes".to_owned(),
        Seen::AsExpected(false) => "no".to_owned(),
        Seen::Number(number) => number.to_string(),
    }
}

fn check_given(reading: &Reading<'_>, typed: &str) -> Option<CheckGiven> {
    let check = reading.lab.checks.get(typed)?;
    let observations = check.observations.iter().map(|one| ObservationGiven {
        step: one.value.step.clone(),
        seen: seen(&one.value.seen),
        passed: one.value.passed,
        instrument: code(&one.value.instrument),
        uncertainty: one.value.uncertainty.map(figure),
        note: one.value.note.clone(),
        corrected: one.value.corrected.as_ref().map(|corrected| ObservationCorrected {
            seen: seen(&corrected.value.seen),
            passed: corrected.value.passed,
            reason: corrected.value.reason.clone(),
            recorded: recorded(corrected),
        }),
        recorded: recorded(one),
    });
    let (state, next_step) = match check.state() {
        CheckState::At(step) => ("going", Some(step.id.clone())),
        CheckState::Ended { passed: true } => ("passed", None),
        CheckState::Ended { passed: false } => ("not-passed", None),
    };
    Some(CheckGiven {
        code: check.code.to_string(),
        item: check.item.to_string(),
        procedure: check.procedure.id.clone(),
        title: check.procedure.title.clone(),
        state: state.to_owned(),
        next_step,
        given_up: check.ended.as_ref().map(|end| end.value.reason.clone()).unwrap_or_default(),
        proves_until: code(&reading.lab.proves_until(check)),
        observations: observations.collect(),
        attachments: attachments(reading.lab.attachments_of(check.code.as_str())),
        started: recorded(&check.started),
        ended: check.ended.as_ref().map(recorded),
    })
}

/// Something that is missing.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(rename = "Lack")]
struct LackGiven {
    /// What it is about.
    what: String,
    /// Why it does not do.
    why: String,
    /// What would mend it.
    mend: String,
}

/// A proof that holds.
#[derive(Debug, Serialize, JsonSchema)]
struct HoldingGiven {
    /// The item.
    item: String,
    /// Until when; absent when its proof does not run out.
    #[schemars(extend("format" = "date-time"))]
    until: Option<String>,
}

/// Whether a method can be tested with an apparatus now.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(rename = "Readiness")]
pub(super) struct ReadinessGiven {
    /// The apparatus.
    apparatus: String,
    /// The method.
    method: String,
    /// Nothing is missing.
    ready: bool,
    /// When the first proof runs out that it rests on.
    #[schemars(extend("format" = "date-time"))]
    until: Option<String>,
    /// The proofs that it rests on.
    rests_on: Vec<HoldingGiven>,
    /// What is missing.
    lacks: Vec<LackGiven>,
    /// What soon will be.
    warnings: Vec<LackGiven>,
}

pub(super) fn readiness_given(readiness: &Readiness) -> ReadinessGiven {
    let lacks = |all: &[Lack]| {
        let given = |lack: &Lack| LackGiven {
            what: lack.what.clone(),
            why: lack.why.clone(),
            mend: lack.mend.clone(),
        };
        all.iter().map(given).collect()
    };
    let rests_on = readiness
        .rests_on
        .iter()
        .map(|one| HoldingGiven { item: one.item.to_string(), until: code(&one.until) });
    ReadinessGiven {
        apparatus: readiness.apparatus.to_string(),
        method: readiness.method.to_string(),
        ready: readiness.ready,
        until: code(&readiness.until),
        rests_on: rests_on.collect(),
        lacks: lacks(&readiness.lacks),
        warnings: lacks(&readiness.warnings),
    }
}
