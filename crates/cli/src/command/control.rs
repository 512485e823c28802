//! `stonewear control`: control charts and investigations.

use super::asking::ask;
use super::reference::find_lot;
use crate::answer::{Answer, Failure};
use crate::arguments::{Asking, Departing, Folder};
use serde_json::json;
use std::path::PathBuf;
use stonewear_lab::control::{ControlChart, State, StepState};
use stonewear_lab::request::{
    CloseInvestigation, ExcludedPoint, FreezeBaseline, NoteEvent, OpenInvestigation, RecordFinding,
};
use stonewear_lab::{InvestigationCode, ItemCode};
use stonewear_report::Typesetter;
use stonewear_runtime::LaboratoryView;

#[derive(Debug, clap::Subcommand)]
pub(crate) enum Control {
    /// Say of every chart whether it is in control, and which investigations are open. Exit status 1
    /// when something is out of control.
    #[command(after_help = "\
Example:\n\
\x20 stonewear control status --dir demo-laboratory")]
    Status {
        #[command(flatten)]
        folder: Folder,
    },
    /// Show the chart of a lot on an apparatus: limits, basis, every result and its verdict.
    #[command(after_help = "\
Example:\n\
\x20 stonewear control chart RA-2 MILL-1 --dir demo-laboratory\n\
\x20 stonewear control chart RA-2 MILL-1 --pdf chart.pdf --csv chart.csv --svg chart.svg")]
    Chart(Chart),
    /// Freeze what a chart is judged against.
    #[command(after_help = "\
Example:\n\
\x20 stonewear control baseline RA-2 --apparatus MILL-1 --by AB --reason 'all results of spring'\n\
\x20 stonewear control baseline RA-2 --apparatus MILL-1 --by AB --excluded 'L26-007=a jar leaked' --reason 'all but one'")]
    Baseline(Box<Baseline>),
    /// Note something that happened to an item, for its charts.
    #[command(after_help = "\
Example:\n\
\x20 stonewear control event MILL-1 moved --note 'to bay 2' --by AB")]
    Event {
        #[command(flatten)]
        asking: Asking,
        /// The item.
        item: String,
        /// What happened: moved, repaired, new-balls or other.
        what: String,
        /// On which day, YYYY-MM-DD; left out, today.
        #[arg(long, value_name = "DAY", default_value = "")]
        on: String,
        /// In words.
        #[arg(long)]
        note: String,
    },
    /// Investigate a reference result.
    #[command(after_help = "\
Example:\n\
\x20 stonewear control investigate L26-031 --by AB --reason 'far from the others'")]
    Investigate {
        #[command(flatten)]
        asking: Asking,
        /// The result.
        result: String,
        /// Why.
        #[arg(long)]
        reason: String,
    },
    /// Show an investigation: its steps, how far each is, what releases the apparatus.
    #[command(after_help = "\
Example:\n\
\x20 stonewear control show N26-001 --dir demo-laboratory")]
    Show {
        #[command(flatten)]
        folder: Folder,
        /// The investigation.
        investigation: String,
    },
    /// Record what a step of an investigation showed.
    #[command(after_help = "\
Example:\n\
\x20 stonewear control finding N26-001 water --finding '2.5 L in place of 2.0 L' --fault --by AB")]
    Finding {
        #[command(flatten)]
        asking: Asking,
        /// The investigation.
        investigation: String,
        /// The step.
        step: String,
        /// What was found.
        #[arg(long)]
        finding: String,
        /// Something was wrong.
        #[arg(long)]
        fault: bool,
    },
    /// Finish an investigation and release the apparatus that it holds.
    #[command(after_help = "\
Example:\n\
\x20 stonewear control close N26-001 --by AB --cause 'too much water' --done 'measure replaced' --past-results 'none was run since'")]
    Close {
        #[command(flatten)]
        asking: Asking,
        /// The investigation.
        investigation: String,
        /// The cause, or that none was found.
        #[arg(long)]
        cause: String,
        /// What was done about it.
        #[arg(long)]
        done: String,
        /// What became of the results since the last one that was in control.
        #[arg(long)]
        past_results: String,
    },
}

#[derive(Debug, clap::Args)]
pub(crate) struct Chart {
    #[command(flatten)]
    folder: Folder,
    /// The lot.
    lot: String,
    /// The apparatus.
    apparatus: String,
    /// Print it to this PDF file.
    #[arg(long, value_name = "FILE")]
    pdf: Option<PathBuf>,
    /// Write its points to this CSV file.
    #[arg(long, value_name = "FILE")]
    csv: Option<PathBuf>,
    /// Draw it into this SVG file.
    #[arg(long, value_name = "FILE")]
    svg: Option<PathBuf>,
}

