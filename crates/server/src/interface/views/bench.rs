//! What lies on the benches: samples, specimens, runs.

use super::parts::{
    AttachmentGiven, DeviationGiven, Document, Figure, Recorded, attachments, code, codes,
    deviations, document, figure, recorded, word,
};
use super::{Reading, View, listed};
use schemars::JsonSchema;
use serde::Serialize;
use stonewear_lab::fact::Placed;
use stonewear_lab::state::{Noted, Sample, Specimen, Stopped, WeighedMass};

pub(super) fn views() -> Vec<View> {
    let mut views = Vec::new();
    views.extend(listed(
        ("/samples", "/samples/{code}"),
        ("samples", "sample"),
        "What was received, with its chain of custody, sieve analyses and specimens.",
        |reading| codes(reading.lab.samples.keys()),
        |reading, code| reading.lab.samples.get(code).map(|sample| sample_given(reading, sample)),
    ));
    views.extend(listed(
        ("/specimens", "/specimens/{code}"),
        ("specimens", "specimen"),
        "What was made up for one jar, with every mass and reading; of each the last one counts.",
        |reading| codes(reading.lab.specimens.keys()),
        |reading, code| {
            reading.lab.specimens.get(code).map(|specimen| specimen_given(reading, specimen))
        },
    ));
    views.extend(listed(
        ("/runs", "/runs/{code}"),
        ("runs", "run"),
        "Turnings of jars: what lay where, how they ended, what was corrected.",
        |reading| codes(reading.lab.runs.keys()),
        run_given,
    ));
    views
}

/// A step of the chain of custody.
#[derive(Debug, Serialize, JsonSchema)]
struct CustodyStep {
    /// What became of the sample: `handed-over`, `stored`, `split`, `returned`, `disposed`.
    step: String,
    /// Who had it before.
    from: String,
    /// Who has it, or the part split off, now.
    to: Option<String>,
    /// Where it is kept now.
    place: String,
    /// Its condition, where that was noted.
    condition: String,
    /// Anything worth keeping.
    note: String,
    recorded: Recorded,
}

/// What another laboratory found on its part of a sample.
#[derive(Debug, Serialize, JsonSchema)]
struct OutsideResult {
    /// By which method.
    method: String,
    /// Which laboratory.
    laboratory: String,
    /// The loss that it reported, %.
    loss_percent: Figure,
    /// The document that says so.
    document: String,
    recorded: Recorded,
}

/// What one sieve kept.
#[derive(Debug, Serialize, JsonSchema)]
struct SieveKept {
    /// Its opening, mm.
    sieve_mm: Figure,
    /// Mass kept on it, g.
    retained_g: Figure,
}

/// A sieve analysis.
#[derive(Debug, Serialize, JsonSchema)]
struct Sieving {
    /// What each sieve kept, coarsest first.
    retained: Vec<SieveKept>,
    /// What the pan held, g.
    pan_g: Figure,
    /// Oven-dry mass before, g.
    before_g: Option<Figure>,
    /// Oven-dry mass after washing, g.
    after_wash_g: Option<Figure>,
    /// The nominal maximum size that followed, mm.
    nominal_maximum_mm: Option<Figure>,
    /// The balance.
    balance: String,
    /// Why it replaced an earlier analysis, if it did.
    reason: String,
    recorded: Recorded,
}

/// A correction, with its reason.
#[derive(Debug, Serialize, JsonSchema)]
struct Correction {
    /// Why.
    reason: String,
    /// What it had been.
    former: Document,
    recorded: Recorded,
}

/// What was received.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(rename = "Sample")]
struct SampleGiven {
    /// Its code.
    code: String,
    /// Where the material comes from.
    source: String,
    /// Who asked for the test.
    client: String,
    /// For which works.
    project: String,
    /// What it is.
    material: String,
    /// What it is to be used for.
    intended_use: String,
    /// Nominal maximum size, mm.
    nominal_maximum_mm: Figure,
    /// Condition on arrival.
    condition: String,
    /// The most loss that is allowed, %.
    limit_percent: Option<Figure>,
    /// The document that sets it.
    limit_document: String,
    /// The method that the limit is for; empty for the tests of wear in water.
    limit_method: String,
    /// The day it arrived.
    #[schemars(extend("format" = "date"))]
    received_on: String,
    /// Mass received, g.
    received_g: Option<Figure>,
    /// How many bags or boxes came.
    bags: Option<u32>,
    /// Who took the sample.
    sampled_by: String,
    /// The day it was taken.
    #[schemars(extend("format" = "date"))]
    sampled_on: Option<String>,
    /// Who brought it.
    delivered_by: String,
    /// Whether it is of the reference aggregate.
    reference: bool,
    /// The lot of reference aggregate that it is of.
    lot: Option<String>,
    /// Who has it now.
    holder: String,
    /// Where it is kept now.
    kept_at: String,
    /// Whether it has left the laboratory.
    gone: bool,
    /// Its specimens.
    specimens: Vec<String>,
    /// Its results.
    results: Vec<String>,
    /// What became of it, oldest first.
    custody: Vec<CustodyStep>,
    /// Sieve analyses, oldest first; the last one counts.
    sievings: Vec<Sieving>,
    /// What other laboratories found on their part.
    outside: Vec<OutsideResult>,
    /// What was corrected, oldest first.
    corrections: Vec<Correction>,
    attachments: Vec<AttachmentGiven>,
    received: Recorded,
}

