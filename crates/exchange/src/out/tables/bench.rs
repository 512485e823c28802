//! Samples, runs and results.

use super::{Column, Kind, Value, column, day, joined};
use stonewear_lab::fact::PropertyValue;
use stonewear_lab::judgement::Judgement;
use stonewear_lab::state::{Sample, Specimen};
use stonewear_lab::{ItemCode, Lab};

pub(super) const RESULTS: [Column; 20] = [
    column("result", "Result", "", Kind::Text, "Code of the result."),
    column("version", "Version", "", Kind::Whole, "Number of the version that counts, from 1."),
    column("sample", "Sample", "", Kind::Text, "Code of the sample."),
    column("source", "Source", "", Kind::Text, "Where the material comes from."),
    column("material", "Material", "", Kind::Text, "What it is."),
    column("client", "Client", "", Kind::Text, "Who asked for the test."),
    column("method", "Method", "", Kind::Text, "The method and its edition."),
    column("grading", "Grading", "", Kind::Text, "The grading of its first specimen."),
    column("specimens", "Specimens", "", Kind::Text, "Codes of its specimens."),
    column(
        "worked_out_on",
        "Worked out on",
        "",
        Kind::Day,
        "The day this version was worked out, by the laboratory's calendar.",
    ),
    column(
        "loss_percent",
        "Loss",
        "%",
        Kind::Number,
        "The reported loss; empty where the test gives none.",
    ),
    column(
        "other_values",
        "Other values",
        "",
        Kind::Text,
        "What the test gave beside the loss or instead of it, in words.",
    ),
    column("limit_percent", "Limit", "%", Kind::Number, "The most loss that was agreed."),
    column("limit_document", "Limit from", "", Kind::Text, "The document that sets the limit."),
    column("verdict", "Verdict", "", Kind::Text, "How the loss was judged against the limit."),
    column(
        "expanded_uncertainty_percent",
        "Expanded uncertainty (k = 2)",
        "%",
        Kind::Number,
        "The uncertainty that the judgement took, in percent loss.",
    ),
    column("released", "Released", "", Kind::YesNo, "Whether somebody stands for this version."),
    column("released_on", "Released on", "", Kind::Day, "The day of the release."),
    column("released_by", "Released by", "", Kind::Text, "Initials of who released it."),
    column("doubts", "Open doubts", "", Kind::Text, "Codes of the doubts that are open for it."),
];

pub(super) fn results(lab: &Lab) -> Vec<Vec<Value>> {
    let results = lab.results.values().filter_map(|result| {
        let version = result.current()?;
        let sample = lab.samples.get(&result.sample);
        let of_sample =
            |text: fn(&Sample) -> &str| Value::from(sample.map(text).unwrap_or_default());
        let first = result.specimens.first().and_then(|code| lab.specimens.get(code));
        let judged = lab.judgement(result);
        let release = result.release();
        let doubts = lab.doubts_of(&result.code).filter(|doubt| doubt.is_open_for(&result.code));
        let others = version.value.properties.iter().map(PropertyValue::in_words);
        Some(vec![
            result.code.as_str().into(),
            (result.version() as u64).into(),
            result.sample.as_str().into(),
            of_sample(|sample| &sample.source),
            of_sample(|sample| &sample.material),
            of_sample(|sample| &sample.client),
            result.method.as_str().into(),
            first.map(|specimen| specimen.grading.as_str()).unwrap_or_default().into(),
            joined(&result.specimens),
            day(lab, version.at),
            version.value.loss_percent.into(),
            others.collect::<Vec<_>>().join("; ").into(),
            judged.as_ref().and_then(|_| sample?.limit_percent).into(),
            judged.as_ref().and_then(|_| Some(sample?.limit_document.clone())).into(),
            judged.as_ref().map(|judged| judged.verdict.in_words()).into(),
            judged.as_ref().and_then(Judgement::expanded_percent).into(),
            release.is_some().into(),
            release.map_or(Value::Empty, |release| day(lab, release.at)),
            release.map(|release| release.by.to_string()).into(),
            joined(doubts.map(|doubt| &doubt.code)),
        ])
    });
    results.collect()
}

pub(super) const SAMPLES: [Column; 15] = [
    column("sample", "Sample", "", Kind::Text, "Code of the sample."),
    column("source", "Source", "", Kind::Text, "Where the material comes from."),
    column("material", "Material", "", Kind::Text, "What it is."),
    column("client", "Client", "", Kind::Text, "Who asked for the test."),
    column("project", "Project", "", Kind::Text, "For which works."),
    column("intended_use", "Intended use", "", Kind::Text, "What it is to be used for."),
    column(
        "nominal_maximum_mm",
        "Nominal maximum size",
        "mm",
        Kind::Number,
        "The size by which a grading is chosen.",
    ),
    column("condition", "Condition", "", Kind::Text, "How it arrived."),
    column("received_on", "Received on", "", Kind::Day, "The day it arrived."),
    column("received_g", "Mass received", "g", Kind::Number, "Mass on arrival."),
    column("sampled_on", "Sampled on", "", Kind::Day, "The day it was taken."),
    column("sampled_by", "Sampled by", "", Kind::Text, "Who took it."),
    column("limit_percent", "Limit", "%", Kind::Number, "The most loss that was agreed."),
    column("limit_document", "Limit from", "", Kind::Text, "The document that sets the limit."),
    column("reference", "Reference", "", Kind::YesNo, "Whether it is reference aggregate."),
];