#[derive(Debug, clap::Args)]
pub(crate) struct Baseline {
    #[command(flatten)]
    asking: Asking,
    #[command(flatten)]
    departing: Departing,
    /// The lot.
    lot: String,
    /// The apparatus.
    #[arg(long, value_name = "ITEM", default_value = "")]
    apparatus: String,
    /// The first result; left out, the first that there is.
    #[arg(long, value_name = "RESULT", default_value = "")]
    first: String,
    /// The last result; left out, the last that there is.
    #[arg(long, value_name = "RESULT", default_value = "")]
    last: String,
    /// A result that is left out, with its reason; may be given more than once.
    #[arg(long, value_name = "RESULT=REASON")]
    excluded: Vec<String>,
    /// Centre: mean, assigned or stated.
    #[arg(long, default_value = "mean")]
    centre: String,
    /// The centre where it is stated, % loss.
    #[arg(long, value_name = "PERCENT", default_value = "")]
    stated_centre: String,
    /// Spread: moving-range, standard-deviation or stated.
    #[arg(long, default_value = "moving-range")]
    spread: String,
    /// The standard deviation where it is stated, % loss.
    #[arg(long, value_name = "PERCENT", default_value = "")]
    stated_sigma: String,
    /// The document of what is stated.
    #[arg(long, default_value = "")]
    document: String,
    /// On what grounds these results.
    #[arg(long)]
    reason: String,
}

pub(crate) fn run(control: Control) -> Result<Answer, Failure> {
    match control {
        Control::Status { folder } => status(&folder),
        Control::Chart(chart) => show_chart(&chart),
        Control::Baseline(baseline) => freeze(*baseline),
        Control::Event { asking, item, what, on, note } => {
            ask(&asking, NoteEvent { item, what, on, note })
        }
        Control::Investigate { asking, result, reason } => {
            ask(&asking, OpenInvestigation { result, reason })
        }
        Control::Show { folder, investigation } => show_investigation(&folder, &investigation),
        Control::Finding { asking, investigation, step, finding, fault } => {
            let fault = if fault { "yes" } else { "no" }.to_owned();
            ask(&asking, RecordFinding { investigation, step, finding, fault })
        }
        Control::Close { asking, investigation, cause, done, past_results } => {
            ask(&asking, CloseInvestigation { investigation, cause, done, past_results })
        }
    }
}

fn freeze(baseline: Baseline) -> Result<Answer, Failure> {
    let excluded = baseline.excluded.iter().map(|typed| {
        let (point, reason) = typed.split_once('=').unwrap_or((typed, ""));
        ExcludedPoint { point: point.to_owned(), reason: reason.to_owned() }
    });
    let request = FreezeBaseline {
        excluded: excluded.collect(),
        lot: baseline.lot,
        apparatus: baseline.apparatus,
        first: baseline.first,
        last: baseline.last,
        centre: baseline.centre,
        stated_centre: baseline.stated_centre,
        spread: baseline.spread,
        stated_sigma: baseline.stated_sigma,
        document: baseline.document,
        reason: baseline.reason,
        deviation: baseline.departing.deviation,
    };
    ask(&baseline.asking, request)
}

fn status(folder: &Folder) -> Result<Answer, Failure> {
    let view = LaboratoryView::open(&folder.place()?)?;
    let lab = view.lab();
    let charts = lab.control_charts();
    let mut text = String::new();
    for chart in &charts {
        let last = chart.points.last().map_or(String::new(), |last| {
            let day = lab.local(last.at).date();
            format!("; last {} % on {day} ({})", last.loss_percent, last.name)
        });
        text +=
            &format!("{} on {}: {}{last}\n", chart.lot, chart.apparatus, chart.state().in_words());
    }
    if charts.is_empty() {
        text.push_str("there is no chart yet: no lot of reference aggregate was tested\n");
    }
    let open: Vec<_> = lab.investigations.values().filter(|one| one.is_open()).collect();
    for one in &open {
        text += &format!("{} of {} is open: {}\n", one.code, one.apparatus, one.opened.value);
    }
    text += &format!("{}\n", lab.control_rules().run_lengths_in_words());
    let is_out = |chart: &ControlChart| chart.state() == State::OutOfControl;
    let is_no = !open.is_empty() || charts.iter().any(is_out);
    let states: Vec<_> = charts
        .iter()
        .map(|chart| json!({ "lot": chart.lot, "apparatus": chart.apparatus, "state": chart.state(), "last": chart.points.last() }))
        .collect();
    let json = json!({ "charts": states, "open": open, "rules": lab.control_rules() });
    Ok(Answer { text, json, is_no })
}

