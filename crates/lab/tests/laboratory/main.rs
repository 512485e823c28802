//! The laboratory from outside: its decisions, what they fold into, and the laws of both. One program, so
//! that the story that all of them tell is built once.

#![allow(clippy::unwrap_used, reason = "a test that fails here says where")]

mod story;

mod agreement;
mod asked;
mod attachments;
mod authorisations;
mod charge;
mod checks;
mod companion;
mod control;
mod control_published;
mod control_simulated;
mod corrections;
mod doubt;
mod due;
mod due_calendar;
mod due_sources;
mod duplicates;
mod experiments;
mod judged;
mod laws;
mod papers;
mod proficiency;
mod ready;
mod reception;
mod rounds;
mod sieving;
mod studies;
mod turning;
mod walk;