pub(super) fn samples(lab: &Lab) -> Vec<Vec<Value>> {
    let row = |sample: &Sample| {
        vec![
            sample.code.as_str().into(),
            sample.source.as_str().into(),
            sample.material.as_str().into(),
            sample.client.as_str().into(),
            sample.project.as_str().into(),
            sample.intended_use.as_str().into(),
            sample.nominal_maximum_mm.into(),
            sample.condition.as_str().into(),
            sample.received_on.into(),
            sample.received_g.into(),
            sample.sampled_on.into(),
            sample.sampled_by.as_str().into(),
            sample.limit_percent.into(),
            sample.limit_document.as_str().into(),
            sample.reference.into(),
        ]
    };
    lab.samples.values().map(row).collect()
}

pub(super) const RUNS: [Column; 22] = [
    column("run", "Run", "", Kind::Text, "Code of the run."),
    column("apparatus", "Apparatus", "", Kind::Text, "The machine that turned."),
    column("tier", "Tier", "", Kind::Text, "Tier of the apparatus."),
    column("position", "Position", "", Kind::Whole, "Position on the tier, from 1."),
    column("specimen", "Specimen", "", Kind::Text, "Code of the specimen."),
    column("sample", "Sample", "", Kind::Text, "Code of its sample."),
    column("method", "Method", "", Kind::Text, "The method and its edition."),
    column("grading", "Grading", "", Kind::Text, "The grading of the specimen."),
    column("jar", "Jar", "", Kind::Text, "The jar it turned in."),
    column("charge", "Ball charge", "", Kind::Text, "The steel balls that turned with it."),
    column("charge_g", "Mass of the charge", "g", Kind::Number, "Mass of the balls."),
    column("water_l", "Water", "L", Kind::Number, "Water in the jar."),
    column("water_c", "Water temperature", "°C", Kind::Number, "Temperature of the water."),
    column("soaked_h", "Soaked", "h", Kind::Number, "How long the specimen soaked."),
    column("started_at", "Started", "", Kind::Moment, "When the run was started."),
    column("ended_at", "Ended", "", Kind::Moment, "When its end was recorded."),
    column(
        "revolutions",
        "Revolutions",
        "rev",
        Kind::Number,
        "All turnings together, where the machine counts.",
    ),
    column("minutes", "Turning time", "min", Kind::Number, "All turnings together."),
    column("interruptions", "Interruptions", "", Kind::Whole, "How often it stood in between."),
    column("before_g", "Mass before", "g", Kind::Number, "Mass before the run, oven-dry."),
    column(
        "after_g",
        "Mass after",
        "g",
        Kind::Number,
        "Mass kept on the method's sieve after the run, oven-dry.",
    ),
    column("result", "Result", "", Kind::Text, "The result that the specimen is part of."),
];

pub(super) fn runs(lab: &Lab) -> Vec<Vec<Value>> {
    let mut rows = Vec::new();
    for run in lab.runs.values() {
        let whole = run.in_all();
        for placed in &run.placed {
            let specimen = lab.specimens.get(&placed.specimen);
            let of_specimen =
                |text: fn(&Specimen) -> &str| Value::from(specimen.map(text).unwrap_or_default());

            rows.push(vec![
                run.code.as_str().into(),
                run.apparatus.as_str().into(),
                placed.tier.as_str().into(),
                u64::from(placed.position).into(),
                placed.specimen.as_str().into(),
                of_specimen(|specimen| specimen.sample.as_str()),
                of_specimen(|specimen| specimen.method.as_str()),
                of_specimen(|specimen| &specimen.grading),
                placed.jar.as_ref().map(ItemCode::as_str).into(),
                placed.charge.as_ref().map(ItemCode::as_str).into(),
                placed.charge_g.into(),
                placed.water_l.into(),
                run.water_c.into(),
                placed.soaked_h.into(),
                run.started.at.into(),
                run.stopped.as_ref().map(|stopped| stopped.at).into(),
                whole.as_ref().and_then(|whole| whole.revolutions).into(),
                whole.as_ref().and_then(|whole| whole.minutes).into(),
                (run.interruptions.len() as u64).into(),
                specimen.and_then(Specimen::before_g).into(),
                specimen.and_then(Specimen::after_g).into(),
                lab.result_of(&placed.specimen).map(|result| result.code.to_string()).into(),
            ]);
        }
    }
    rows
}
