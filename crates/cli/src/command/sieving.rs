//! `stonewear sieving`: the sieve analysis of a sample.

use super::asking::ask;
use super::makeup::passing;
use crate::answer::{Answer, Failure};
use crate::arguments::{Asking, Departing, Folder};
use crate::statistics::{file, picture, table};
use serde_json::json;
use std::path::PathBuf;
use stonewear_lab::request::{RecordSieving, SetSievingRules};
use stonewear_report::grading_curve;
use stonewear_runtime::LaboratoryView;
use stonewear_sieving::shown_percent;

#[derive(Debug, clap::Subcommand)]
pub(crate) enum Sieving {
    /// Record the sieve analysis of a sample from a CSV file.
    #[command(after_help = "\
The file has the columns sieve_mm and retained_g and the pan as its last row.\n\n\
Example:\n\
\x20 stonewear sieving record --by CD S26-001 --file sieving.csv --before-g 10012")]
    Record(Box<Record>),
    /// Show the sieve analysis of a sample.
    #[command(after_help = "\
Example:\n\
\x20 stonewear sieving show S26-001 --svg curve.svg")]
    Show(Show),
    /// Decide how this laboratory reads its sieve analyses.
    #[command(after_help = "\
Example:\n\
\x20 stonewear sieving rules --by AB --definition any-retained --reason 'the specification follows D6928'")]
    Rules(Rules),
}

#[derive(Debug, clap::Args)]
pub(crate) struct Record {
    #[command(flatten)]
    asking: Asking,
    /// The sample.
    sample: String,
    /// CSV file of the analysis; `-` reads standard input.
    #[arg(long, value_name = "FILE")]
    file: PathBuf,
    /// Oven-dry mass before, g.
    #[arg(long, value_name = "G", default_value = "", allow_negative_numbers = true)]
    before_g: String,
    /// Oven-dry mass after washing, g.
    #[arg(long, value_name = "G", default_value = "", allow_negative_numbers = true)]
    after_wash_g: String,
    /// Mass of the whole sample received, g.
    #[arg(long, value_name = "G", default_value = "", allow_negative_numbers = true)]
    received_g: String,
    /// Definition of the nominal maximum size; left out, the laboratory's own.
    #[arg(long, value_name = "NAME", default_value = "")]
    definition: String,
    /// Rule of the closing check, astm-c136 or en-933-1; left out, the laboratory's own.
    #[arg(long, value_name = "RULE", default_value = "")]
    closing: String,
    /// The balance; left out, the only one in service.
    #[arg(long, value_name = "ITEM", default_value = "")]
    balance: String,
    /// Why an analysis that is already recorded is replaced.
    #[arg(long, default_value = "")]
    reason: String,
    #[command(flatten)]
    departing: Departing,
}

#[derive(Debug, clap::Args)]
pub(crate) struct Show {
    #[command(flatten)]
    folder: Folder,
    /// The sample.
    sample: String,
    /// Write the grading curve to this file.
    #[arg(long, value_name = "FILE")]
    svg: Option<PathBuf>,
}

#[derive(Debug, clap::Args)]
pub(crate) struct Rules {
    #[command(flatten)]
    asking: Asking,
    /// Definition of the nominal maximum size: one-above-10-percent, more-than-1-percent,
    /// at-most-5-percent, all-passing or any-retained; left out, as it is.
    #[arg(long, value_name = "NAME", default_value = "")]
    definition: String,
    /// Rule of the closing check: astm-c136 or en-933-1; left out, as it is.
    #[arg(long, value_name = "RULE", default_value = "")]
    closing: String,
    /// On what grounds.
    #[arg(long)]
    reason: String,
}

pub(crate) fn run(sieving: Sieving) -> Result<Answer, Failure> {
    match sieving {
        Sieving::Record(record) => self::record(*record),
        Sieving::Show(show) => self::show(&show),
        Sieving::Rules(rules) => ask(
            &rules.asking,
            SetSievingRules {
                definition: rules.definition,
                closing: rules.closing,
                reason: rules.reason,
            },
        ),
    }
}

