//! `stonewear split-round`: a round between laboratories, organised from here.

use super::asking::ask;
use super::sheet;
use crate::answer::{Answer, Failure};
use crate::arguments::{Asking, Departing, Folder};
use crate::statistics::{file, table};
use serde_json::json;
use std::path::PathBuf;
use stonewear_lab::request::{
    CloseRound, JoinRound, JudgeCell, PlanRound, ReopenRound, TakeInOwnResults, TakeInResults,
    TestHomogeneity,
};
use stonewear_lab::round::{
    HEAD, analyse, cell_lines, csv, document, homogeneity, participant_document, result_form,
    significant,
};
use stonewear_lab::state::Round;
use stonewear_lab::{Lab, RoundCode};
use stonewear_report::{participant_report, round_instructions, round_report};
use stonewear_runtime::LaboratoryView;

#[derive(Debug, clap::Subcommand)]
pub(crate) enum SplitRound {
    /// Plan a round: materials, replicates, participants, the day it closes.
    #[command(after_help = "\
Example:\n\
\x20 stonewear split-round plan --by IK --title 'Spring round' --method astm-d6928 --closes-on 2027-05-28 \\\n\
\x20   --material 'A; granite 10/14; 0.6' --material 'B; limestone 10/14' --replicates 2 \\\n\
\x20   --participant own --participant 'Fenwick Aggregates Laboratory; lab@fenwick.example'")]
    Plan(Box<Plan>),
    /// Let a laboratory take part; its code is drawn from the seed of the round.
    #[command(after_help = "\
Example:\n\
\x20 stonewear split-round join --by IK B27-001 'Orrin Stone Testing' --contact 'R. Vale'")]
    Join {
        #[command(flatten)]
        asking: Asking,
        /// The round.
        round: String,
        /// The laboratory; `own` for this one.
        laboratory: String,
        /// Whom to write to.
        #[arg(long, default_value = "")]
        contact: String,
    },
    /// Record the homogeneity test of some bags from a CSV file.
    #[command(after_help = "\
The file has the columns material, bag and value, and a row for each result.\n\n\
Example:\n\
\x20 stonewear split-round homogeneity --by DO B27-001 --file bags.csv")]
    Homogeneity {
        #[command(flatten)]
        asking: Asking,
        /// The round.
        round: String,
        /// CSV file; `-` reads standard input.
        #[arg(long, value_name = "FILE")]
        file: PathBuf,
        /// Why an earlier test is replaced.
        #[arg(long, default_value = "")]
        reason: String,
    },
    /// Take in results of participants from a CSV file, of one or of several.
    #[command(after_help = "\
The file has the columns code, material, replicate and value; rows without a value are passed over.\n\n\
Example:\n\
\x20 stonewear split-round take-in --by IK B27-001 --file KT-47.csv --source 'e-mail of 12 May'")]
    TakeIn {
        #[command(flatten)]
        asking: Asking,
        /// The round.
        round: String,
        /// CSV file; `-` reads standard input.
        #[arg(long, value_name = "FILE")]
        file: PathBuf,
        /// Where it comes from.
        #[arg(long, default_value = "")]
        source: String,
        #[command(flatten)]
        departing: Departing,
    },
    /// Take in results of this laboratory, from its own records.
    #[command(after_help = "\
Example:\n\
\x20 stonewear split-round own --by IK B27-001 A L27-012 L27-013")]
    Own {
        #[command(flatten)]
        asking: Asking,
        /// The round.
        round: String,
        /// The material.
        material: String,
        /// Codes of the results, one for each replicate, in order.
        #[arg(required = true)]
        results: Vec<String>,
        #[command(flatten)]
        departing: Departing,
    },
    /// Leave the results of a participant for a material out of precision.
    #[command(after_help = "\
Example:\n\
\x20 stonewear split-round leave-out --by TR B27-001 KT-47 A --reason 'their sieve was torn'")]
    LeaveOut(Judged),
    /// Let results that were left out count again.
    #[command(after_help = "\
Example:\n\
\x20 stonewear split-round count --by TR B27-001 KT-47 A --reason 'the sieve was sound after all'")]
    Count(Judged),
    /// End a round: its figures are kept, its reports are final.
    #[command(after_help = "\
Example:\n\
\x20 stonewear split-round close --by TR B27-001 --remark 'Thank you all'")]
    Close {
        #[command(flatten)]
        asking: Asking,
        /// The round.
        round: String,
        /// What the reports say at their head.
        #[arg(long, default_value = "")]
        remark: String,
    },
    /// Let an ended round go on.
    #[command(after_help = "\
Example:\n\
\x20 stonewear split-round reopen --by TR B27-001 --reason 'one laboratory found a slip'")]
    Reopen {
        #[command(flatten)]
        asking: Asking,
        /// The round.
        round: String,
        /// Why.
        #[arg(long)]
        reason: String,
    },
    /// List the rounds.
    #[command(after_help = "\
Example:\n\
\x20 stonewear split-round list --dir demo-laboratory")]
    List {
        #[command(flatten)]
        folder: Folder,
    },
    /// Show a round: participants, homogeneity, precision, scores.
    #[command(after_help = "\
Example:\n\
\x20 stonewear split-round show B26-001 --dir demo-laboratory\n\
\x20 stonewear split-round show B26-001 --participant KT-47 --csv results.csv")]
    Show {
        #[command(flatten)]
        folder: Folder,
        /// The round.
        round: String,
        /// Only what this participant may see.
        #[arg(long, value_name = "CODE")]
        participant: Option<String>,
        /// Write results and scores to this CSV file.
        #[arg(long, value_name = "FILE")]
        csv: Option<PathBuf>,
    },
    /// Write the form on which a participant sends results.
    #[command(after_help = "\
Example:\n\
\x20 stonewear split-round form B26-001 KT-47 --out KT-47.csv")]
    Form {
        #[command(flatten)]
        folder: Folder,
        /// The round.
        round: String,
        /// The code of the participant.
        participant: String,
        /// File to write.
        #[arg(long, short, value_name = "FILE")]
        out: PathBuf,
    },
    /// Print the instructions, or a report, as PDF.
    #[command(after_help = "\
Example:\n\
\x20 stonewear split-round paper B26-001 instructions --participant KT-47 --out KT-47.pdf\n\
\x20 stonewear split-round paper B26-001 report --out report.pdf")]
    Paper {
        #[command(flatten)]
        folder: Folder,
        /// The round.
        round: String,
        /// Which paper.
        paper: WhichPaper,
        /// For this participant, with their own code only.
        #[arg(long, value_name = "CODE")]
        participant: Option<String>,
        /// File to write.
        #[arg(long, short, value_name = "FILE")]
        out: PathBuf,
    },
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub(crate) enum WhichPaper {
    /// What is in the bag, how to test, what can hurt, how to report.
    Instructions,
    /// What was found.
    Report,
}

#[derive(Debug, clap::Args)]
pub(crate) struct Plan {
    #[command(flatten)]
    asking: Asking,
    /// What the round is called.
    #[arg(long)]
    title: String,
    /// The test method: one of the library, or any other in words.
    #[arg(long)]
    method: String,
    /// What is reported, with its unit; left out, `loss, %`.
    #[arg(long, default_value = "")]
    quantity: String,
    /// A material: `name; what is in the bag; standard deviation for assessment`.
    #[arg(long = "material", value_name = "MATERIAL", required = true)]
    materials: Vec<String>,
    /// Results of each material.
    #[arg(long, default_value = "2")]
    replicates: String,
    /// A participant: `name; contact`; `own` for this laboratory.
    #[arg(long = "participant", value_name = "LABORATORY")]
    participants: Vec<String>,
    /// The last day on which results are taken, YYYY-MM-DD.
    #[arg(long, value_name = "DAY")]
    closes_on: String,
    /// Whole number from which the codes are drawn; left out, one is drawn by lot.
    #[arg(long, allow_negative_numbers = true)]
    seed: Option<String>,
    /// What the instructions say beside the usual.
    #[arg(long, default_value = "")]
    instructions: String,
}

#[derive(Debug, clap::Args)]
pub(crate) struct Judged {
    #[command(flatten)]
    asking: Asking,
    /// The round.
    round: String,
    /// The code of the participant.
    participant: String,
    /// The material.
    material: String,
    /// Why.
    #[arg(long)]
    reason: String,
}

pub(crate) fn run(verb: SplitRound) -> Result<Answer, Failure> {
    match verb {
        SplitRound::Plan(plan) => self::plan(*plan),
        SplitRound::Join { asking, round, laboratory, contact } => {
            ask(&asking, JoinRound { round, laboratory, contact })
        }
        SplitRound::Homogeneity { asking, round, file, reason } => {
            ask(&asking, TestHomogeneity { round, table: file::text(&file)?, reason })
        }
        SplitRound::TakeIn { asking, round, file, source, departing } => {
            let table = file::text(&file)?;
            let source = if source.is_empty() { file.display().to_string() } else { source };
            let deviation = departing.deviation;
            ask(&asking, TakeInResults { round, table, source, deviation })
        }
        SplitRound::Own { asking, round, material, results, departing } => {
            let (results, deviation) = (results.join(" "), departing.deviation);
            ask(&asking, TakeInOwnResults { round, material, results, deviation })
        }
        SplitRound::LeaveOut(judged) => judge(judged, "yes"),
        SplitRound::Count(judged) => judge(judged, "no"),
        SplitRound::Close { asking, round, remark } => ask(&asking, CloseRound { round, remark }),
        SplitRound::Reopen { asking, round, reason } => ask(&asking, ReopenRound { round, reason }),
        SplitRound::List { folder } => list(&folder),
        SplitRound::Show { folder, round, participant, csv } => {
            show(&folder, &round, participant.as_deref(), csv.as_deref())
        }
        SplitRound::Form { folder, round, participant, out } => {
            form(&folder, &round, &participant, &out)
        }
        SplitRound::Paper { folder, round, paper, participant, out } => {
            print(&folder, &round, paper, participant.as_deref(), &out)
        }
    }
}

fn plan(plan: Plan) -> Result<Answer, Failure> {
    let seed = plan.seed.unwrap_or_else(|| stonewear_runtime::drawn_seed().to_string());
    let request = PlanRound {
        title: plan.title,
        method: plan.method,
        quantity: plan.quantity,
        materials: plan.materials.join("\n"),
        replicates: plan.replicates,
        participants: plan.participants.join("\n"),
        closes_on: plan.closes_on,
        seed,
        instructions: plan.instructions,
    };
    ask(&plan.asking, request)
}

fn judge(judged: Judged, left_out: &str) -> Result<Answer, Failure> {
    let Judged { asking, round, participant, material, reason } = judged;
    ask(&asking, JudgeCell { round, participant, material, left_out: left_out.to_owned(), reason })
}

fn found<'l>(lab: &'l Lab, typed: &str) -> Result<&'l Round, Failure> {
    lab.round(typed).ok_or_else(|| {
        super::unknown("there is no round", typed.trim(), lab.rounds.keys().map(RoundCode::as_str))
    })
}

