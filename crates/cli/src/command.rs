//! One file a command, each in the same order: the arguments, then what they do.

pub(crate) mod check;
pub(crate) mod demo;
pub(crate) mod found;
pub(crate) mod item;
pub(crate) mod journal;
pub(crate) mod laboratory;
pub(crate) mod loss;
pub(crate) mod method;
pub(crate) mod methods;
pub(crate) mod paper;
pub(crate) mod person;
pub(crate) mod procedure;
pub(crate) mod release;
pub(crate) mod round;
pub(crate) mod run;
pub(crate) mod sample;
pub(crate) mod serve;
pub(crate) mod specimen;
pub(crate) mod weigh;

mod asking;

use crate::answer::{Answer, Failure};
use crate::arguments::{Arguments, Command};
use stonewear_method::Method;

pub(crate) fn run(arguments: Arguments) -> Result<Answer, Failure> {
    match arguments.command {
        Command::Demo(demo) => demo::run(demo),
        Command::Serve(serve) => serve::run(serve),
        Command::Methods(methods) => methods::run(&methods),
        Command::Loss(loss) => loss::run(&loss),
        Command::Round(round) => round::run(&round),
        Command::Procedure(procedure) => procedure::run(&procedure),
        Command::Journal(journal) => journal::run(&journal),
        Command::Paper(paper) => paper::run(&paper),
        Command::Found(found) => found::run(found),
        Command::Person(person) => person::run(person),
        Command::Item(item) => item::run(item),
        Command::Check(check) => check::run(check),
        Command::Method(method) => method::run(method),
        Command::Sample(sample) => sample::run(sample),
        Command::Specimen(specimen) => specimen::run(specimen),
        Command::Run(run) => run::run(run),
        Command::Weigh(weigh) => weigh::run(weigh),
        Command::Release(release) => release::run(release),
        Command::Show(show) => laboratory::run(&show),
    }
}

/// The method that is typed, newest edition where none is named.
pub(crate) fn find_method<'a>(methods: &'a [Method], typed: &str) -> Result<&'a Method, Failure> {
    stonewear_method::library::find(methods, typed).map_err(Failure::wrong_input)
}