fn record(record: Record) -> Result<Answer, Failure> {
    let bytes = file::bytes(&record.file)?;
    // Read here first: a fault in the file is named with the file, and what was odd in it is said.
    let wrong = |error: String| Failure::WrongInput(format!("{}: {error}", record.file.display()));
    let read = stonewear_sieving::read(&bytes).map_err(|error| wrong(error.to_string()))?;
    let table = String::from_utf8(bytes).map_err(|error| wrong(error.to_string()))?;
    let answer = ask(
        &record.asking,
        RecordSieving {
            sample: record.sample,
            table,
            before_g: record.before_g,
            after_wash_g: record.after_wash_g,
            received_g: record.received_g,
            definition: record.definition,
            closing: record.closing,
            balance: record.balance,
            reason: record.reason,
            deviation: record.departing.deviation,
            ..RecordSieving::default()
        },
    )?;
    let remarks: String = read.remarks.iter().map(|remark| format!("\n{remark}")).collect();
    Ok(Answer { text: format!("{}{remarks}", answer.text), ..answer })
}

fn show(show: &Show) -> Result<Answer, Failure> {
    let view = LaboratoryView::open(&show.folder.place()?)?;
    let code = show.sample.trim().to_uppercase();
    let samples = &view.lab().samples;
    let sample = samples.get(code.as_str()).ok_or_else(|| {
        let known: Vec<&str> = samples.keys().map(stonewear_lab::SampleCode::as_str).collect();
        super::unknown("there is no sample", show.sample.trim(), known)
    })?;
    let noted = sample.sieving();
    let found = noted.and_then(|noted| Some((&noted.value, noted.value.analysis()?)));
    let Some((sieving, analysis)) = found else {
        return Err(Failure::WrongInput(format!(
            "{code} has no sieve analysis; record one with: stonewear sieving record {code} --file FILE"
        )));
    };
    let lines = analysis.lines();
    let rows: Vec<Vec<String>> = lines
        .iter()
        .map(|line| {
            vec![
                line.sieve.to_string(),
                line.retained_g.to_string(),
                shown_percent(&line.retained_percent),
                shown_percent(&line.cumulative_percent),
                shown_percent(&line.passing_percent),
            ]
        })
        .collect();
    let mut text = table::columns(
        &["sieve", "retained, g", "retained, %", "cumulative, %", "passing, %"],
        &rows,
    );
    text.push_str(&format!("pan {} g\n", sieving.pan_g));
    if let Some(lost) = analysis.wash_loss_percent() {
        text.push_str(&format!("washed away {} %\n", shown_percent(&lost)));
    }
    let closing = sieving.closed();
    if let Some(closing) = &closing {
        text.push_str(&format!("closing check: {closing}\n"));
    }
    text.push_str(&match sieving.nominal_maximum_mm {
        Some(mm) => format!("nominal maximum size {mm} mm: {}", sieving.definition.in_words()),
        None => sieving.definition.of(&analysis).err().unwrap_or_default(),
    });
    let title = format!("Grading of sample {code}");
    picture::write(|| grading_curve(&title, sieving).svg(), show.svg.as_deref())?;
    Ok(Answer::new(
        text,
        json!({
            "sample": code,
            "nominal_maximum_mm": sieving.nominal_maximum_mm.map(|mm| mm.to_string()),
            "declared_nominal_maximum_mm": sample.nominal_maximum_mm.to_string(),
            "definition": sieving.definition.name(),
            "passing": passing(&analysis),
            "pan_g": sieving.pan_g.to_string(),
            "before_g": sieving.before_g.map(|g| g.to_string()),
            "after_wash_g": sieving.after_wash_g.map(|g| g.to_string()),
            "received_g": sieving.received_g.map(|g| g.to_string()),
            "wash_loss_percent": analysis.wash_loss_percent().map(|lost| lost.to_decimals(24)),
            "closing": closing.map(|closing| json!({
                "rule": closing.rule.name(),
                "difference_percent": closing.difference_percent.to_decimals(24),
                "holds": closing.holds(),
            })),
            "deviations": sieving.deviations,
            "replaces": sample.sievings.len() - 1,
        }),
    ))
}