/// The code of a participant, as the round has it.
fn code_of(round: &Round, typed: &str) -> Result<String, Failure> {
    let code = typed.trim().to_uppercase();
    if round.participants.contains_key(code.as_str()) {
        return Ok(code);
    }
    Err(Failure::WrongInput(format!(
        "nobody takes part in {} under the code “{code}”",
        round.code()
    )))
}

fn list(folder: &Folder) -> Result<Answer, Failure> {
    let view = LaboratoryView::open(&folder.place()?)?;
    let lab = view.lab();
    let today = lab.local(view.now()).date();
    let line = |round: &Round| {
        let plan = &round.plan.value;
        format!("{}  {}, {}: {}\n", plan.round, plan.title, plan.method, round.standing(today))
    };
    let text: String = lab.rounds.values().map(line).collect();
    let rounds: Vec<_> = lab
        .rounds
        .values()
        .map(|round| {
            let (come, wanted) = round.progress();
            json!({
                "plan": round.plan.value,
                "participants": round.participants.len(),
                "results": { "come": come, "wanted": wanted },
                "closed": round.closed().map(|closed| closed.at),
            })
        })
        .collect();
    let text = if text.is_empty() { "no round was planned here".to_owned() } else { text };
    Ok(Answer::new(text, json!({ "rounds": rounds })))
}