fn show_chart(asked: &Chart) -> Result<Answer, Failure> {
    let view = LaboratoryView::open(&asked.folder.place()?)?;
    let lab = view.lab();
    let lot = find_lot(lab, &asked.lot)?;
    let code = asked.apparatus.trim().to_uppercase();
    let Some(item) = lab.items.get(code.as_str()) else {
        let known = lab.items.keys().map(ItemCode::as_str);
        return Err(super::unknown("there is no apparatus", asked.apparatus.trim(), known));
    };
    let Some(chart) = lab.control_chart(&lot.code, &item.code) else {
        return Err(Failure::WrongInput(format!("there is no lot “{}”", asked.lot.trim())));
    };
    let mut text = format!(
        "{} on {}: {}\n{}\nrules: {}\n{}\n",
        chart.lot,
        chart.apparatus,
        chart.state().in_words(),
        chart.basis(),
        chart.rules.in_words(),
        chart.rules.run_lengths_in_words()
    );
    for point in &chart.points {
        text += &format!(
            "  {} {:12} {:>7} % {:>6} {:4} {}\n",
            lab.local(point.at).date(),
            point.name,
            point.loss_percent,
            stonewear_report::deviations_text(point),
            point.operator,
            stonewear_report::verdict_words(point)
        );
    }
    for event in &chart.events {
        text += &format!("  {} {}\n", lab.local(event.at).date(), event.what);
    }
    let mut files = Vec::new();
    if let Some(path) = &asked.csv {
        files.push((path, stonewear_report::control_csv(lab, &chart).into_bytes()));
    }
    if let Some(path) = &asked.svg {
        files.push((path, stonewear_report::control_picture(lab, &chart).svg().into_bytes()));
    }
    if let Some(path) = &asked.pdf {
        let anchor = view.anchor().map_err(Failure::surroundings)?;
        let sheet = stonewear_report::control_sheet(lab, &chart, anchor, view.now());
        let press = stonewear_paper::Press::new().map_err(Failure::surroundings)?;
        files.push((path, press.sheet(&sheet).map_err(Failure::surroundings)?));
    }
    for (path, bytes) in &files {
        std::fs::write(path, bytes).map_err(|error| {
            Failure::Surroundings(format!("{} cannot be written: {error}", path.display()))
        })?;
        text += &format!("{} written\n", path.display());
    }
    Ok(Answer::new(text, json!({ "state": chart.state(), "basis": chart.basis(), "chart": chart })))
}

fn show_investigation(folder: &Folder, typed: &str) -> Result<Answer, Failure> {
    let view = LaboratoryView::open(&folder.place()?)?;
    let lab = view.lab();
    let code = typed.trim().to_uppercase();
    let Some(found) = lab.investigations.get(code.as_str()) else {
        let known = lab.investigations.keys().map(InvestigationCode::as_str);
        return Err(super::unknown("there is no investigation", typed.trim(), known));
    };
    let steps = lab.steps_of(found);
    let mut text = format!(
        "{} of {} on {}: {}\n",
        found.code, found.point, found.apparatus, found.opened.value
    );
    for step in &steps {
        let state = match &step.state {
            StepState::Open => "open".to_owned(),
            StepState::Going { check } => format!("{check} goes on"),
            StepState::Right { by } => format!("as it must be: {by}"),
            StepState::Wrong { by } => format!("WRONG: {by}"),
        };
        text += &format!("  {:24} {}: {state}\n", step.id, step.title);
    }
    let repeat = lab.repeat_of(found);
    match (&found.closed, &repeat) {
        (Some(closed), _) => {
            let value = &closed.value;
            text += &format!(
                "finished: {}; done: {}; results since: {}; in control again: {}\n",
                value.cause, value.done, value.past_results, value.repeat
            );
        }
        (None, Some(repeat)) => text += &format!("in control again: {repeat}\n"),
        (None, None) => {
            text.push_str("still to come: a reference result that is in control\n");
        }
    }
    Ok(Answer::new(text, json!({ "investigation": found, "steps": steps, "repeat": repeat })))
}
