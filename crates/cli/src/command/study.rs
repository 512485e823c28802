//! `stonewear study`: designed studies: which runs answer a question, and what they showed.

use super::asking::ask;
use super::sheet;
use crate::answer::{Answer, Failure};
use crate::arguments::{Asking, Folder};
use crate::statistics::file;
use serde_json::json;
use std::path::PathBuf;
use stonewear_lab::request::{
    AssignStudyRun, ConcludeStudy, FactorForm, ImportStudyValues, PlanStudy,
};
use stonewear_lab::state::Study as Planned;
use stonewear_lab::{Fact, StudyCode};
use stonewear_report::{
    csv, study_means_table, study_plan_sheet, study_report_sheet, study_runs_table,
};
use stonewear_runtime::{LaboratoryView, drawn_seed};

#[derive(Debug, clap::Subcommand)]
pub(crate) enum Study {
    /// Plan the runs that answer a question, or record a study that was carried out elsewhere.
    #[command(after_help = "\
Example (invented figures):\n\
\x20 stonewear study plan --by AB same --title 'are the jars the same' --method astm-d6928 --sample S26-001 --factor jar=J1,J2 --difference 0.8 --deviation 0.3 --deviation-source 'notebook 4'")]
    Plan(Box<Plan>),
    /// List the studies.
    #[command(after_help = "\
Example:\n\
\x20 stonewear study list --dir demo-laboratory")]
    List {
        #[command(flatten)]
        folder: Folder,
    },
    /// Show the runs of a study and what they say so far.
    #[command(after_help = "\
Example:\n\
\x20 stonewear study show Y26-001 --dir demo-laboratory")]
    Show {
        #[command(flatten)]
        folder: Folder,
        /// The study.
        study: String,
    },
    /// Make a specimen a run of the plan.
    #[command(after_help = "\
Example:\n\
\x20 stonewear study assign --by AB Y26-001 S26-031-1")]
    Assign {
        #[command(flatten)]
        asking: Asking,
        /// The study.
        study: String,
        /// The specimen.
        specimen: String,
        /// The run by its number; left out, the next without a specimen.
        #[arg(long, default_value = "")]
        run: String,
        /// Why a specimen that is already assigned is replaced.
        #[arg(long, default_value = "")]
        reason: String,
        /// Why the run counts although it departs from the plan.
        #[arg(long, default_value = "")]
        deviation: String,
    },
    /// Take values of runs from a CSV file with the columns run and loss.
    #[command(after_help = "\
Example:\n\
\x20 stonewear study import --by AB Y26-001 --file losses.csv --document 'notebook 4, page 12'")]
    Import {
        #[command(flatten)]
        asking: Asking,
        /// The study.
        study: String,
        /// CSV file; `-` reads standard input.
        #[arg(long)]
        file: PathBuf,
        /// Where the values are on record.
        #[arg(long)]
        document: String,
        /// Why values that are there are replaced.
        #[arg(long, default_value = "")]
        reason: String,
    },
    /// Print a study as PDF: what it showed; with --plan, the order of its runs and the make-up list.
    #[command(after_help = "\
Example:\n\
\x20 stonewear study paper Y26-001 --dir demo-laboratory --out study.pdf")]
    Paper {
        #[command(flatten)]
        folder: Folder,
        /// The study.
        study: String,
        /// The plan, with room to write, in place of the report.
        #[arg(long)]
        plan: bool,
        /// File to write.
        #[arg(long, short, value_name = "FILE")]
        out: PathBuf,
    },
    /// Print the runs of a study as CSV, in the order of the plan; with --means, its means.
    #[command(after_help = "\
Example:\n\
\x20 stonewear study csv Y26-001 --dir demo-laboratory")]
    Csv {
        #[command(flatten)]
        folder: Folder,
        /// The study.
        study: String,
        /// The means with their intervals in place of the runs.
        #[arg(long)]
        means: bool,
    },
    /// Conclude a study with your name, or withdraw it.
    #[command(after_help = "\
Example:\n\
\x20 stonewear study conclude --by AB Y26-001 --remark 'the jars stay in use'")]
    Conclude {
        #[command(flatten)]
        asking: Asking,
        /// The study.
        study: String,
        /// What follows from it; of a study that is withdrawn, why.
        #[arg(long)]
        remark: String,
        /// Withdraw it without a conclusion.
        #[arg(long)]
        withdraw: bool,
        /// Why it is concluded although runs are missing or depart from the plan.
        #[arg(long, default_value = "")]
        deviation: String,
    },
}

