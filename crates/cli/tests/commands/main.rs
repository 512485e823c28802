//! The program as its users meet it: a command line in; stdout, stderr and an exit status out.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

mod accounts;
mod attach;
mod bad_days;
mod bench;
mod charge;
mod checks;
mod companion;
mod control;
mod corrections;
mod database;
mod equipment;
mod every_paper;
mod exchange;
mod founding;
mod harness;
mod interface;
mod issued;
mod journal;
mod judgement;
mod keeping;
mod loss;
mod makeup;
mod methods;
mod papers;
mod people;
mod procedure;
mod reception;
mod rounding;
mod rounds;
mod serving;
mod sieving;
mod studies;
mod walk;
