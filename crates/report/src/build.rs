//! Making papers from the laboratory: every text is taken from the facts, nothing is judged anew
//! that the laboratory has not judged.

mod audit;
mod bench_sheet;
mod control;
mod csv;
mod dossier;
mod duplicates;
mod evidence;
mod experiment;
mod issuing;
mod letterhead;
mod outcome;
pub(crate) mod pictures;
pub(crate) mod proficiency;
mod project;
mod record;
pub(crate) mod round;
mod specimen;
mod study;
mod wear;

pub use audit::{ChainedFact, audit_csv, audit_sheet, codes_of};
pub use bench_sheet::{bench_sheet, makeup_sheet};
pub use control::{
    ChartWindow, control_csv, control_picture, control_picture_within, control_sheet,
    deviations_text, drawn_in_part, lines_words, memory_picture, memory_picture_within,
    verdict_words,
};
pub use csv::csv;
pub use dossier::dossier_sheet;
pub use duplicates::{duplicates_csv, duplicates_picture, duplicates_sentence, duplicates_sheet};
pub use experiment::{experiment_plot, experiment_sheet, experiment_table};
pub use project::project_sheet;
pub use record::check_record;
pub use study::{
    study_agreement_table, study_changed_since, study_differences_table, study_facts,
    study_intervals_in_words, study_makeup_table, study_means_table, study_pictures,
    study_plan_sheet, study_report_sheet, study_runs_table, study_variance_table,
};
pub use wear::{stones_table, wear_plot, wear_sheet, wear_table, worn_table};

use crate::{
    Amendment, AttachedFile, Authorisation, Customer, Dates, Deviation, Doubt, JournalAnchor,
    MethodName, ReportedLoss, SampleFacts, TestReport, UnconfirmedFigure, WorkedLine,
};
use jiff::Timestamp;
pub use letterhead::letterhead_preview;
pub(crate) use letterhead::{laboratory, language, paper_size, sheet_of};
use stonewear_lab::Lab;
use stonewear_lab::state::{Noted, ResultVersion, Sample, TestResult};
use stonewear_measure::balance::shown;
use stonewear_method::model::{Conditions, Vessel};
use stonewear_method::{Loss, Method, Worked};

/// The test report of a result as it stands: a draft until it is released. `anchor` is the place
/// and hash of the fact that released it.
///
/// Without the result's loss, which no recorded result lacks, the working stays empty.
pub fn test_report(lab: &Lab, result: &TestResult, anchor: Option<JournalAnchor>) -> TestReport {
    let loss = lab.loss_of(result).ok();
    let position = result.current().map_or(0, |version| version.position);
    let method = lab.methods.get(&result.method).map(|in_use| in_use.at(position));
    let issued = result.release().map(|release| release.at);
    TestReport {
        language: letterhead::language(lab),
        paper: paper_size(lab),
        invented: lab.identity.as_ref().is_some_and(|identity| identity.invented),
        number: report_number(result, result.version()),
        title: method.map_or(WET, title).to_owned(),
        issued_at: instant(issued.or_else(|| result.current().map(|version| version.at))),
        laboratory: laboratory(lab),
        customer: customer(lab, result),
        project: lab
            .samples
            .get(&result.sample)
            .map(|sample| sample.project.clone())
            .unwrap_or_default(),
        method: method.map(method_name).unwrap_or_default(),
        sample: sample_facts(lab, result),
        dates: dates(lab, result, issued),
        loss: reported(lab, result, method),
        specimens: result
            .specimens
            .iter()
            .filter_map(|code| lab.specimens.get(code))
            .map(|one| specimen::specimen(lab, one, method))
            .collect(),
        deviations: deviations(lab, result),
        doubts: doubts(lab, result),
        amendments: amendments(lab, result),
        unconfirmed: method.map(|method| unconfirmed(lab, result, method)).unwrap_or_default(),
        precision: loss
            .as_ref()
            .zip(method)
            .map(|(loss, method)| precision(method, loss))
            .unwrap_or_default(),
        agreement: outcome::agreement(lab, result),
        remark: result.release().map(|one| one.value.remark.clone()).unwrap_or_default(),
        stated: "Source, material, project, intended use and sampling as stated by the customer."
            .to_owned(),
        external: result
            .release()
            .map(|one| one.value.external.clone())
            .filter(|words| !words.is_empty())
            .into_iter()
            .collect(),
        evidence: evidence::links(lab, result),
        files: files(lab, result),
        authorised: result.release().map(|release| Authorisation {
            name: name_of(lab, release),
            role: "released the result".to_owned(),
            at: day(lab, Some(release.at)),
        }),
        before_issue: result.release().is_some(),
        mark: None,
        anchor,
    }
}