fn sample_given(reading: &Reading<'_>, sample: &Sample) -> SampleGiven {
    let lab = reading.lab;
    let custody = sample.custody.iter().map(|one| CustodyStep {
        step: word(one.value.step),
        from: one.value.from.to_string(),
        to: code(&one.value.to),
        place: one.value.place.clone(),
        condition: one.value.condition.clone(),
        note: one.value.note.clone(),
        recorded: recorded(one),
    });
    let sievings = sample.sievings.iter().map(|one| Sieving {
        retained: one
            .value
            .retained
            .iter()
            .map(|kept| SieveKept {
                sieve_mm: figure(kept.sieve.opening_mm()),
                retained_g: figure(kept.retained_g),
            })
            .collect(),
        pan_g: figure(one.value.pan_g),
        before_g: one.value.before_g.map(figure),
        after_wash_g: one.value.after_wash_g.map(figure),
        nominal_maximum_mm: one.value.nominal_maximum_mm.map(figure),
        balance: one.value.balance.to_string(),
        reason: one.value.reason.clone(),
        recorded: recorded(one),
    });
    let outside = sample.outside.iter().map(|one| OutsideResult {
        method: one.value.method.to_string(),
        laboratory: one.value.laboratory.clone(),
        loss_percent: figure(one.value.loss_percent),
        document: one.value.document.clone(),
        recorded: recorded(one),
    });
    let corrections = sample.corrections.iter().map(|one| Correction {
        reason: one.value.reason.clone(),
        former: document(&one.value.former),
        recorded: recorded(one),
    });
    let results = lab.results.values().filter(|result| result.sample == sample.code);
    SampleGiven {
        code: sample.code.to_string(),
        source: sample.source.clone(),
        client: sample.client.clone(),
        project: sample.project.clone(),
        material: sample.material.clone(),
        intended_use: sample.intended_use.clone(),
        nominal_maximum_mm: figure(sample.nominal_maximum_mm),
        condition: sample.condition.clone(),
        limit_percent: sample.limit_percent.map(figure),
        limit_document: sample.limit_document.clone(),
        limit_method: sample.limit_method.clone(),
        received_on: sample.received_on.to_string(),
        received_g: sample.received_g.map(figure),
        bags: sample.bags,
        sampled_by: sample.sampled_by.clone(),
        sampled_on: code(&sample.sampled_on),
        delivered_by: sample.delivered_by.clone(),
        reference: sample.reference,
        lot: lab.lot_of_sample.get(&sample.code).map(|lot| lot.value.to_string()),
        holder: sample.holder().to_string(),
        kept_at: sample.kept_at().to_owned(),
        gone: sample.gone().is_some(),
        specimens: codes(&sample.specimens),
        results: codes(results.map(|result| &result.code)),
        custody: custody.collect(),
        sievings: sievings.collect(),
        outside: outside.collect(),
        corrections: corrections.collect(),
        attachments: attachments(lab.attachments_of(sample.code.as_str())),
        received: recorded(&sample.received),
    }
}

/// A mass, with what it was weighed on.
#[derive(Debug, Serialize, JsonSchema)]
struct Mass {
    /// The mass, g.
    mass_g: Figure,
    /// What was typed or printed, where that was not a number of grams.
    as_read: String,
    /// The balance.
    balance: String,
    /// The sieve that kept it.
    sieve: Option<String>,
    /// The coarser sieve above it.
    guard_sieve: Option<String>,
    /// The oven that dried it.
    oven: Option<String>,
    /// Why it replaced an earlier mass, if it did.
    reason: String,
    recorded: Recorded,
}

