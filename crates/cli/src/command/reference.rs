//! `stonewear reference`: lots of reference aggregate.

use super::asking::ask;
use crate::answer::{Answer, Failure};
use crate::arguments::{Asking, Departing, Folder};
use serde_json::json;
use std::path::PathBuf;
use stonewear_lab::control::Due;
use stonewear_lab::request::{CountStock, ImportReference, LinkSample, RegisterLot, TakeOverLot};
use stonewear_lab::state::ReferenceLot;
use stonewear_lab::{Lab, LotCode};
use stonewear_runtime::LaboratoryView;

#[derive(Debug, clap::Subcommand)]
pub(crate) enum Reference {
    /// Register a lot: what it is, which test it is for, how much of it there is.
    #[command(after_help = "\
Example:\n\
\x20 stonewear reference register RA-2 --by AB --name 'second lot' --source 'our bin' --method astm-d6928 --grading 19.0 --stock '60 kg'")]
    Register(Box<Register>),
    /// Say of which lot a reference sample is.
    #[command(after_help = "\
Example:\n\
\x20 stonewear reference link S26-031 --lot RA-2 --by AB")]
    Link {
        #[command(flatten)]
        asking: Asking,
        /// The sample.
        sample: String,
        /// Its lot.
        #[arg(long)]
        lot: String,
        /// Why it is of another lot than was recorded before.
        #[arg(long, default_value = "")]
        reason: String,
    },
    /// Record what is left of a lot, weighed.
    #[command(after_help = "\
Example:\n\
\x20 stonewear reference count RA-2 --stock '31.4 kg' --by AB --reason 'a bag was wet'")]
    Count {
        #[command(flatten)]
        asking: Asking,
        /// The lot.
        lot: String,
        /// What is left: g, or as the balance prints it.
        #[arg(long, value_name = "MASS")]
        stock: String,
        /// Why it is not what the specimens left.
        #[arg(long)]
        reason: String,
    },
    /// Take over past results of a lot from a CSV file: columns date and loss, and where known operator
    /// and note. All rows, or none.
    #[command(after_help = "\
Example:\n\
\x20 stonewear reference import RA-2 --apparatus MILL-1 --file book.csv --document 'control book 2025' --by AB")]
    Import {
        #[command(flatten)]
        asking: Asking,
        /// The lot.
        lot: String,
        /// The apparatus on which they were found.
        #[arg(long, value_name = "ITEM", default_value = "")]
        apparatus: String,
        /// The CSV file.
        #[arg(long, value_name = "FILE")]
        file: PathBuf,
        /// Where the results come from.
        #[arg(long)]
        document: String,
    },
    /// Let a new lot take the place of an old one, judged by the results of both.
    #[command(after_help = "\
Example:\n\
\x20 stonewear reference take-over RA-3 --replaces RA-2 --apparatus MILL-1 --by AB --reason 'a centre of its own'")]
    TakeOver {
        #[command(flatten)]
        asking: Asking,
        #[command(flatten)]
        departing: Departing,
        /// The new lot.
        lot: String,
        /// The old lot.
        #[arg(long, value_name = "LOT")]
        replaces: String,
        /// The apparatus on which both were tested.
        #[arg(long, value_name = "ITEM", default_value = "")]
        apparatus: String,
        /// What is concluded from the step between them.
        #[arg(long)]
        reason: String,
    },
    /// List the lots with their stock.
    #[command(after_help = "\
Example:\n\
\x20 stonewear reference list --dir demo-laboratory")]
    List {
        #[command(flatten)]
        folder: Folder,
    },
    /// Show a lot: stock, what its baselines still need, the step from the lot before.
    #[command(after_help = "\
Example:\n\
\x20 stonewear reference show RA-2 --dir demo-laboratory")]
    Show {
        #[command(flatten)]
        folder: Folder,
        /// The lot.
        lot: String,
    },
    /// Say on which apparatus the reference aggregate is due. Exit status 1 when a run is due.
    #[command(after_help = "\
Example:\n\
\x20 stonewear reference due --dir demo-laboratory")]
    Due {
        #[command(flatten)]
        folder: Folder,
    },
}

#[derive(Debug, clap::Args)]
pub(crate) struct Register {
    #[command(flatten)]
    asking: Asking,
    /// The code marked on its bin.
    lot: String,
    /// What people call it.
    #[arg(long)]
    name: String,
    /// Where the material comes from.
    #[arg(long)]
    source: String,
    /// The method that it is tested by; it must be in use.
    #[arg(long)]
    method: String,
    /// And the grading.
    #[arg(long)]
    grading: String,
    /// How much there is: g, or as the balance prints it.
    #[arg(long, value_name = "MASS")]
    stock: String,
    /// The loss that a document gives it, %.
    #[arg(long, value_name = "PERCENT", default_value = "")]
    assigned: String,
    /// The expanded uncertainty (k = 2) of that loss, % loss.
    #[arg(long, value_name = "U", default_value = "")]
    expanded: String,
    /// That document.
    #[arg(long, default_value = "")]
    document: String,
    /// When it arrived, YYYY-MM-DD; left out, today.
    #[arg(long, value_name = "DAY", default_value = "")]
    received: String,
}

