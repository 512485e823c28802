//! One file a command, each in the same order: the arguments, then what they do.

pub(crate) mod api;
pub(crate) mod attach;
pub(crate) mod authorisation;
pub(crate) mod backup;
pub(crate) mod charge;
pub(crate) mod check;
pub(crate) mod control;
pub(crate) mod database;
pub(crate) mod demo;
pub(crate) mod doubt;
pub(crate) mod due;
pub(crate) mod duplicates;
pub(crate) mod evidence;
pub(crate) mod experiment;
pub(crate) mod export;
pub(crate) mod found;
pub(crate) mod guide;
pub(crate) mod import;
pub(crate) mod item;
pub(crate) mod journal;
pub(crate) mod labels;
pub(crate) mod laboratory;
pub(crate) mod letterhead;
pub(crate) mod loss;
pub(crate) mod makeup;
pub(crate) mod method;
pub(crate) mod methods;
pub(crate) mod network;
pub(crate) mod paper;
pub(crate) mod people;
pub(crate) mod person;
pub(crate) mod policy;
pub(crate) mod procedure;
pub(crate) mod reading;
pub(crate) mod ready;
pub(crate) mod reference;
pub(crate) mod release;
pub(crate) mod result;
pub(crate) mod round;
pub(crate) mod run;
pub(crate) mod sample;
pub(crate) mod scores;
pub(crate) mod sensitivity;
pub(crate) mod serve;
pub(crate) mod sieving;
pub(crate) mod specimen;
pub(crate) mod split_round;
pub(crate) mod study;
pub(crate) mod token;
pub(crate) mod webhook;
pub(crate) mod weigh;
pub(crate) mod work_out;

mod asking;
mod carry;
mod check_view;
mod control_words;
mod field;
mod losses;
mod readable;
mod round_words;
mod sheet;
mod signing;

use crate::answer::{Answer, Failure};
use crate::arguments::{Arguments, Command};
use crate::statistics;
use stonewear_method::Method;

pub(crate) fn run(arguments: Arguments) -> Result<Answer, Failure> {
    match arguments.command {
        Command::Demo(demo) => demo::run(demo),
        Command::Serve(serve) => serve::run(serve),
        Command::Guide(guide) => guide::run(&guide),
        Command::Methods(methods) => methods::run(&methods),
        Command::Loss(loss) => loss::run(&loss),
        Command::WorkOut(work_out) => work_out::run(&work_out),
        Command::Makeup(makeup) => makeup::run(&makeup),
        Command::Round(round) => round::run(&round),
        Command::Procedure(procedure) => procedure::run(&procedure),
        Command::Journal(journal) => journal::run(&journal),
        Command::Database(database) => database::run(&database),
        Command::Network(network) => network::run(&network),
        Command::Backup(asked) => backup::run(&asked),
        Command::Restore(asked) => backup::restore(&asked),
        Command::Paper(paper) => paper::run(&paper),
        Command::Export(export) => export::run(&export),
        Command::LossSheet(asked) => export::loss_sheet(&asked),
        Command::Import(asked) => import::run(&asked),
        Command::Imports(asked) => import::list(&asked),
        Command::Labels(labels) => labels::run(&labels),
        Command::Letterhead(letterhead) => letterhead::run(letterhead),
        Command::Found(found) => found::run(found),
        Command::Person(person) => person::run(person),
        Command::Item(item) => item::run(item),
        Command::Charge(charge) => charge::run(charge),
        Command::Experiment(experiment) => experiment::run(experiment),
        Command::Study(study) => study::run(study),
        Command::Check(check) => check::run(check),
        Command::Method(method) => method::run(method),
        Command::Sample(sample) => sample::run(sample),
        Command::Sieving(sieving) => sieving::run(sieving),
        Command::Specimen(specimen) => specimen::run(specimen),
        Command::Run(run) => run::run(run),
        Command::Reading(reading) => reading::run(reading),
        Command::Weigh(weigh) => weigh::run(weigh),
        Command::Sensitivity(sensitivity) => sensitivity::run(sensitivity),
        Command::Release(release) => release::run(release),
        Command::Result(result) => result::run(&result),
        Command::Reference(reference) => reference::run(reference),
        Command::Control(control) => control::run(control),
        Command::Policy(policy) => policy::run(policy),
        Command::Ready(ready) => ready::run(&ready),
        Command::Due(due) => due::run(&due),
        Command::Duplicates(duplicates) => duplicates::run(&duplicates),
        Command::Evidence(evidence) => evidence::run(&evidence),
        Command::Doubt(doubt) => doubt::run(*doubt),
        Command::CloseDoubt(close) => doubt::close(close),
        Command::Attach(new) => attach::attach(new),
        Command::File(file) => attach::file(&file),
        Command::SplitRound(verb) => split_round::run(verb),
        Command::Scores(verb) => scores::run(verb),
        Command::Token(token) => token::run(token),
        Command::People(people) => people::run(people),
        Command::Webhook(webhook) => webhook::run(webhook),
        Command::Api(api) => api::run(&api),
        Command::Show(show) => laboratory::run(&show),
        Command::Statistics(statistics) => statistics::run(&statistics),
    }
}

/// The method that is typed: a file of one's own (`mine.toml`), or one that comes with the
/// program, the newest edition where none is named.
pub(crate) fn find_method(typed: &str) -> Result<Method, Failure> {
    if !typed.ends_with(".toml") {
        return stonewear_method::library::built_in_method(typed).map_err(Failure::wrong_input);
    }
    let text = std::fs::read_to_string(typed)
        .map_err(|error| Failure::Surroundings(format!("{typed} cannot be read: {error}")))?;
    stonewear_method::read(typed, &text).map_err(Failure::wrong_input)
}

/// That nothing has the code that was typed, with those that resemble it.
pub(crate) fn unknown<'n>(
    what: &str,
    typed: &str,
    known: impl IntoIterator<Item = &'n str>,
) -> Failure {
    // Below this, what is offered confuses more than it helps.
    const RESEMBLES: f64 = 0.75;
    let wanted = typed.to_uppercase();
    let mut near: Vec<(f64, &str)> = known
        .into_iter()
        .map(|code| (strsim::jaro_winkler(&wanted, code), code))
        .filter(|(likeness, _)| *likeness >= RESEMBLES)
        .collect();
    near.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(b.1)));
    let near: Vec<&str> = near.into_iter().take(4).map(|(_, code)| code).collect();
    let hint = if near.is_empty() {
        "`stonewear show` lists what is here".to_owned()
    } else {
        format!("near to it: {}", near.join(", "))
    };
    Failure::WrongInput(format!("{what} “{typed}”; {hint}"))
}