#[derive(Debug, clap::Args)]
pub(crate) struct Plan {
    #[command(flatten)]
    asking: Asking,
    /// What it asks: same, equivalent or reference.
    question: String,
    /// What it is called.
    #[arg(long)]
    title: String,
    /// The item that it is about.
    #[arg(long, default_value = "")]
    item: String,
    /// The method of its runs, like astm-d6928.
    #[arg(long, default_value = "")]
    method: String,
    /// The sample of its runs.
    #[arg(long, default_value = "")]
    sample: String,
    /// A factor and its levels; repeat it for each, the one in question first. With a table, the
    /// name of a column.
    #[arg(long, value_name = "NAME=LEVEL,LEVEL")]
    factor: Vec<String>,
    /// The levels of the second factor lie within those of the first.
    #[arg(long)]
    nested: bool,
    /// The difference to be seen, or the margin of agreement (±), % loss.
    #[arg(long, default_value = "")]
    difference: String,
    /// Where a margin comes from.
    #[arg(long, default_value = "")]
    difference_source: String,
    /// The difference that is expected to be there, where agreement is asked for.
    #[arg(long, default_value = "", allow_negative_numbers = true)]
    expected_difference: String,
    /// Wanted probability of seeing it, %; left out, 80.
    #[arg(long, default_value = "")]
    power: String,
    /// Confidence of the statements, %; left out, 95.
    #[arg(long, default_value = "")]
    confidence: String,
    /// Standard deviation of single results; left out, that of the method at the expected loss.
    #[arg(long, default_value = "")]
    deviation: String,
    /// Where it comes from.
    #[arg(long, default_value = "")]
    deviation_source: String,
    /// The expected loss, %.
    #[arg(long, default_value = "")]
    expected: String,
    /// How often the design is repeated; left out, as often as the power needs.
    #[arg(long, default_value = "")]
    repetitions: String,
    /// The reference value.
    #[arg(long, default_value = "")]
    reference_value: String,
    /// Its standard uncertainty.
    #[arg(long, default_value = "")]
    reference_uncertainty: String,
    /// Where it comes from.
    #[arg(long, default_value = "")]
    reference_source: String,
    /// The seed of the order; left out, one is drawn and recorded.
    #[arg(long, allow_negative_numbers = true)]
    seed: Option<String>,
    /// CSV file of runs that were carried out elsewhere: a column a factor, and one of values.
    #[arg(long)]
    file: Option<PathBuf>,
    /// The column of values; left out, loss or the last.
    #[arg(long, default_value = "")]
    value_column: String,
    /// The unit of the values; left out, % loss.
    #[arg(long, default_value = "")]
    unit: String,
    /// The document that the file comes from.
    #[arg(long, default_value = "")]
    document: String,
}

pub(crate) fn run(study: Study) -> Result<Answer, Failure> {
    match study {
        Study::Plan(plan) => self::plan(*plan),
        Study::List { folder } => list(&folder),
        Study::Show { folder, study } => show(&folder, &study),
        Study::Paper { folder, study, plan, out } => {
            let view = LaboratoryView::open(&folder.place()?)?;
            let found = found(&view, &study)?;
            let anchor = view.anchor().map_err(Failure::surroundings)?;
            let made = if plan { study_plan_sheet } else { study_report_sheet };
            sheet::print(&made(view.lab(), found, anchor, view.now()), &out)
        }
        Study::Csv { folder, study, means } => as_csv(&folder, &study, means),
        Study::Assign { asking, study, specimen, run, reason, deviation } => {
            ask(&asking, AssignStudyRun { study, run, specimen, reason, deviation })
        }
        Study::Import { asking, study, file, document, reason } => {
            let table = file::text(&file)?;
            ask(&asking, ImportStudyValues { study, table, document, reason })
        }
        Study::Conclude { asking, study, remark, withdraw, deviation } => {
            let withdraw = yes(withdraw);
            ask(&asking, ConcludeStudy { study, remark, withdraw, deviation })
        }
    }
}

fn yes(said: bool) -> String {
    if said { "yes".to_owned() } else { String::new() }
}

fn plan(plan: Plan) -> Result<Answer, Failure> {
    let factor = |typed: &String| {
        let (name, levels) = typed.split_once('=').unwrap_or((typed.as_str(), ""));
        FactorForm { name: name.to_owned(), levels: levels.to_owned() }
    };
    let request = PlanStudy {
        title: plan.title,
        question: plan.question,
        item: plan.item,
        method: plan.method,
        sample: plan.sample,
        factors: plan.factor.iter().map(factor).collect(),
        nested: yes(plan.nested),
        difference: plan.difference,
        difference_source: plan.difference_source,
        expected_difference: plan.expected_difference,
        power: plan.power,
        confidence: plan.confidence,
        deviation: plan.deviation,
        deviation_source: plan.deviation_source,
        expected: plan.expected,
        repetitions: plan.repetitions,
        reference_value: plan.reference_value,
        reference_uncertainty: plan.reference_uncertainty,
        reference_source: plan.reference_source,
        seed: plan.seed.unwrap_or_else(|| drawn_seed().to_string()),
        table: plan.file.as_deref().map(file::text).transpose()?.unwrap_or_default(),
        value_column: plan.value_column,
        unit: plan.unit,
        document: plan.document,
    };
    ask(&plan.asking, request)
}

