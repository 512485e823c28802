//! `stonewear charge`: how ball charges wear, until when they can be used, and what was done to them.

use super::asking::ask;
use crate::answer::{Answer, Failure};
use crate::arguments::{Asking, Departing, Folder};
use crate::statistics::{picture, table};
use serde_json::{Value, json};
use std::path::{Path, PathBuf};
use stonewear_lab::charge::{Forecast, Stones, Wear, WornShare, charge_due};
use stonewear_lab::request::ChangeCharge;
use stonewear_procedure::ItemKind;
use stonewear_report::{csv, stones_table, wear_plot, wear_sheet, wear_table, worn_table};
use stonewear_runtime::LaboratoryView;
use stonewear_stats::regression::Interval;

#[derive(Debug, clap::Subcommand)]
pub(crate) enum Charge {
    /// List the charges in service with the day on which each leaves its tolerance. Exit status 1
    /// when one has left it or soon will.
    #[command(after_help = "\
Example:\n\
\x20 stonewear charge list --dir demo-laboratory")]
    List {
        #[command(flatten)]
        folder: Folder,
    },
    /// Show how a charge wears: rate, forecast, kinds of stone, worn balls.
    #[command(after_help = "\
Example:\n\
\x20 stonewear charge show BC-1 --dir demo-laboratory --svg wear.svg --csv wear.csv")]
    Show(Show),
    /// Record that balls were added, taken out, or all renewed.
    #[command(after_help = "\
Example:\n\
\x20 stonewear charge change --by AB BC-1 added --before 4995.1 --after 5002.2 --balls 2 --reason 'worn to the lower limit'")]
    Change(Change),
    /// Print the wear of a charge as PDF.
    #[command(after_help = "\
Example:\n\
\x20 stonewear charge paper BC-1 --out wear.pdf")]
    Paper {
        #[command(flatten)]
        folder: Folder,
        /// The charge.
        charge: String,
        /// File to write.
        #[arg(long, short, value_name = "FILE")]
        out: PathBuf,
    },
    /// List the jars with what each has turned.
    #[command(after_help = "\
Example:\n\
\x20 stonewear charge jars --dir demo-laboratory")]
    Jars {
        #[command(flatten)]
        folder: Folder,
    },
}

#[derive(Debug, clap::Args)]
pub(crate) struct Show {
    #[command(flatten)]
    folder: Folder,
    /// The charge.
    charge: String,
    /// Draw mass over revolutions, with the line, its bands and the tolerance, into this file.
    #[arg(long, value_name = "FILE")]
    svg: Option<PathBuf>,
    /// Write every reading to this file.
    #[arg(long, value_name = "FILE")]
    csv: Option<PathBuf>,
}

#[derive(Debug, clap::Args)]
pub(crate) struct Change {
    #[command(flatten)]
    asking: Asking,
    /// The charge.
    charge: String,
    /// What was done: added, removed or renewed.
    change: String,
    /// Mass of the whole charge before, g.
    #[arg(long, value_name = "G", allow_negative_numbers = true)]
    before: String,
    /// Mass of the whole charge after, g.
    #[arg(long, value_name = "G", allow_negative_numbers = true)]
    after: String,
    /// How many balls were added or taken out, or are in the new charge.
    #[arg(long, value_name = "COUNT", default_value = "")]
    balls: String,
    /// The balance; left out, the only one in service.
    #[arg(long, value_name = "ITEM", default_value = "")]
    balance: String,
    /// Why.
    #[arg(long)]
    reason: String,
    #[command(flatten)]
    departing: Departing,
}

pub(crate) fn run(charge: Charge) -> Result<Answer, Failure> {
    match charge {
        Charge::List { folder } => list(&folder),
        Charge::Show(show) => self::show(&show),
        Charge::Change(change) => ask(
            &change.asking,
            ChangeCharge {
                charge: change.charge,
                change: change.change,
                before_g: change.before,
                after_g: change.after,
                balls: change.balls,
                balance: change.balance,
                reason: change.reason,
                deviation: change.departing.deviation,
            },
        ),
        Charge::Paper { folder, charge, out } => paper(&folder, &charge, &out),
        Charge::Jars { folder } => jars(&folder),
    }
}