pub(crate) fn run(reference: Reference) -> Result<Answer, Failure> {
    match reference {
        Reference::Register(register) => {
            let Register { asking, lot, name, source, method, grading, stock, .. } = *register;
            let request = RegisterLot {
                lot,
                name,
                source,
                method,
                grading,
                stock_g: stock,
                assigned_percent: register.assigned,
                expanded_percent: register.expanded,
                document: register.document,
                received_on: register.received,
            };
            ask(&asking, request)
        }
        Reference::Link { asking, sample, lot, reason } => {
            ask(&asking, LinkSample { sample, lot, reason })
        }
        Reference::Count { asking, lot, stock, reason } => {
            ask(&asking, CountStock { lot, stock_g: stock, reason })
        }
        Reference::Import { asking, lot, apparatus, file, document } => {
            let table = std::fs::read_to_string(&file).map_err(|error| {
                Failure::Surroundings(format!("{} cannot be read: {error}", file.display()))
            })?;
            ask(&asking, ImportReference { lot, apparatus, document, table })
        }
        Reference::TakeOver { asking, departing, lot, replaces, apparatus, reason } => {
            let deviation = departing.deviation;
            ask(&asking, TakeOverLot { lot, replaces, apparatus, reason, deviation })
        }
        Reference::List { folder } => list(&folder),
        Reference::Show { folder, lot } => show(&folder, &lot),
        Reference::Due { folder } => due(&folder),
    }
}

/// The lot that is typed.
pub(super) fn find_lot<'a>(lab: &'a Lab, typed: &str) -> Result<&'a ReferenceLot, Failure> {
    let code = typed.trim().to_uppercase();
    lab.lots.get(code.as_str()).ok_or_else(|| {
        super::unknown("there is no lot", typed.trim(), lab.lots.keys().map(LotCode::as_str))
    })
}

fn list(folder: &Folder) -> Result<Answer, Failure> {
    let view = LaboratoryView::open(&folder.place()?)?;
    let lab = view.lab();
    let mut text = String::new();
    let mut json = Vec::new();
    for lot in lab.lots.values() {
        let stock = lab.stock_of(lot, view.now());
        text += &format!(
            "{} {}: {}, grading {}; {}\n",
            lot.code,
            lot.name,
            lot.method,
            lot.grading,
            stock.in_words()
        );
        json.push(json!({ "lot": lot, "stock": stock }));
    }
    if text.is_empty() {
        text.push_str("no lot is registered\n");
    }
    Ok(Answer::new(text, json!({ "lots": json })))
}

fn show(folder: &Folder, typed: &str) -> Result<Answer, Failure> {
    let view = LaboratoryView::open(&folder.place()?)?;
    let lab = view.lab();
    let lot = find_lot(lab, typed)?;
    let stock = lab.stock_of(lot, view.now());
    let mut text = format!(
        "{} {}, {}\nfor {}, grading {}\n{}\n",
        lot.code,
        lot.name,
        lot.source,
        lot.method,
        lot.grading,
        stock.in_words()
    );
    if let Some(assigned) = &lot.assigned {
        text += &format!(
            "assigned: {} % ± {} % (k = 2), {}\n",
            assigned.loss_percent, assigned.expanded_percent, assigned.document
        );
    }
    let mut charts = Vec::new();
    for apparatus in lab.apparatus_of_lot(lot) {
        let progress = lab.baseline_progress(lot, &apparatus);
        let Some(chart) = lab.control_chart(&lot.code, &apparatus) else { continue };
        let state = chart.state().in_words();
        text += &format!("{apparatus}: {} results, {state}\n", chart.points.len());
        let missing = progress.missing();
        if chart.baseline.is_none() && !missing.is_empty() {
            text += &format!("  for a baseline still to come: {}\n", missing.join("; "));
        }
        charts
            .push(json!({ "apparatus": apparatus, "state": chart.state(), "progress": progress }));
    }
    for taken in &lot.took_over {
        let value = &taken.value;
        text += &format!(
            "took the place of {} on {}: {}\n",
            value.replaces, value.apparatus, value.verdict
        );
    }
    Ok(Answer::new(text, json!({ "lot": lot, "stock": stock, "charts": charts })))
}

fn due(folder: &Folder) -> Result<Answer, Failure> {
    let view = LaboratoryView::open(&folder.place()?)?;
    let due = view.lab().reference_due(view.now());
    let mut text: String = due.iter().map(|one| format!("{}\n", one.sentence)).collect();
    if text.is_empty() {
        text.push_str("nothing is due: no lot was tested on any apparatus yet\n");
    }
    let is_no = due.iter().any(|one| one.due == Due::Now);
    Ok(Answer { text, json: json!({ "at": view.now(), "due": due }), is_no })
}