fn masses(all: &[Noted<WeighedMass>]) -> Vec<Mass> {
    let given = |one: &Noted<WeighedMass>| Mass {
        mass_g: figure(one.value.mass_g),
        as_read: one.value.as_read.clone(),
        balance: one.value.balance.to_string(),
        sieve: code(&one.value.sieve),
        guard_sieve: code(&one.value.guard_sieve),
        oven: code(&one.value.oven),
        reason: one.value.reason.clone(),
        recorded: recorded(one),
    };
    all.iter().map(given).collect()
}

/// The masses of one fraction, oldest first.
#[derive(Debug, Serialize, JsonSchema)]
struct Fraction {
    /// Its number in the grading, from 1, coarsest first.
    fraction: usize,
    masses: Vec<Mass>,
}

/// A mass while the specimen dried.
#[derive(Debug, Serialize, JsonSchema)]
struct Drying {
    /// On the way to the mass `before` or `after` the run.
    stage: String,
    /// The mass, g.
    mass_g: Figure,
    /// The balance.
    balance: String,
    /// The oven.
    oven: Option<String>,
    recorded: Recorded,
}

/// A value that was read of a specimen.
#[derive(Debug, Serialize, JsonSchema)]
struct ReadingGiven {
    /// Its name in the method, with the number of the fraction where it is of one.
    reading: String,
    /// The value, in the unit of the method.
    value: Figure,
    /// What it was read with.
    instrument: Option<String>,
    /// Why it replaced an earlier value, if it did.
    reason: String,
    recorded: Recorded,
}

/// What was made up for one jar.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(rename = "Specimen")]
struct SpecimenGiven {
    /// Its code.
    code: String,
    /// The sample.
    sample: String,
    /// The method.
    method: String,
    /// The grading.
    grading: String,
    /// Why this grading, where a sieve analysis decided it.
    grading_reason: String,
    /// The balance for its fractions.
    balance: String,
    /// The masses of its fractions.
    fractions: Vec<Fraction>,
    /// The sum of the fractions that count, g.
    made_up_g: Figure,
    /// Masses while it dried, oldest first.
    drying: Vec<Drying>,
    /// Since when it lies in its water.
    soak: Option<Recorded>,
    /// Masses before the run, oldest first; the last one counts.
    before: Vec<Mass>,
    /// Masses kept on the method's sieve after the run, oldest first; the last one counts.
    after: Vec<Mass>,
    /// What was read beside the masses, oldest first.
    readings: Vec<ReadingGiven>,
    /// The run that it turned in.
    run: Option<String>,
    /// The result that it is part of.
    result: Option<String>,
    deviations: Vec<DeviationGiven>,
    attachments: Vec<AttachmentGiven>,
    begun: Recorded,
}

fn specimen_given(reading: &Reading<'_>, specimen: &Specimen) -> SpecimenGiven {
    let fractions = specimen
        .fractions
        .iter()
        .map(|(index, all)| Fraction { fraction: index + 1, masses: masses(all) });
    let drying = specimen.drying.iter().map(|one| Drying {
        stage: word(one.value.stage),
        mass_g: figure(one.value.mass_g),
        balance: one.value.balance.to_string(),
        oven: code(&one.value.oven),
        recorded: recorded(one),
    });
    let readings = specimen.readings.iter().flat_map(|(name, all)| {
        all.iter().map(|one| ReadingGiven {
            reading: name.clone(),
            value: figure(one.value.value),
            instrument: code(&one.value.instrument),
            reason: one.value.reason.clone(),
            recorded: recorded(one),
        })
    });
    SpecimenGiven {
        code: specimen.code.to_string(),
        sample: specimen.sample.to_string(),
        method: specimen.method.to_string(),
        grading: specimen.grading.clone(),
        grading_reason: specimen.grading_reason.clone(),
        balance: specimen.balance.to_string(),
        fractions: fractions.collect(),
        made_up_g: figure(specimen.made_up_g()),
        drying: drying.collect(),
        soak: specimen.soak.as_ref().map(recorded),
        before: masses(&specimen.before),
        after: masses(&specimen.after),
        readings: readings.collect(),
        run: code(&specimen.run),
        result: reading.lab.result_of(&specimen.code).map(|result| result.code.to_string()),
        deviations: deviations(&specimen.deviations),
        attachments: attachments(reading.lab.attachments_of(specimen.code.as_str())),
        begun: recorded(&specimen.begun),
    }
}

/// What lies at one position.
#[derive(Debug, Serialize, JsonSchema)]
struct PlacedGiven {
    /// Tier of the apparatus.
    tier: String,
    /// Position on the tier, from 1.
    position: u32,
    /// The specimen.
    specimen: String,
    /// The jar; none where the machine itself is the drum.
    jar: Option<String>,
    /// The ball charge.
    charge: Option<String>,
    /// Its mass, g.
    charge_g: Option<Figure>,
    /// How many balls that is.
    charge_balls: Option<u32>,
    /// Water, L.
    water_l: Option<Figure>,
    /// How long the specimen soaked, h.
    soaked_h: Option<Figure>,
}

