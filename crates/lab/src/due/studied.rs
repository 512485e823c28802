//! What was planned with others or for a study and falls due: rounds that close, scores that wait
//! for somebody, experiments with runs to go.

use super::{Due, DueKind, Sure, When};
use crate::fact::Right;
use crate::state::Lab;

/// Rounds that this laboratory organises, until they are closed.
pub(super) fn rounds(lab: &Lab) -> Vec<Due> {
    let open = lab.rounds.iter().filter(|(_, round)| round.closed().is_none());
    open.map(|(code, round)| {
        let (come, wanted) = round.progress();
        let reopened = round.ends.last().map(|end| (end.at, end.position));
        let (noted, position) = reopened.unwrap_or((round.plan.at, round.plan.position));
        Due {
            key: format!("round.{code}"),
            kind: DueKind::Round,
            when: When::Day { day: round.plan.value.closes_on },
            what: format!("{code}: close the round"),
            why: format!("{come} of {wanted} results have come"),
            path: format!("/rounds/{code}"),
            item: None,
            person: None,
            right: Right::Release,
            sure: Sure::Certain,
            noted,
            position,
        }
    })
    .collect()
}

/// Scores of this laboratory that wait for somebody.
pub(super) fn scores(lab: &Lab) -> Vec<Due> {
    lab.open_scores()
        .map(|score| {
            let acted = score.actions.last().map(|one| (one.at, one.position));
            let (noted, position) = acted.unwrap_or((score.told.at, score.told.position));
            let verdict = score.scored().map_or("", |scored| scored.verdict.in_words());
            Due {
                key: format!("score.{}", score.code()),
                kind: DueKind::Score,
                when: When::Now { since: score.told.at },
                what: format!("{}: {}", score.code(), score.wants()),
                why: format!("the score is {verdict}"),
                path: "/proficiency".to_owned(),
                item: None,
                person: None,
                right: Right::Test,
                sure: Sure::Certain,
                noted,
                position,
            }
        })
        .collect()
}

/// Experiments with runs that have no specimen yet. No day is set for them.
pub(super) fn experiments(lab: &Lab) -> Vec<Due> {
    let planned = lab.experiments.values().filter(|one| !one.is_imported());
    planned
        .filter_map(|one| {
            let to_go =
                one.runs.iter().filter(|run| run.specimens.is_empty() && run.left_out.is_none());
            let to_go = to_go.count();
            (to_go > 0).then(|| Due {
                key: format!("experiment.{}", one.code),
                kind: DueKind::Experiment,
                when: When::Open { since: one.begun.at },
                what: format!("{}: {} to go", one.code, crate::words::counted(to_go, "run")),
                why: one.title.clone(),
                path: format!("/experiments/{}", one.code),
                item: None,
                person: None,
                right: Right::Test,
                sure: Sure::Certain,
                noted: one.begun.at,
                position: one.begun.position,
            })
        })
        .collect()
}