/// The number of the report of a version: `L26-022/1`.
pub fn report_number(result: &TestResult, version: usize) -> String {
    format!("{}/{version}", result.code)
}

fn customer(lab: &Lab, result: &TestResult) -> Customer {
    let Some(sample) = lab.samples.get(&result.sample) else { return Customer::default() };
    Customer {
        name: sample.client.clone(),
        address: sample.client_address.lines().map(str::to_owned).collect(),
        reference: sample.client_reference.clone(),
    }
}

fn method_name(method: &Method) -> MethodName {
    MethodName {
        designation: method.designation.clone(),
        edition: method.edition.clone(),
        title: method.title.clone(),
    }
}

fn sample_facts(lab: &Lab, result: &TestResult) -> SampleFacts {
    let Some(sample) = lab.samples.get(&result.sample) else { return SampleFacts::default() };
    SampleFacts {
        code: sample.code.to_string(),
        source: sample.source.clone(),
        material: format!(
            "{}, nominal maximum size {} mm",
            sample.material, sample.nominal_maximum_mm
        ),
        intended_use: sample.intended_use.clone(),
        condition: condition(sample),
        sampling: sampling(sample),
    }
}

/// By whom and how the sample was taken, as far as that is known.
fn sampling(sample: &Sample) -> String {
    let by = (!sample.sampled_by.is_empty()).then(|| format!("taken by {}", sample.sampled_by));
    let plan = Some(sample.sampling_plan.clone()).filter(|plan| !plan.is_empty());
    by.into_iter().chain(plan).collect::<Vec<_>>().join("; ")
}

/// In what condition the sample arrived, and how much of it.
fn condition(sample: &Sample) -> String {
    let mass = sample.received_g.map(|mass| format!("{} g received", shown(mass)));
    let bags =
        sample.bags.map(|bags| if bags == 1 { "1 bag".into() } else { format!("{bags} bags") });
    let said = (!sample.condition.is_empty()).then(|| sample.condition.clone());
    [said, mass, bags].into_iter().flatten().collect::<Vec<_>>().join(", ")
}

fn dates(lab: &Lab, result: &TestResult, issued: Option<Timestamp>) -> Dates {
    let specimens = || result.specimens.iter().filter_map(|code| lab.specimens.get(code));
    let first = specimens().map(|one| one.begun.at).min();
    let weighed = specimens().filter_map(|one| one.after.last()).map(|mass| mass.at);
    let read = specimens().flat_map(|one| one.readings.values().filter_map(|taken| taken.last()));
    let last = weighed.chain(read.map(|reading| reading.at)).max();
    let tested = match (day(lab, first), day(lab, last)) {
        (first, last) if first == last => first,
        (first, last) => format!("{first} to {last}"),
    };
    Dates {
        sampled: lab
            .samples
            .get(&result.sample)
            .and_then(|sample| sample.sampled_on)
            .map(|day| day.to_string())
            .unwrap_or_default(),
        received: lab
            .samples
            .get(&result.sample)
            .map(|sample| sample.received_on.to_string())
            .unwrap_or_default(),
        tested,
        issued: day(lab, issued),
    }
}

const WET: &str = "Test report: resistance to wet attrition";

/// What the test is, as the head of the paper says it.
fn title(method: &Method) -> &'static str {
    match method.vessel {
        Vessel::JarMill => WET,
        Vessel::Drum => "Test report: resistance to dry attrition in the drum",
        Vessel::Bath => "Test report: soundness in a salt solution",
        Vessel::Bench => "Test report: density and absorption",
    }
}

/// The value that stands first: the loss, or where there is none the first of what the test
/// gives. What stands beside it is in the working, line by line.
fn reported(lab: &Lab, result: &TestResult, method: Option<&Method>) -> ReportedLoss {
    let version = result.current().map(|version| &version.value);
    let loss = version.and_then(|version| version.loss_percent);
    let first = version.and_then(|version| version.properties.first());
    let (name, value, unit) = match (loss, first) {
        (None, Some(first)) => (first.title.as_str(), first.value.to_string(), first.unit.as_str()),
        _ => (loss_name(method), loss.map(|loss| loss.to_string()).unwrap_or_default(), "%"),
    };
    ReportedLoss {
        name: name.to_owned(),
        value,
        unit: unit.to_owned(),
        working: lab.outcome_of(result).map(|worked| working(&worked)).unwrap_or_default(),
        uncertainty: lab.judgement(result).as_ref().and_then(outcome::uncertainty),
        decision: outcome::decision(lab, result),
    }
}

