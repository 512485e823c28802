//! The evidence line of a result on paper.

use super::day;
use crate::{EvidenceLink, Standing};
use stonewear_lab::Lab;
use stonewear_lab::evidence::{Link, LinkKind, Proof};
use stonewear_lab::state::TestResult;

pub(super) fn links(lab: &Lab, result: &TestResult) -> Vec<EvidenceLink> {
    let mut links: Vec<EvidenceLink> = Vec::new();
    for one in lab.evidence(result) {
        // The paper draws the result itself, and names a tester once, whatever they did.
        let is_tester = one.kind == LinkKind::Person && one.role != "released by";
        let role = if is_tester { "tested by".to_owned() } else { one.role.clone() };
        let known = links.iter().any(|known| known.kind == role && known.code == one.code);
        if one.kind != LinkKind::Result && !known {
            links.push(EvidenceLink { kind: role, ..link(lab, one) });
        }
    }
    links
}

fn link(lab: &Lab, link: Link) -> EvidenceLink {
    let since = day(lab, link.since);
    let (state, standing) = match link.proof {
        Proof::Recorded => ("recorded".to_owned(), Standing::Recorded { on: since }),
        Proof::Proved { check } => (
            format!("proved by {check}"),
            Standing::Proved { since, until: link.until.map(|until| day(lab, Some(until))) },
        ),
        Proof::NotProved { why } => ("not proved".to_owned(), Standing::NotProved { why }),
    };
    EvidenceLink { kind: link.role, code: link.code, name: link.name, state, standing }
}