fn list(folder: &Folder) -> Result<Answer, Failure> {
    let view = LaboratoryView::open(&folder.place()?)?;
    let due = charge_due(view.lab(), view.now());
    let lines: Vec<String> = due
        .iter()
        .map(|one| {
            let mark = if one.is_near { "  (look at it now)" } else { "" };
            format!("{}{mark}", one.sentence)
        })
        .collect();
    let is_no = due.iter().any(|one| one.is_near);
    let text =
        if lines.is_empty() { "no ball charge is in service".to_owned() } else { lines.join("\n") };
    Ok(Answer { text, json: json!({ "at": view.now(), "charges": due }), is_no })
}

fn show(show: &Show) -> Result<Answer, Failure> {
    let view = LaboratoryView::open(&show.folder.place()?)?;
    let wear = found(&view, &show.charge)?;
    let history = &wear.history;
    let mut text = format!("{}: {}\n", history.charge, wear.rate_in_words());
    text.push_str(&format!("{}\n", wear.forecast_in_words()));
    text.push_str(&format!(
        "turned {} revolutions in {} runs, of them {} not counted\n",
        history.turned.normalize(),
        history.turnings.len(),
        history.not_counted()
    ));
    if let Some(tolerance) = &wear.tolerance {
        text.push_str(&format!("to be kept: {} g, {}\n", tolerance.limits, tolerance.source));
    }
    if let Ok(trend) = &wear.trend {
        text.push_str(&format!("the rate rests on {}\n", trend.basis_in_words()));
    }
    for change in &history.changes {
        let day = view.lab().local(change.at).date();
        text.push_str(&format!("{day}: {} ({})\n", change.value.in_words(), change.value.reason));
    }
    let (stones, worn) = (wear.stones(), view.lab().worn_shares(&history.charge));
    text.push_str(&format!("{}\n", stones.verdict));
    if !stones.kinds.is_empty() {
        text.push_str(&shown(&stones_table(&stones)));
    }
    if !worn.is_empty() {
        text.push_str(&shown(&worn_table(view.lab(), &worn)));
    }
    picture::write(|| wear_plot(&wear).svg(), show.svg.as_deref())?;
    picture::write(|| csv(&wear_table(view.lab(), &wear)), show.csv.as_deref())?;
    Ok(Answer::new(text, as_json(&wear, &stones, &worn)))
}

/// A table of a paper in columns of text.
pub(super) fn shown(printed: &stonewear_report::Table) -> String {
    use stonewear_report::Cell;
    let head: Vec<&str> = printed.columns.iter().map(|column| column.head.as_str()).collect();
    let cell = |cell: &Cell| match cell {
        Cell::Text(text) => text.clone(),
        Cell::Strip(strip) => strip.value.clone(),
        Cell::Blank | Cell::ToFill => "–".to_owned(),
    };
    let rows: Vec<Vec<String>> =
        printed.rows.iter().map(|row| row.iter().map(cell).collect()).collect();
    table::columns(&head, &rows)
}

/// Two ends, as programs read them.
fn ends(interval: Option<&Interval>) -> Value {
    interval.map_or(Value::Null, |one| json!([one.lower, one.upper]))
}

