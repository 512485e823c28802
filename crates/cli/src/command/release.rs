//! `stonewear release`: a person stands for a result.

use super::asking::ask;
use crate::answer::{Answer, Failure};
use crate::arguments::{Asking, Departing};
use stonewear_lab::request::ReleaseResult;

/// Release a result with your name.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Example:\n\
\x20 stonewear release --by AB L26-001 --remark 'Sampled by the client.'")]
pub(crate) struct Release {
    #[command(flatten)]
    asking: Asking,
    #[command(flatten)]
    departing: Departing,
    /// The result.
    result: String,
    /// Anything that the report should say.
    #[arg(long, default_value = "")]
    remark: String,
    /// What others than the laboratory did for it, and who; the report says so.
    #[arg(long, default_value = "")]
    external: String,
}

pub(crate) fn run(release: Release) -> Result<Answer, Failure> {
    ask(
        &release.asking,
        ReleaseResult {
            result: release.result,
            remark: release.remark,
            external: release.external,
            deviation: release.departing.deviation,
        },
    )
}
