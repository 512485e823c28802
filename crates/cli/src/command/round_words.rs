//! Facts of rounds and of proficiency in a short sentence.

use stonewear_lab::Lab;
use stonewear_lab::fact::proficiency::ProficiencyFact;
use stonewear_lab::fact::round::RoundFact;
use stonewear_lab::proficiency::scored;
use stonewear_lab::words::counted;

pub(super) fn of_round(fact: &RoundFact) -> String {
    match fact {
        RoundFact::Planned(plan) => {
            format!("planned {}, {}, with seed {}", plan.round, plan.title, plan.seed)
        }
        RoundFact::Joined(joined) => {
            format!(
                "{} takes part in {} as {}",
                joined.laboratory, joined.round, joined.participant
            )
        }
        RoundFact::HomogeneityTested(test) => {
            format!("{}: homogeneity test of {}", test.round, counted(test.values.len(), "result"))
        }
        RoundFact::ResultsTakenIn(taken) => {
            format!("{}: took {} in", taken.round, counted(taken.values.len(), "result"))
        }
        RoundFact::CellJudged(judged) => {
            let what = if judged.left_out { "left out" } else { "counts again" };
            format!("{}: {} of {} is {what}", judged.round, judged.material, judged.participant)
        }
        RoundFact::Closed(closing) => format!("closed {}", closing.round),
        RoundFact::Reopened { round, .. } => format!("{round} goes on"),
    }
}

pub(super) fn of_proficiency(lab: &Lab, fact: &ProficiencyFact) -> String {
    match fact {
        ProficiencyFact::Told(told) => {
            let verdict = scored(told).map_or(String::new(), |scored| {
                let symbol = scored.kind.symbol();
                format!(": {symbol} = {:.2}, {}", scored.value, scored.verdict.in_words())
            });
            format!(
                "{} of {} {}, {}{verdict}",
                told.score, told.provider, told.round, told.material
            )
        }
        ProficiencyFact::Acted { score, .. } => {
            let wants =
                lab.scores.get(score).map(stonewear_lab::state::Score::wants).unwrap_or_default();
            format!("recorded what was done about {score}; next: {wants}")
        }
        ProficiencyFact::Closed { score, .. } => format!("closed the matter of {score}"),
    }
}
