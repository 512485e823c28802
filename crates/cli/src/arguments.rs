//! The arguments of the program.

use crate::answer::Failure;
use crate::command::{
    api, attach, backup, charge, check, control, database, demo, doubt, due, duplicates, evidence,
    experiment, export, found, guide, import, item, journal, labels, laboratory, letterhead, loss,
    makeup, method, methods, network, paper, people, person, policy, procedure, reading, ready,
    reference, release, result, round, run, sample, scores, sensitivity, serve, sieving, specimen,
    split_round, study, token, webhook, weigh, work_out,
};
use crate::statistics::Statistics;
use clap::{Parser, Subcommand};
use std::path::PathBuf;
use stonewear_journal::postgres::{DatabaseAddress, DatabaseError, LaboratoryName};
use stonewear_runtime::{Place, SharedDatabase};

/// Stonewear keeps a laboratory's wet-attrition (micro-Deval) work on aggregates: equipment and
/// its checks, specimens, runs, losses, reports, and the evidence for every number.
#[derive(Debug, Parser)]
#[command(version, max_term_width = 100)]
pub(crate) struct Arguments {
    /// Print one JSON document on stdout and nothing else.
    #[arg(long, global = true)]
    pub(crate) json: bool,
    #[command(subcommand)]
    pub(crate) command: Command,
}

#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    /// Found the invented demo laboratory, if it is not there yet, and serve it.
    Demo(demo::Demo),
    /// Serve a laboratory's page.
    Serve(serve::Serve),
    Guide(guide::Guide),
    /// List the test methods, or show one whole.
    Methods(methods::Methods),
    Loss(loss::LossOf),
    WorkOut(work_out::WorkOutOf),
    Makeup(Box<makeup::MakeUpOf>),
    Round(round::Round),
    /// Show a check procedure.
    #[command(subcommand)]
    Procedure(procedure::Procedure),
    /// Verify, sign or export a journal.
    #[command(subcommand)]
    Journal(journal::Journal),
    /// Prepare a PostgreSQL database that many laboratories share, and admit laboratories to it.
    #[command(subcommand)]
    Database(database::Database),
    Network(network::NetworkOf),
    Backup(backup::Backup),
    Restore(backup::Restore),
    Paper(paper::Paper),
    Export(export::Export),
    LossSheet(export::LossSheet),
    Import(Box<import::Import>),
    Imports(import::Imports),
    Labels(labels::Labels),
    /// Set what stands at the head and the foot of every paper.
    #[command(subcommand)]
    Letterhead(letterhead::Letterhead),
    Found(found::Found),
    /// Add people and change what they may do.
    #[command(subcommand)]
    Person(person::Person),
    /// Register equipment and change where it stands.
    #[command(subcommand)]
    Item(item::Item),
    /// Begin, observe and give up checks.
    #[command(subcommand)]
    Check(check::Check),
    /// See how ball charges wear, until when they can be used, and record what is done to them.
    #[command(subcommand)]
    Charge(charge::Charge),
    /// Plan, run and fit experiments on how the loss follows the conditions of a run.
    #[command(subcommand)]
    Experiment(experiment::Experiment),
    /// Plan, run, analyse and conclude designed studies.
    #[command(subcommand)]
    Study(study::Study),
    /// Take methods into use and confirm their numbers.
    #[command(subcommand)]
    Method(method::MethodVerb),
    /// Receive samples, hand them over, correct and show them.
    #[command(subcommand)]
    Sample(sample::Sample),
    /// Record and show the sieve analysis of a sample.
    #[command(subcommand)]
    Sieving(sieving::Sieving),
    /// Make up specimens.
    #[command(subcommand)]
    Specimen(specimen::Specimen),
    /// Start, interrupt, resume and stop runs, and correct what is recorded about them.
    #[command(subcommand)]
    Run(run::Run),
    Reading(reading::Reading),
    /// Weigh a specimen before or after its run.
    #[command(subcommand)]
    Weigh(weigh::Weigh),
    /// Record what experiments say about how the loss follows the conditions of a run.
    #[command(subcommand)]
    Sensitivity(sensitivity::Sensitivity),
    Release(release::Release),
    /// Show results: versions, judgement, agreement.
    #[command(subcommand)]
    Result(result::ResultVerb),
    /// Decide what methods and standards leave to the laboratory.
    #[command(subcommand)]
    Policy(policy::PolicyVerb),
    /// Keep lots of reference aggregate: stock, past results, the next run that is due.
    #[command(subcommand)]
    Reference(reference::Reference),
    /// Control charts: where they stand, what they are judged against, investigations.
    #[command(subcommand)]
    Control(control::Control),
    Ready(ready::Ready),
    Due(due::Due),
    Duplicates(duplicates::Duplicates),
    Evidence(evidence::Evidence),
    Doubt(Box<doubt::Doubt>),
    CloseDoubt(doubt::Close),
    Attach(attach::Attach),
    File(attach::FileOut),
    Show(laboratory::Show),
    /// Organise a round between laboratories with split samples: codes, forms, analysis, reports.
    #[command(subcommand)]
    SplitRound(split_round::SplitRound),
    /// Keep the scores of this laboratory in the proficiency rounds of others.
    #[command(subcommand)]
    Scores(scores::Scores),
    /// Let programs ask the interface, in somebody's name and as far as a scope goes.
    #[command(subcommand)]
    Token(token::Token),
    /// Give people accounts, reset and close them, and read the access log: at the machine itself.
    #[command(subcommand)]
    People(people::People),
    /// Tell other programs of new facts.
    #[command(subcommand)]
    Webhook(webhook::Webhook),
    /// The interface for programs.
    #[command(subcommand)]
    Api(api::Api),
    #[command(flatten)]
    Statistics(Statistics),
}