fn show(
    folder: &Folder,
    typed: &str,
    participant: Option<&str>,
    out: Option<&std::path::Path>,
) -> Result<Answer, Failure> {
    let view = LaboratoryView::open(&folder.place()?)?;
    let lab = view.lab();
    let round = found(lab, typed)?;
    let only = participant.map(|typed| code_of(round, typed)).transpose()?;
    if let Some(out) = out {
        sheet::write(out, csv(round, only.as_deref()).as_bytes())?;
    }
    let analysis = analyse(round);
    let plan = &round.plan.value;
    let today = lab.local(view.now()).date();
    let mut text = format!("{}  {}, {}\n", plan.round, plan.title, round.standing(today));
    if only.is_none() {
        for joined in round.participants.values().map(|joined| &joined.value) {
            text += &format!("{}  {}\n", joined.participant, joined.laboratory);
        }
        for one in homogeneity(lab, round) {
            text += &format!("homogeneity of {}: {}\n", one.material, one.verdict.in_words());
        }
    }
    let precision: Vec<Vec<String>> = analysis
        .materials
        .iter()
        .map(|one| {
            let found = one.precision.as_ref().ok();
            vec![
                one.material.clone(),
                found.map_or(0, |found| found.laboratories).to_string(),
                significant(found.map(|found| found.mean), 4),
                significant(found.and_then(|found| found.s_r.clone().ok()), 3),
                significant(found.and_then(|found| found.s_reproducibility.clone().ok()), 3),
                significant(one.assigned(), 4),
                significant(one.sigma_pt, 3),
            ]
        })
        .collect();
    let head = ["material", "labs", "mean", "s_r", "s_R", "assigned", "s for assessment"];
    text += &table::columns(&head, &precision);
    let lines: Vec<Vec<String>> =
        cell_lines(&analysis, only.as_deref()).into_iter().map(Vec::from).collect();
    if !lines.is_empty() {
        text.push('\n');
        text += &table::columns(&HEAD, &lines);
    }
    let json = match &only {
        None => document(lab, round),
        Some(own) => participant_document(round, own).unwrap_or_default(),
    };
    Ok(Answer::new(text, json))
}

