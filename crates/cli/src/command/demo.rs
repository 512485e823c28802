//! `stonewear demo`: the invented laboratory, founded and served.

use crate::answer::{Answer, Failure};
use std::path::PathBuf;
use stonewear_lab::fact::PaperKind;
use stonewear_runtime::{Clock, Decided, OpenLaboratory, Wanted};

/// Found the invented demo laboratory, if it is not there yet, and serve its page.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Example:\n\
\x20 stonewear demo --dir demo-laboratory --listen 127.0.0.1:0")]
pub(crate) struct Demo {
    /// Folder of the demo laboratory.
    #[arg(long, value_name = "DIR", default_value = "demo-laboratory")]
    dir: PathBuf,
    /// Address to listen on; port 0 takes a free one.
    #[arg(long, value_name = "ADDR", default_value = "127.0.0.1:7640")]
    listen: String,
    /// Only found it, do not serve.
    #[arg(long)]
    found_only: bool,
}

pub(crate) fn run(demo: Demo) -> Result<Answer, Failure> {
    let mut laboratory = OpenLaboratory::open(&demo.dir)?;
    if laboratory.lab().position == 0 {
        let batches = stonewear_demo::scenario(
            stonewear_demo::SEED,
            laboratory.methods(),
            laboratory.procedures(),
        )
        .map_err(Failure::surroundings)?;
        let decided: Vec<Decided<'_>> = batches
            .iter()
            .map(|batch| Decided {
                at: batch.at,
                by: &batch.by,
                key: &batch.key,
                facts: &batch.facts,
            })
            .collect();
        for (_, bytes) in stonewear_demo::files() {
            laboratory.keep_file(&bytes).map_err(Failure::surroundings)?;
        }
        laboratory.record(&decided).map_err(Failure::surroundings)?;
        laboratory.set_clock(Clock::Standing(laboratory.last_at()));
        issue_reports(&mut laboratory)?;
    }
    let is_invented = laboratory.lab().identity.as_ref().is_some_and(|identity| identity.invented);
    if !is_invented {
        return Err(Failure::Refused(format!(
            "{} holds a real laboratory, not the demo; name another folder with --dir, or use `stonewear serve`",
            demo.dir.display()
        )));
    }
    if demo.found_only {
        let head = laboratory.head();
        return Ok(Answer::new(
            format!(
                "the demo laboratory is in {}, {} facts, head {}",
                demo.dir.display(),
                head.position,
                head.hash
            ),
            serde_json::json!({ "dir": demo.dir, "facts": head.position, "head": head.hash.to_string() }),
        ));
    }
    // The scenario's calendar goes on from where it ends, so that the demo looks the same to
    // everybody, whenever they open it.
    laboratory.set_clock(Clock::going_on_from(laboratory.last_at()));
    super::serve::serve(laboratory, &demo.listen, &super::serve::Line::default(), None)
}

/// Issues the report of the result that was released last, and once more: so that the demo has a
/// paper that stands and one that was replaced. Papers are made here, as the scenario has no press.
fn issue_reports(laboratory: &mut OpenLaboratory) -> Result<(), Failure> {
    let released = laboratory.lab().results.values().filter_map(|result| {
        let release = result.release()?;
        Some((release.position, release.by.to_string(), result.code.to_string()))
    });
    let Some((_, by, result)) = released.max() else { return Ok(()) };
    let press = stonewear_paper::Press::new().map_err(Failure::surroundings)?;
    for (key, reason) in [
        ("demo-report-1", ""),
        ("demo-report-2", "the client asked for it with the new letterhead"),
    ] {
        let prepared = laboratory
            .prepare(
                &by,
                Wanted { kind: PaperKind::TestReport, of: &result, reason, language: None },
            )
            .map_err(Failure::surroundings)?;
        let file = prepared.said.typeset(&press).map_err(Failure::surroundings)?;
        laboratory.issue(&by, Some(key), prepared, &file).map_err(Failure::surroundings)?;
    }
    Ok(())
}