/// Which laboratory.
#[derive(Debug, clap::Args)]
pub(crate) struct Folder {
    /// Folder of the laboratory; of what this machine keeps for it, where it is in a database.
    #[arg(long, value_name = "DIR", default_value = "laboratory")]
    pub(crate) dir: PathBuf,
    #[command(flatten)]
    shared: Shared,
}

/// In which database, where the laboratory is in one.
#[derive(Debug, clap::Args)]
pub(crate) struct Shared {
    /// Database that the laboratory is in: postgres://ROLE@HOST/NAME.
    #[arg(long, value_name = "ADDRESS", env = "STONEWEAR_DATABASE", hide_env_values = true)]
    database: Option<String>,
    /// Name of the laboratory in the database.
    #[arg(
        id = "in_laboratory",
        long = "laboratory",
        value_name = "NAME",
        env = "STONEWEAR_LABORATORY"
    )]
    laboratory: Option<String>,
}

impl Folder {
    /// Where the laboratory is kept.
    ///
    /// # Errors
    /// When the database or the name of the laboratory in it is written wrong, or one of them is missing.
    pub(crate) fn place(&self) -> Result<Place, Failure> {
        match self.shared.named()? {
            Some(database) => Ok(Place::in_database(&self.dir, database)),
            None => Ok(Place::from(&self.dir)),
        }
    }

    /// The database, for what needs one.
    ///
    /// # Errors
    /// As [`Folder::place`]; and when no database is named.
    pub(crate) fn database(&self) -> Result<SharedDatabase, Failure> {
        self.shared.named()?.ok_or_else(|| missing("--database ADDRESS and --laboratory NAME"))
    }

    /// Refuses what is done with a file, where the laboratory is in a database.
    ///
    /// # Errors
    /// With what is done instead.
    pub(crate) fn only_in_a_file(&self, instead: &str) -> Result<&PathBuf, Failure> {
        match self.shared.named()? {
            None => Ok(&self.dir),
            Some(database) => Err(Failure::Refused(format!(
                "this is done with a laboratory in a folder, and {database} is not in one: {instead}"
            ))),
        }
    }
}

impl Shared {
    /// The address of the database.
    ///
    /// # Errors
    /// When it is missing or written wrong.
    pub(crate) fn address(&self) -> Result<DatabaseAddress, Failure> {
        let typed = self.database.as_ref().ok_or_else(|| missing("--database ADDRESS"))?;
        typed.parse().map_err(|error| Failure::WrongInput(format!("--database: {error}")))
    }

    /// The name of the laboratory in it, where one is given.
    ///
    /// # Errors
    /// When it is written wrong.
    pub(crate) fn laboratory(&self) -> Result<Option<LaboratoryName>, Failure> {
        let read = |typed: &String| {
            let wrong = |error| Failure::WrongInput(format!("--laboratory: {error}"));
            typed.parse().map_err(|error: DatabaseError| wrong(error))
        };
        self.laboratory.as_ref().map(read).transpose()
    }

    fn named(&self) -> Result<Option<SharedDatabase>, Failure> {
        match (&self.database, self.laboratory()?) {
            (None, None) => Ok(None),
            (None, Some(_)) => Err(missing("--database ADDRESS, since --laboratory is named")),
            (Some(_), None) => Err(missing("--laboratory NAME, since --database is named")),
            (Some(_), Some(laboratory)) => {
                Ok(Some(SharedDatabase { address: self.address()?, laboratory }))
            }
        }
    }
}

fn missing(what: &str) -> Failure {
    Failure::WrongInput(format!(
        "{what}: not named, nor in the environment (STONEWEAR_DATABASE, STONEWEAR_LABORATORY)"
    ))
}

/// Which laboratory, and who asks.
#[derive(Debug, clap::Args)]
pub(crate) struct Asking {
    #[command(flatten)]
    pub(crate) folder: Folder,
    /// Initials of the person who asks.
    #[arg(long, value_name = "CODE", default_value = "")]
    pub(crate) by: String,
}

/// A departure from a rule, with its reason.
#[derive(Debug, clap::Args)]
pub(crate) struct Departing {
    /// Do it although a rule of the method or the laboratory says no; the reason is printed on
    /// the report.
    #[arg(long, value_name = "REASON", default_value = "")]
    pub(crate) deviation: String,
}