fn form(
    folder: &Folder,
    typed: &str,
    participant: &str,
    out: &std::path::Path,
) -> Result<Answer, Failure> {
    let view = LaboratoryView::open(&folder.place()?)?;
    let round = found(view.lab(), typed)?;
    let code = code_of(round, participant)?;
    sheet::write(out, result_form(round, &code.as_str().into()).as_bytes())?;
    let text = format!("{}: form of {code} in {}", out.display(), round.code());
    Ok(Answer::new(text, json!({ "file": out, "round": round.code(), "code": code })))
}

fn print(
    folder: &Folder,
    typed: &str,
    paper: WhichPaper,
    participant: Option<&str>,
    out: &std::path::Path,
) -> Result<Answer, Failure> {
    let view = LaboratoryView::open(&folder.place()?)?;
    let (lab, now) = (view.lab(), view.now());
    let round = found(lab, typed)?;
    let code = participant.map(|typed| code_of(round, typed)).transpose()?;
    let joined = code.as_deref().and_then(|code| round.participants.get(code));
    let made = match (paper, joined) {
        (WhichPaper::Instructions, to) => {
            round_instructions(lab, round, to.map(|to| &to.value), now)
        }
        (WhichPaper::Report, None) => round_report(lab, round, now),
        (WhichPaper::Report, Some(to)) => {
            participant_report(lab, round, to.value.participant.as_str(), now).unwrap_or_default()
        }
    };
    sheet::print(&made, out)
}