fn as_json(wear: &Wear, stones: &Stones, worn: &[WornShare]) -> Value {
    let history = &wear.history;
    let readings: Vec<Value> = history
        .readings
        .iter()
        .map(|one| {
            json!({
                "at": one.at,
                "revolutions": one.turned.to_string(),
                "mass_g": one.mass_g.to_string(),
                "read": one.from.in_words(),
                "stretch": one.segment,
            })
        })
        .collect();
    let kinds: Vec<Value> = stones
        .kinds
        .iter()
        .map(|kind| {
            json!({
                "kind": kind.kind,
                "runs": kind.runs,
                "revolutions": kind.revolutions.to_string(),
                "rate_g_per_1000": kind.rate.as_ref().ok(),
                "interval": ends(kind.interval.as_ref()),
            })
        })
        .collect();
    let worn: Vec<Value> = worn
        .iter()
        .map(|one| {
            json!({
                "check": one.check,
                "tried": one.tried,
                "worn": one.worn,
                "percent": one.percent,
                "interval": ends(Some(&one.interval)),
            })
        })
        .collect();
    let trend = match &wear.trend {
        Ok(trend) => json!({
            "rate_g_per_1000": trend.rate,
            "interval": ends(trend.interval.as_ref().ok()),
            "readings": trend.readings,
            "basis": trend.basis_in_words(),
        }),
        Err(why) => json!({ "why_not": why }),
    };
    let forecast = match &wear.forecast {
        Forecast::Outside { mass_g } => json!({ "outside_g": mass_g.to_string() }),
        Forecast::Unknown { why } => json!({ "why_not": why }),
        Forecast::Leaves(leaving) => json!({
            "limit_g": leaving.limit_g.to_string(),
            "thousand_revolutions": leaving.at,
            "interval": [leaving.within.0, leaving.within.1],
            "runs": leaving.runs,
            "runs_interval": leaving.runs_within,
            "day": leaving.day,
            "day_interval": leaving.day_within,
        }),
    };
    json!({
        "charge": history.charge,
        "revolutions": history.turned.to_string(),
        "runs": history.turnings.len(),
        "runs_not_counted": history.not_counted(),
        "level": stonewear_lab::charge::LEVEL,
        "wear": trend,
        "forecast": forecast,
        "sentence": wear.forecast_in_words(),
        "stones": { "kinds": kinds, "verdict": stones.verdict },
        "worn": worn,
        "changes": history.changes,
        "readings": readings,
    })
}

fn found(view: &LaboratoryView, typed: &str) -> Result<Wear, Failure> {
    let code = typed.trim().to_uppercase();
    view.lab().wear(&code.as_str().into(), view.now()).ok_or_else(|| {
        let known: Vec<String> =
            view.lab().items_of(ItemKind::BallCharge).map(|item| item.code.to_string()).collect();
        super::unknown("there is no ball charge", typed.trim(), known.iter().map(String::as_str))
    })
}

fn paper(folder: &Folder, charge: &str, out: &Path) -> Result<Answer, Failure> {
    let view = LaboratoryView::open(&folder.place()?)?;
    let wear = found(&view, charge)?;
    let anchor = view.anchor().map_err(Failure::surroundings)?;
    let sheet = wear_sheet(view.lab(), &wear, anchor, view.now());
    super::sheet::print(&sheet, out)
}

fn jars(folder: &Folder) -> Result<Answer, Failure> {
    let view = LaboratoryView::open(&folder.place()?)?;
    let lab = view.lab();
    let used: Vec<_> =
        lab.items_of(ItemKind::Jar).filter_map(|item| lab.jar_use(&item.code)).collect();
    let rows: Vec<Vec<String>> = used
        .iter()
        .map(|one| {
            let last = one.last.map(|at| lab.local(at).date().to_string());
            let bore = one.bore.last().map(|bore| format!("{} mm, {}", bore.mm, bore.what));
            vec![
                one.jar.to_string(),
                one.runs.to_string(),
                one.turned.normalize().to_string(),
                last.unwrap_or_else(|| "–".to_owned()),
                bore.unwrap_or_else(|| "not read".to_owned()),
            ]
        })
        .collect();
    let each: Vec<Value> = used
        .iter()
        .map(|one| {
            let bore: Vec<Value> = one
                .bore
                .iter()
                .map(|bore| json!({ "check": bore.check, "at": bore.at, "what": bore.what, "mm": bore.mm.to_string(), "revolutions": bore.turned.to_string() }))
                .collect();
            json!({
                "jar": one.jar,
                "runs": one.runs,
                "revolutions": one.turned.to_string(),
                "runs_not_counted": one.not_counted,
                "last": one.last,
                "bore": bore,
            })
        })
        .collect();
    let text = if rows.is_empty() {
        "no jar is registered".to_owned()
    } else {
        table::columns(&["jar", "runs", "revolutions", "last", "bore"], &rows)
    };
    Ok(Answer::new(text, json!({ "jars": each })))
}
