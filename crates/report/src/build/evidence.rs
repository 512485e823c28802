//! The evidence line of a result on paper.

use super::day;
use crate::{EvidenceLink, Standing};
use stonewear_lab::Lab;
use stonewear_lab::evidence::{Link, Proof};
use stonewear_lab::state::TestResult;

pub(super) fn links(lab: &Lab, result: &TestResult) -> Vec<EvidenceLink> {
    lab.evidence(result).into_iter().map(link).collect()
}

fn link(link: Link) -> EvidenceLink {
    let since = day(link.since);
    let (state, standing) = match link.proof {
        Proof::Recorded => ("recorded".to_owned(), Standing::Recorded { on: since }),
        Proof::Proved { check } => (
            format!("proved by {check}"),
            Standing::Proved { since, until: link.until.map(|until| day(Some(until))) },
        ),
        Proof::NotProved { why } => ("not proved".to_owned(), Standing::NotProved { why }),
    };
    EvidenceLink { kind: link.role, code: link.code, name: link.name, state, standing }
}