fn placed(one: &Placed) -> PlacedGiven {
    PlacedGiven {
        tier: one.tier.clone(),
        position: one.position,
        specimen: one.specimen.to_string(),
        jar: code(&one.jar),
        charge: code(&one.charge),
        charge_g: one.charge_g.map(figure),
        charge_balls: one.charge_balls,
        water_l: one.water_l.map(figure),
        soaked_h: one.soaked_h.map(figure),
    }
}

/// How a run, or a part of it, ended.
#[derive(Debug, Serialize, JsonSchema)]
struct RunEnd {
    /// Revolutions shown, where the machine counts.
    revolutions: Option<Figure>,
    /// Minutes that it turned.
    minutes: Option<Figure>,
    /// What happened, or why it replaces an end that was recorded before.
    reason: String,
    /// When it went on, where it was interrupted and did.
    resumed: Option<Recorded>,
    recorded: Recorded,
}

/// A correction of what lay with a specimen.
#[derive(Debug, Serialize, JsonSchema)]
struct RunCorrectionGiven {
    /// What had been recorded.
    former: PlacedGiven,
    /// Temperature of the water as it had been recorded, °C.
    former_water_c: Option<Figure>,
    /// Why.
    reason: String,
    recorded: Recorded,
}

/// A turning of jars.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(rename = "Run")]
struct RunGiven {
    /// Its code.
    code: String,
    /// In which apparatus.
    apparatus: String,
    /// `turning`, `interrupted` or `ended`.
    state: String,
    /// What makes it end: `revolutions` or `time`.
    ended_by: String,
    /// The count that is wanted.
    revolutions_wanted: Figure,
    /// Temperature of the water, °C.
    water_c: Option<Figure>,
    /// What it was read with.
    thermometer: Option<String>,
    /// What lies where, as it is known now.
    placed: Vec<PlacedGiven>,
    /// Where it was interrupted, oldest first.
    interruptions: Vec<RunEnd>,
    /// How it ended, all turnings together.
    stopped: Option<RunEnd>,
    /// Mean speed, revolutions per minute to one decimal, where it is known.
    rpm: Option<Figure>,
    /// What was corrected, oldest first.
    corrections: Vec<RunCorrectionGiven>,
    deviations: Vec<DeviationGiven>,
    attachments: Vec<AttachmentGiven>,
    started: Recorded,
}

fn run_given(reading: &Reading<'_>, code_typed: &str) -> Option<RunGiven> {
    let run = reading.lab.runs.get(code_typed)?;
    let interruptions = run.interruptions.iter().map(|one| RunEnd {
        revolutions: one.value.revolutions.map(figure),
        minutes: one.value.minutes.map(figure),
        reason: one.value.reason.clone(),
        resumed: one.value.resumed.as_ref().map(recorded),
        recorded: recorded(one),
    });
    let in_all = run.in_all();
    let stopped = run.stopped.as_ref().zip(in_all.as_ref()).map(|(last, whole)| RunEnd {
        revolutions: whole.revolutions.map(figure),
        minutes: whole.minutes.map(figure),
        reason: whole.reason.clone(),
        resumed: None,
        recorded: recorded(last),
    });
    let corrections = run.corrections.iter().map(|one| RunCorrectionGiven {
        former: placed(&one.value.placed),
        former_water_c: one.value.water_c.map(figure),
        reason: one.value.reason.clone(),
        recorded: recorded(one),
    });
    let state = match (run.stopped.is_some(), run.is_interrupted()) {
        (true, _) => "ended",
        (false, true) => "interrupted",
        (false, false) => "turning",
    };
    Some(RunGiven {
        code: run.code.to_string(),
        apparatus: run.apparatus.to_string(),
        state: state.to_owned(),
        ended_by: word(run.ended_by),
        revolutions_wanted: figure(run.revolutions_wanted),
        water_c: run.water_c.map(figure),
        thermometer: code(&run.thermometer),
        placed: run.placed.iter().map(placed).collect(),
        interruptions: interruptions.collect(),
        rpm: in_all.as_ref().and_then(Stopped::rpm).map(figure),
        stopped,
        corrections: corrections.collect(),
        deviations: deviations(&run.deviations),
        attachments: attachments(reading.lab.attachments_of(run.code.as_str())),
        started: recorded(&run.started),
    })
}