fn loss_name(method: Option<&Method>) -> &'static str {
    match method.map_or(Vessel::JarMill, |method| method.vessel) {
        Vessel::JarMill => "Loss in wet attrition",
        Vessel::Drum => "Loss in the drum",
        Vessel::Bath => "Loss in soundness, weighted",
        Vessel::Bench => "Loss",
    }
}

fn working(worked: &[Worked]) -> Vec<WorkedLine> {
    worked.iter().flat_map(|one| lines(&one.lines)).collect()
}

fn lines(lines: &[String]) -> impl Iterator<Item = WorkedLine> {
    let last = lines.len().saturating_sub(1);
    let label = move |index: usize| match index {
        0 => "Formula",
        index if index == last => "Rounding",
        _ => "With numbers",
    };
    lines
        .iter()
        .enumerate()
        .map(move |(index, text)| WorkedLine { label: label(index).to_owned(), text: text.clone() })
}

fn deviations(lab: &Lab, result: &TestResult) -> Vec<Deviation> {
    let specimens: Vec<_> =
        result.specimens.iter().filter_map(|code| lab.specimens.get(code)).collect();
    let runs = specimens.iter().filter_map(|one| lab.runs.get(one.run.as_ref()?));
    let mut all: Vec<&Noted<stonewear_lab::fact::Deviation>> = specimens
        .iter()
        .flat_map(|one| &one.deviations)
        .chain(runs.flat_map(|run| &run.deviations))
        .collect();
    all.extend(&result.deviations);
    all.extend(result.release().into_iter().flat_map(|release| &release.value.deviations));
    all.sort_by_key(|deviation| deviation.position);
    all.dedup_by(|a, b| a == b);
    all.into_iter()
        .map(|deviation| Deviation {
            rule: deviation.value.rule.clone(),
            what: deviation.value.what.clone(),
            reason: deviation.value.reason.clone(),
            who: name_of(lab, deviation),
        })
        .collect()
}

/// What is in doubt, and what was decided about it.
fn doubts(lab: &Lab, result: &TestResult) -> Vec<Doubt> {
    lab.doubts_of(&result.code)
        .map(|doubt| Doubt {
            what: format!("{} of {}: {}", doubt.attribute, doubt.item, doubt.opened.value),
            effect: match doubt.closed.get(&result.code) {
                Some(closed) => format!("Dealt with by {}: {}", name_of(lab, closed), closed.value),
                None => "Not dealt with yet: the result is in doubt".to_owned(),
            },
            since: day(lab, Some(doubt.opened.at)),
        })
        .collect()
}

/// What this version changes in the released ones before it.
fn amendments(lab: &Lab, result: &TestResult) -> Vec<Amendment> {
    let pairs = result.versions.iter().zip(result.versions.iter().skip(1));
    (1_usize..)
        .zip(pairs)
        .filter(|(_, (former, _))| former.value.release.is_some())
        .map(|(number, (former, now))| Amendment {
            replaces: report_number(result, number),
            what: what_changed(lab, result, former, now),
            reason: now.value.reason.clone(),
            who: name_of(lab, now),
            at: day(lab, Some(now.at)),
        })
        .collect()
}

/// From which loss to which, and from which verdict to which where that changed, too.
fn what_changed(
    lab: &Lab,
    result: &TestResult,
    former: &Noted<ResultVersion>,
    now: &Noted<ResultVersion>,
) -> String {
    let mut what = match (former.value.loss_percent, now.value.loss_percent) {
        (Some(former), Some(now)) => format!("loss {former} % became {now} %"),
        _ => format!("{} became {}", former.value.in_words(), now.value.in_words()),
    };
    let release = former.value.release.as_ref();
    let said = release.and_then(|release| release.value.judgement.as_ref());
    let is_last = result.current().is_some_and(|current| current.position == now.position);
    let judged = if is_last { lab.judgement(result) } else { None };
    if let (Some(said), Some(judged)) = (said, judged)
        && said.verdict != judged.verdict
    {
        let (then, now) = (said.verdict.in_words(), judged.verdict.in_words());
        what.push_str(&format!("; “{then}” became “{now}”"));
    }
    what
}

