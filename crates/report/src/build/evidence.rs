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
        if one.kind == LinkKind::Result {
            continue;
        }
        let new = EvidenceLink { kind: role, ..link(lab, one) };
        match links.iter_mut().find(|known| (&known.kind, &known.code) == (&new.kind, &new.code)) {
            None => links.push(new),
            // Of all that a tester did, the part that nothing stands behind must be seen.
            Some(known) if new.standing.is_broken() => *known = new,
            Some(_) => {}
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
        Proof::Authorised { authorisation } => (
            format!("authorised by {authorisation}"),
            Standing::Proved { since, until: link.until.map(|until| day(lab, Some(until))) },
        ),
        Proof::Supervised { by } => (format!("watched by {by}"), Standing::Recorded { on: since }),
        Proof::NotProved { why } => ("not proved".to_owned(), Standing::NotProved { why }),
    };
    EvidenceLink { kind: link.role, code: link.code, name: link.name, state, standing }
}
