//! The demo laboratory: an invented scenario, made through the real rules from a seed.
//!
//! Nothing is written past the rules: every fact comes out of [`stonewear_lab::decide`], with a
//! simulated calendar, so the demo is also a test that two years of ordinary work are possible.
//! The same seed gives the same journal, hash for hash, on every machine.
//!
//! People, quarries, clients and figures are invented; any likeness to real ones is chance.

mod between;
mod busy;
mod chance;
mod companion;
mod control;
mod equipment;
mod everyday;
mod experiment;
mod papers;
mod past;
mod people;
mod replicates;
mod scenario;
mod story;
mod studies;
mod wear;

pub use busy::busy;
pub use past::files;
pub use scenario::{SEED, scenario};
pub use story::{Batch, DemoError};
