//! Statistics on anybody's CSV: one file a command, each with its arguments and what it answers.
//!
//! Every command answers in words for people and in JSON for programs. A figure that is not defined
//! is `null` there, with its reason under `undefined`; it is never NaN and never infinity.

mod acceptance;
mod anova;
mod budget;
mod chart;
mod compare;
mod describe;
mod document;
mod equivalence;
pub(crate) mod file;
mod fit;
mod interlab;
mod judge;
mod outliers;
pub(crate) mod picture;
mod plan;
mod proficiency;
mod relations;
mod robust;
mod run_length;
mod sample_size;
pub(crate) mod table;
mod tolerance;
mod trend;
mod uncertainty;

pub(crate) use acceptance::{Acceptance, acceptance};
pub(crate) use anova::{Anova, anova};
pub(crate) use budget::{BudgetOf, budget};
pub(crate) use chart::{Chart, chart};
pub(crate) use compare::{Compare, compare};
pub(crate) use describe::{Describe, describe};
pub(crate) use equivalence::{Equivalence, equivalence};
pub(crate) use fit::{FitLine, fit};
pub(crate) use interlab::{Interlab, interlab};
pub(crate) use judge::{Judge, judge};
pub(crate) use outliers::{Outliers, outliers};
pub(crate) use plan::{PlanOf, plan};
pub(crate) use proficiency::{Proficiency, proficiency};
pub(crate) use relations::{Relations, relations};
pub(crate) use robust::{RobustOf, robust};
pub(crate) use run_length::{RunLength, run_length};
pub(crate) use sample_size::{SampleSize, sample_size};
pub(crate) use tolerance::{ToleranceOf, tolerance};
pub(crate) use trend::{Trend, trend};
pub(crate) use uncertainty::{Uncertainty, uncertainty};

use crate::answer::{Answer, Failure};
use clap::Subcommand;

/// A statistics command. Flatten it into the program's commands, or hand each to its function.
#[derive(Debug, Subcommand)]
pub(crate) enum Statistics {
    Describe(Describe),
    Fit(FitLine),
    Anova(Anova),
    Chart(Chart),
    RunLength(RunLength),
    Interlab(Interlab),
    Relations(Relations),
    Proficiency(Proficiency),
    Robust(RobustOf),
    Compare(Compare),
    Equivalence(Equivalence),
    SampleSize(SampleSize),
    Acceptance(Acceptance),
    Plan(PlanOf),
    Tolerance(ToleranceOf),
    Judge(Judge),
    Uncertainty(Uncertainty),
    Budget(BudgetOf),
    Trend(Trend),
    Outliers(Outliers),
}

/// Does what a statistics command asks.
pub(crate) fn run(command: &Statistics) -> Result<Answer, Failure> {
    match command {
        Statistics::Describe(c) => describe(c),
        Statistics::Fit(c) => fit(c),
        Statistics::Anova(c) => anova(c),
        Statistics::Chart(c) => chart(c),
        Statistics::RunLength(c) => run_length(c),
        Statistics::Interlab(c) => interlab(c),
        Statistics::Relations(c) => relations(c),
        Statistics::Proficiency(c) => proficiency(c),
        Statistics::Robust(c) => robust(c),
        Statistics::Compare(c) => compare(c),
        Statistics::Equivalence(c) => equivalence(c),
        Statistics::SampleSize(c) => sample_size(c),
        Statistics::Acceptance(c) => acceptance(c),
        Statistics::Plan(c) => plan(c),
        Statistics::Tolerance(c) => tolerance(c),
        Statistics::Judge(c) => judge(c),
        Statistics::Uncertainty(c) => uncertainty(c),
        Statistics::Budget(c) => budget(c),
        Statistics::Trend(c) => trend(c),
        Statistics::Outliers(c) => outliers(c),
    }
}