fn found<'v>(view: &'v LaboratoryView, typed: &str) -> Result<&'v Planned, Failure> {
    let studies = &view.lab().studies;
    studies.get(typed.trim().to_uppercase().as_str()).ok_or_else(|| {
        let known = studies.keys().map(StudyCode::as_str);
        super::unknown("there is no study", typed.trim(), known)
    })
}

fn list(folder: &Folder) -> Result<Answer, Failure> {
    let view = LaboratoryView::open(&folder.place()?)?;
    let lab = view.lab();
    let line = |study: &Planned| {
        let plan = &study.plan.value;
        let done = lab.study_runs(study).iter().filter(|run| run.value.is_some()).count();
        let (code, title, stands) = (&plan.study, &plan.title, study.in_words());
        format!("{code}: {title}, {done} of {} runs, {stands}", plan.runs.len())
    };
    let lines: Vec<String> = lab.studies.values().rev().map(line).collect();
    let text = if lines.is_empty() { "no study yet".to_owned() } else { lines.join("\n") };
    Ok(Answer::new(text, json!({ "studies": lab.studies.values().collect::<Vec<_>>() })))
}

fn show(folder: &Folder, typed: &str) -> Result<Answer, Failure> {
    let view = LaboratoryView::open(&folder.place()?)?;
    let lab = view.lab();
    let study = found(&view, typed)?;
    let plan = &study.plan.value;
    let mut lines = vec![format!("{}: {} ({})", plan.study, plan.title, study.in_words())];
    lines.push(format!("{} {}", plan.question.in_words(), plan.design.in_words()));
    lines.extend(plan.why.iter().cloned());
    let runs = lab.study_runs(study);
    for run in &runs {
        let value = run.value.map_or_else(String::new, |value| {
            format!(": {}", stonewear_lab::study::shown(value, &plan.unit))
        });
        let levels = run.planned.levels.join(", ");
        lines.push(format!("run {}  {levels}  {}{value}", run.planned.run, run.in_words()));
    }
    let analysis = lab.study_analysis(study);
    match (&study.concluded, &analysis) {
        (Some(concluded), _) => {
            lines.extend(concluded.value.verdict.iter().cloned());
            lines.push(format!("{}: {}", concluded.by, concluded.value.remark));
        }
        (None, Ok(found)) => lines.extend(found.verdict.iter().chain(&found.notes).cloned()),
        (None, Err(why)) => lines.push(why.clone()),
    }
    let analysis = match &analysis {
        Ok(found) => json!(found),
        Err(why) => json!({ "why_not": why }),
    };
    Ok(Answer::new(lines.join("\n"), json!({ "study": study, "runs": runs, "analysis": analysis })))
}

fn as_csv(folder: &Folder, typed: &str, means: bool) -> Result<Answer, Failure> {
    let view = LaboratoryView::open(&folder.place()?)?;
    let study = found(&view, typed)?;
    let table = if means {
        let analysis = view.lab().study_analysis(study).map_err(Failure::WrongInput)?;
        study_means_table(study, &analysis)
    } else {
        study_runs_table(view.lab(), study)
    };
    let text = csv(&table);
    let json = json!({ "csv": text });
    Ok(Answer::new(text.trim_end().to_owned(), json))
}

/// What a fact about a study says in a short sentence.
pub(super) fn in_words(fact: &Fact) -> Option<String> {
    Some(match fact {
        Fact::StudyPlanned(plan) => {
            let seed = plan.seed.map_or_else(String::new, |seed| format!(", seed {seed}"));
            let (code, runs, design) = (&plan.study, plan.runs.len(), plan.design.in_words());
            format!("planned {code}: {design}, {runs} runs{seed}\n{}", plan.why.join("\n"))
        }
        Fact::StudyRunAssigned(run) => {
            format!("{} is run {} of {}", run.specimen, run.run, run.study)
        }
        Fact::StudyValuesImported(import) => {
            format!("took {} values into {}", import.values.len(), import.study)
        }
        Fact::StudyConcluded(one) if one.withdrawn => format!("withdrew {}", one.study),
        Fact::StudyConcluded(one) => {
            format!("concluded {}\n{}", one.study, one.verdict.join("\n"))
        }
        _ => return None,
    })
}
