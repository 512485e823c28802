//! Work that is measured, and the limits that it is held against: `bench/run` calls each part and puts
//! the figures side by side. Every part prints one JSON object.

#![allow(clippy::print_stdout, reason = "what is measured is printed")]

mod between;
mod generate;
mod journal;
mod queries;
mod recompute;
mod text;
mod trials;

use clap::{Parser, Subcommand};
use serde_json::json;
use std::path::PathBuf;
use std::time::Instant;

/// What can go wrong; it ends the program with its words.
type Trouble = Box<dyn std::error::Error>;

#[derive(Debug, Parser)]
struct Asked {
    #[command(subcommand)]
    what: What,
}

#[derive(Debug, Subcommand)]
enum What {
    /// Write tests of invented laboratories over years, with planted faults, as CSV.
    Tests {
        #[arg(long)]
        laboratories: u32,
        #[arg(long)]
        tests: u32,
        #[arg(long, default_value_t = 1)]
        seed: u64,
        out: PathBuf,
    },
    /// Write a round of many materials, 30 laboratories and two results each, as CSV.
    Round {
        #[arg(long)]
        materials: u32,
        #[arg(long, default_value_t = 1)]
        seed: u64,
        out: PathBuf,
    },
    /// Work out every loss, precision check and control signal.
    Recompute {
        tests: PathBuf,
        out: PathBuf,
        #[arg(long, default_value_t = 3)]
        runs: usize,
    },
    /// Work out the precision and the consistency of every material of a round.
    Between {
        round: PathBuf,
        out: PathBuf,
        #[arg(long, default_value_t = 3)]
        runs: usize,
    },
    /// Work the uncertainty of a loss out by Monte Carlo.
    Trials {
        #[arg(long, default_value_t = 10_000_000)]
        trials: usize,
        #[arg(long, default_value_t = 7)]
        runs: u64,
    },
    /// Make a laboratory with about so many facts, through the real rules.
    Laboratory {
        #[arg(long)]
        facts: usize,
        folder: PathBuf,
    },
    /// Append facts one by one, each on the disk before the next; ours, and a bare loop.
    Append {
        #[arg(long)]
        facts: usize,
        /// A laboratory that the facts are taken from.
        from: PathBuf,
        /// An empty folder on the disk that is measured.
        folder: PathBuf,
    },
    /// Open a laboratory; and parse the same bytes to nothing, and to a tree.
    Replay {
        folder: PathBuf,
        #[arg(long, default_value_t = 3)]
        runs: usize,
    },
    /// Ask the questions of every day.
    Queries { folder: PathBuf },
    /// Serve a text of so many bytes at `/` until killed.
    Text {
        #[arg(long)]
        bytes: usize,
    },
}

/// The same as that of the program.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() -> Result<(), Trouble> {
    let printed = match Asked::parse().what {
        What::Tests { laboratories, tests, seed, out } => {
            generate::tests(laboratories, tests, seed, &out)?
        }
        What::Round { materials, seed, out } => generate::round(materials, seed, &out)?,
        What::Recompute { tests, out, runs } => {
            // Read once, as the program does when it starts; the peers have the formula in their code.
            let method = recompute::method()?;
            timed(runs, || recompute::all(&method, &tests, &out))
                .map(|seconds| json!({"seconds": seconds}))?
        }
        What::Between { round, out, runs } => {
            timed(runs, || between::all(&round, &out)).map(|seconds| json!({"seconds": seconds}))?
        }
        What::Trials { trials, runs } => trials::all(trials, runs)?,
        What::Laboratory { facts, folder } => journal::laboratory(facts, &folder)?,
        What::Append { facts, from, folder } => journal::append(facts, &from, &folder)?,
        What::Replay { folder, runs } => journal::replay(&folder, runs)?,
        What::Queries { folder } => queries::all(&folder)?,
        What::Text { bytes } => text::serve(bytes)?,
    };
    println!("{printed}");
    Ok(())
}

/// How long each of several runs takes, s.
fn timed(runs: usize, mut work: impl FnMut() -> Result<(), Trouble>) -> Result<Vec<f64>, Trouble> {
    (0..runs)
        .map(|_| {
            let begun = Instant::now();
            work()?;
            Ok(begun.elapsed().as_secs_f64())
        })
        .collect()
}
