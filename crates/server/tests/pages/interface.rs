//! The interface for programs: what a program sends and what it gets back.

mod door;
mod events;
mod hooks;
mod once;
mod problems;
pub(crate) mod program;
mod views;
