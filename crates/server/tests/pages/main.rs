//! Stories over the pages: what a browser sends and what it gets back, without a socket.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on fails")]

mod accounts;
mod accounts_said;
mod attachments;
mod benches;
mod companion;
mod control;
mod damaged;
mod demo;
mod forms;
mod guard;
mod guide;
mod hostile;
mod imports;
mod intake;
mod interface;
mod judgement;
mod languages;
mod losses;
mod markup;
mod network;
mod organisation;
mod papers;
mod passkeys;
mod people;
mod reception;
mod rounds;
mod secrets;
mod sent;
mod sieving;
mod site;
mod studies;
mod watching;
mod wear;
mod words;