fn unconfirmed(lab: &Lab, result: &TestResult, method: &Method) -> Vec<UnconfirmedFigure> {
    let first = result.specimens.first().and_then(|code| lab.specimens.get(code));
    let grading = first.map(|specimen| specimen.grading.as_str());
    stonewear_method::figures::unsure(method, grading)
        .into_iter()
        .filter(|figure| bears_on_the_result(&figure.path))
        .map(|figure| UnconfirmedFigure {
            // The report says by which grading it is; the name need not.
            name: figure
                .grading
                .as_deref()
                .map_or(figure.label.as_str(), |grading| {
                    figure
                        .label
                        .strip_prefix(&format!("grading {grading}: "))
                        .unwrap_or(&figure.label)
                })
                .to_owned(),
            value: match figure.path.as_str() {
                "loss.formula" => method
                    .loss
                    .as_ref()
                    .map(|rule| rule.formula.value.in_symbols().to_owned())
                    .unwrap_or_default(),
                "loss.rounding_rule" => method
                    .loss
                    .as_ref()
                    .map(|rule| rule.rounding_rule.value.in_words().to_owned())
                    .unwrap_or_default(),
                _ => format!("{} {}", figure.value, figure.unit).trim_end().to_owned(),
            },
            confidence: figure.confidence.in_words().to_owned(),
        })
        .collect()
}

/// Whether a figure of the method bears on the result itself: not on how the jar is made, how
/// often something is proved, when a grading applies, or how precise others found the test.
fn bears_on_the_result(path: &str) -> bool {
    let beside = ["jar.", "interval.", "precision.", "specimen.count", "specimen.differ_at_most"];
    let is_beside = beside.iter().any(|part| path.starts_with(part));
    let is_about_choosing = path.ends_with(".applies") || path.ends_with(".nominal_maximum_mm");
    // The sieve between two fractions is named once, as what retains the coarser.
    let is_named_already = path.ends_with(".passing_mm") && !path.contains(".fraction.1.");
    let is_of_precision = path.contains(".precision.");
    !is_of_precision && !is_beside && !is_about_choosing && !is_named_already
}

/// What the method says about two results of one material at this level.
fn precision(method: &Method, loss: &Loss) -> String {
    let said = |conditions, words: &str| {
        let limit = method.precision_limit(conditions, loss.percent)?;
        Some(format!("{words}: two results should not differ by more than {limit} % loss"))
    };
    [
        said(Conditions::Repeatability, "one operator and apparatus"),
        said(Conditions::Reproducibility, "two laboratories"),
    ]
    .into_iter()
    .flatten()
    .collect::<Vec<_>>()
    .join("; ")
}

/// The files kept with the result, its sample, its specimens and their runs.
fn files(lab: &Lab, result: &TestResult) -> Vec<AttachedFile> {
    let specimens = result.specimens.iter().filter_map(|code| lab.specimens.get(code));
    let of_specimens = specimens.flat_map(|one| {
        let run = one.run.as_ref().map(ToString::to_string);
        std::iter::once(one.code.to_string()).chain(run)
    });
    let mut owners = vec![result.code.to_string(), result.sample.to_string()];
    for owner in of_specimens {
        if !owners.contains(&owner) {
            owners.push(owner);
        }
    }
    owners
        .iter()
        .flat_map(|owner| lab.attachments_of(owner).iter().map(move |file| (owner, &file.value)))
        .map(|(owner, file)| AttachedFile {
            of: owner.clone(),
            name: file.name.clone(),
            sha256: file.sha256.clone(),
        })
        .collect()
}

/// The name of the person who gave a fact.
fn name_of<T>(lab: &Lab, noted: &Noted<T>) -> String {
    lab.people.get(&noted.by).map_or_else(|| noted.by.to_string(), |person| person.name.clone())
}

/// A clause as a sentence begins.
pub(crate) fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or_default()
}

/// The day of an instant by the laboratory's calendar, as it is printed; empty for none.
pub(crate) fn day(lab: &Lab, at: Option<Timestamp>) -> String {
    at.map(|at| lab.local(at).date().to_string()).unwrap_or_default()
}

/// An instant to the second, in universal time.
fn instant(at: Option<Timestamp>) -> String {
    at.map(|at| at.strftime("%Y-%m-%dT%H:%M:%SZ").to_string()).unwrap_or_default()
}
