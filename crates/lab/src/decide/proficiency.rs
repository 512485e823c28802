//! Taking in what a provider of proficiency rounds says, and what follows from it.

use super::Desk;
use super::form::Form;
use super::rounds::listed_faults;
use crate::code::{ResultCode, ScoreCode, numbered};
use crate::fact::proficiency::{ProficiencyFact, Told};
use crate::fact::{Fact, Right};
use crate::proficiency::{ScoreRow, read_scores, scored};
use crate::refusal::Refusal;
use crate::request::{ActOnScore, CloseScore, TakeInScores};
use crate::state::Score;
use stonewear_measure::Decimal;

impl<'a> Desk<'a> {
    pub(super) fn take_in_scores(&self, request: &TakeInScores) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Manage)?;
        let mut form = Form::new();
        let provider = form.text("provider", &request.provider, "who runs the rounds");
        let method = form.optional("method", &request.method);
        let reason = form.optional("reason", &request.reason);
        let today = self.lab.local(self.context.at).date();
        let rows = read_scores(&request.table, &provider, &method, today);
        let rows = listed_faults(&mut form, rows);
        let (year, first) = self.lab.next_number('P', self.context.at);
        let mut facts = Vec::new();
        let had = rows.len();
        for row in rows {
            let Some(mut told) = self.told(&mut form, row) else { continue };
            if let Some(before) = self.told_before(&told) {
                if is_same(&before.told.value, &told) {
                    continue;
                }
                if reason.is_empty() {
                    let message = format!(
                        "round {}, {} was taken in before as {}, with other figures",
                        told.round,
                        told.material,
                        before.code()
                    );
                    form.wrong("reason", "value-replaced", message, "say why it is replaced");
                }
                told.replaces = Some(before.code().clone());
                told.reason.clone_from(&reason);
            }
            told.score = ScoreCode::from(numbered('P', year, first + facts.len()));
            facts.push(Fact::Proficiency(ProficiencyFact::Told(Box::new(told))));
        }
        if facts.is_empty() && had > 0 && !form.is_hopeless() {
            let message = "all of these rows are there already";
            form.wrong("table", "nothing-new", message, "nothing needs to be done");
        }
        form.facts(facts)
    }

    /// A row with the value of the result that it names, and the method by its full name.
    fn told(&self, form: &mut Form, row: ScoreRow) -> Option<Told> {
        let ScoreRow { line, mut told, result, has_value } = row;
        told.method = self.method_named(&told.method);
        if !result.is_empty() {
            let (code, loss) = self.loss_on_record(form, "table", &result)?;
            if self.lab.results.get(&code).is_none_or(|one| one.release().is_none()) {
                let message = format!("line {line}: nobody has released {code}");
                form.wrong("table", "result-not-released", message, "have it released first");
            }
            if has_value && loss != told.value {
                let message =
                    format!("line {line}: the value is {}, and {code} is {loss} %", told.value);
                form.wrong("table", "score-other-value", message, "put one of the two right");
            }
            told.value = loss;
            told.result = Some(code);
        }
        if scored(&told).is_none() {
            let message = format!("line {line}: these figures define no score");
            let hint = "give spreads above 0 and figures of a usual size";
            form.wrong("table", "input-table", message, hint);
            return None;
        }
        Some(told)
    }

    fn told_before(&self, told: &Told) -> Option<&'a Score> {
        let is_it = |score: &&Score| {
            let other = &score.told.value;
            score.replaced_by.is_none()
                && other.provider.eq_ignore_ascii_case(&told.provider)
                && other.round.eq_ignore_ascii_case(&told.round)
                && other.material.eq_ignore_ascii_case(&told.material)
                && other.method == told.method
                && other.quantity == told.quantity
        };
        self.lab.scores.values().find(is_it)
    }

    /// The loss of a result of this laboratory.
    pub(super) fn loss_on_record(
        &self,
        form: &mut Form,
        field: &str,
        typed: &str,
    ) -> Option<(ResultCode, Decimal)> {
        let Some(result) = self.lab.results.get(crate::code::scanned(typed).as_str()) else {
            let message = self.is_no("result", typed);
            form.wrong(field, "result-unknown", message, "look under results");
            return None;
        };
        let Some(loss) = result.current().and_then(|version| version.value.loss_percent) else {
            let message = format!("{} gives no loss", result.code);
            form.wrong(field, "result-without-loss", message, "name a result with a loss");
            return None;
        };
        Some((result.code.clone(), loss))
    }

    pub(super) fn act_on_score(&self, request: &ActOnScore) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Test)?;
        let mut form = Form::new();
        let cause = form.text("cause", &request.cause, "what was found to be the cause");
        let action = form.text("action", &request.action, "what was done");
        let Some(score) = self.score_of(&mut form, &request.score) else { return form.refuse() };
        form.facts(vec![Fact::Proficiency(ProficiencyFact::Acted {
            score: score.code().clone(),
            cause,
            action,
        })])
    }

    pub(super) fn close_score(&self, request: &CloseScore) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Manage)?;
        let mut form = Form::new();
        let finding = form.text("finding", &request.finding, "what shows that it helped");
        let Some(score) = self.score_of(&mut form, &request.score) else { return form.refuse() };
        if !score.is_open() {
            let message = format!("{} waits for nobody", score.code());
            form.wrong("score", "score-not-open", message, "nothing needs to be done");
        } else if score.actions.is_empty() {
            let message = format!("nothing was recorded that was done about {}", score.code());
            form.wrong("score", "score-without-action", message, "record cause and action first");
        }
        form.facts(vec![Fact::Proficiency(ProficiencyFact::Closed {
            score: score.code().clone(),
            finding,
        })])
    }

    /// A score whose matter is not closed.
    fn score_of(&self, form: &mut Form, typed: &str) -> Option<&'a Score> {
        let Some(score) = self.lab.score(typed) else {
            let message = self.is_no("score", typed);
            form.wrong("score", "score-unknown", message, "look under proficiency");
            return None;
        };
        if let Some(newer) = &score.replaced_by {
            let message = format!("{} was replaced by {newer}", score.code());
            form.wrong("score", "score-replaced", message, format!("name {newer}"));
            return None;
        }
        if score.closed.is_some() {
            let message = format!("the matter of {} is closed", score.code());
            form.wrong("score", "score-not-open", message, "nothing needs to be done");
            return None;
        }
        Some(score)
    }
}

/// Whether two rows say the same, whatever their codes.
fn is_same(before: &Told, new: &Told) -> bool {
    let plain = |told: &Told| Told {
        score: ScoreCode::default(),
        replaces: None,
        reason: String::new(),
        ..told.clone()
    };
    plain(before) == plain(new)
}
