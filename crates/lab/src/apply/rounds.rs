//! Folding in rounds between laboratories, and scores in the rounds of others.

use super::Noter;
use crate::fact::proficiency::ProficiencyFact;
use crate::fact::round::RoundFact;
use crate::state::{Lab, Round, RoundEnd, Score, ScoreAction, TakenIn};

impl Lab {
    pub(super) fn apply_round(&mut self, note: &Noter<'_>, fact: &RoundFact) {
        match fact {
            RoundFact::Planned(plan) => {
                self.count('B', note);
                let round = Round::new(note.that((**plan).clone()));
                self.rounds.insert(plan.round.clone(), round);
            }
            RoundFact::Joined(joining) => {
                if let Some(round) = self.rounds.get_mut(&joining.round) {
                    round
                        .participants
                        .insert(joining.participant.clone(), note.that(joining.clone()));
                }
            }
            RoundFact::HomogeneityTested(test) => {
                if let Some(round) = self.rounds.get_mut(&test.round) {
                    round.homogeneity.push(note.that(test.clone()));
                }
            }
            RoundFact::ResultsTakenIn(taken) => {
                if let Some(round) = self.rounds.get_mut(&taken.round) {
                    for value in &taken.values {
                        let source = taken.source.clone();
                        round.values.push(note.that(TakenIn { value: value.clone(), source }));
                    }
                    round.deviations.extend(note.each(&taken.deviations));
                }
            }
            RoundFact::CellJudged(judged) => {
                if let Some(round) = self.rounds.get_mut(&judged.round) {
                    round.judged.push(note.that(judged.clone()));
                }
            }
            RoundFact::Closed(closing) => {
                if let Some(round) = self.rounds.get_mut(&closing.round) {
                    round.ends.push(note.that(RoundEnd::Closed((**closing).clone())));
                }
            }
            RoundFact::Reopened { round, reason } => {
                if let Some(round) = self.rounds.get_mut(round) {
                    round.ends.push(note.that(RoundEnd::Reopened(reason.clone())));
                }
            }
        }
    }

    pub(super) fn apply_proficiency(&mut self, note: &Noter<'_>, fact: &ProficiencyFact) {
        match fact {
            ProficiencyFact::Told(told) => {
                self.count('P', note);
                if let Some(before) =
                    told.replaces.as_ref().and_then(|code| self.scores.get_mut(code))
                {
                    before.replaced_by = Some(told.score.clone());
                }
                let score = Score {
                    told: note.that((**told).clone()),
                    actions: Vec::new(),
                    closed: None,
                    replaced_by: None,
                };
                self.scores.insert(told.score.clone(), score);
            }
            ProficiencyFact::Acted { score, cause, action } => {
                if let Some(score) = self.scores.get_mut(score) {
                    let (cause, action) = (cause.clone(), action.clone());
                    score.actions.push(note.that(ScoreAction { cause, action }));
                }
            }
            ProficiencyFact::Closed { score, finding } => {
                if let Some(score) = self.scores.get_mut(score) {
                    score.closed = Some(note.that(finding.clone()));
                }
            }
        }
    }
}
