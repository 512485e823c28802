//! Rounds between laboratories: planning, joining, taking results in, leaving out, closing.

use super::Desk;
use super::form::{Form, yes_or_no};
use crate::code::{ParticipantCode, RoundCode, numbered};
use crate::fact::round::{
    BagValue, CellJudged, HomogeneityTest, Joining, ResultsTakenIn, RoundClosing, RoundFact,
    RoundMaterial, RoundPlan, RoundValue,
};
use crate::fact::{Fact, Right};
use crate::refusal::Refusal;
use crate::request::{
    CloseRound, JoinRound, JudgeCell, PlanRound, ReopenRound, TakeInOwnResults, TakeInResults,
    TestHomogeneity,
};
use crate::round::{
    BagRow, LOSS, MOST_PARTICIPANTS, analyse, number, participant_code, read_bags, read_results,
};
use crate::state::Round;
use crate::words::listed;
use jiff::civil::Date;
use stonewear_measure::Decimal;

/// Seeds are whole numbers that every reader of the journal holds exactly.
const LARGEST_SEED: u64 = 9_007_199_254_740_991;
/// More replicates than this are a slip.
const MOST_REPLICATES: u32 = 50;
/// More materials than this are a slip.
const MOST_MATERIALS: usize = 50;
/// How this laboratory itself is named among the participants.
const OWN: &str = "own";
/// More faults of one file than this are not listed.
const MOST_FAULTS: usize = 20;

impl<'a> Desk<'a> {
    pub(super) fn plan_round(&self, request: &PlanRound) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Manage)?;
        let mut form = Form::new();
        let title = form.text("title", &request.title, "what the round is called");
        let method = form.text("method", &request.method, "the test method");
        let quantity = form.optional("quantity", &request.quantity);
        let materials = materials(&mut form, &request.materials);
        let replicates = replicates(&mut form, &request.replicates);
        let closes_on = closing_day(&mut form, &request.closes_on);
        let seed = seed(&mut form, &request.seed);
        let instructions = form.optional("instructions", &request.instructions);
        let (year, number) = self.lab.next_number('B', self.context.at);
        let round = RoundCode::from(numbered('B', year, number));
        let (Some(replicates), Some(closes_on), Some(seed)) = (replicates, closes_on, seed) else {
            return form.refuse();
        };
        let today = self.lab.local(self.context.at).date();
        if closes_on < today {
            let message = format!("{closes_on} is over");
            form.wrong("closes_on", "input-date", message, format!("today is {today}"));
        }
        let plan = RoundPlan {
            round: round.clone(),
            title,
            method: self.method_named(&method),
            quantity: if quantity.is_empty() { LOSS.to_owned() } else { quantity },
            materials,
            replicates,
            closes_on,
            seed,
            instructions,
        };
        let mut facts = vec![Fact::Round(RoundFact::Planned(Box::new(plan)))];
        let mut joined: Vec<Joining> = Vec::new();
        for line in request.participants.lines().filter(|line| !line.trim().is_empty()) {
            let (name, contact) = line.split_once(';').unwrap_or((line, ""));
            let code = participant_code(seed, joined.len());
            if let Some(joining) =
                self.joining(&mut form, "participants", (&round, code), (name, contact), &joined)
            {
                joined.push(joining);
            }
        }
        facts.extend(joined.into_iter().map(|one| Fact::Round(RoundFact::Joined(one))));
        form.facts(facts)
    }

    pub(super) fn join_round(&self, request: &JoinRound) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Manage)?;
        let mut form = Form::new();
        let Some(round) = self.open_round(&mut form, &request.round) else {
            return form.refuse();
        };
        let known: Vec<Joining> =
            round.participants.values().map(|joined| joined.value.clone()).collect();
        let code = participant_code(round.plan.value.seed, known.len());
        let named = (request.laboratory.as_str(), request.contact.as_str());
        let of = (round.code(), code);
        let joining = self.joining(&mut form, "laboratory", of, named, &known);
        form.facts(joining.map(|one| Fact::Round(RoundFact::Joined(one))).into_iter().collect())
    }

    fn joining(
        &self,
        form: &mut Form,
        field: &str,
        (round, participant): (&RoundCode, ParticipantCode),
        (name, contact): (&str, &str),
        known: &[Joining],
    ) -> Option<Joining> {
        let typed = form.text(field, name, "the name of the laboratory");
        let contact = form.optional(if field == "laboratory" { "contact" } else { field }, contact);
        let ours = typed.eq_ignore_ascii_case(OWN);
        let laboratory = match &self.lab.identity {
            Some(identity) if ours => identity.name.clone(),
            _ => typed,
        };
        if laboratory.is_empty() {
            return None;
        }
        if known.iter().any(|other| other.laboratory.eq_ignore_ascii_case(&laboratory)) {
            let message = format!("{laboratory} takes part already");
            form.wrong(field, "participant-known", message, "leave it out, or name its branch");
            return None;
        }
        if known.len() >= MOST_PARTICIPANTS {
            let message = format!("a round has at most {MOST_PARTICIPANTS} participants");
            form.wrong(field, "round-full", message, "plan another round");
            return None;
        }
        Some(Joining { round: round.clone(), participant, laboratory, contact, ours })
    }

    pub(super) fn test_homogeneity(&self, request: &TestHomogeneity) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Test)?;
        let mut form = Form::new();
        let reason = form.optional("reason", &request.reason);
        let Some(round) = self.open_round(&mut form, &request.round) else {
            return form.refuse();
        };
        if !round.homogeneity.is_empty() && reason.is_empty() {
            let message = format!("{} has a homogeneity test already", round.code());
            form.wrong("reason", "value-replaced", message, "say why it is replaced");
        }
        let rows = listed_faults(&mut form, read_bags(round, &request.table));
        let of_row = |BagRow { material, bag, value }| BagValue { material, bag, value };
        let values = rows.into_iter().map(of_row).collect();
        let test = HomogeneityTest { round: round.code().clone(), values, reason };
        form.facts(vec![Fact::Round(RoundFact::HomogeneityTested(test))])
    }

    pub(super) fn take_in_results(&self, request: &TakeInResults) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Test)?;
        let mut form = Form::with_reason(&request.deviation);
        let source = form.optional("source", &request.source);
        let Some(round) = self.open_round(&mut form, &request.round) else {
            return form.refuse();
        };
        let rows = listed_faults(&mut form, read_results(round, &request.table));
        let mut values = Vec::new();
        for row in rows {
            let is_ours = round.ours().is_some_and(|ours| ours.participant.as_str() == row.code);
            if is_ours {
                let message = format!("line {}: {} is this laboratory itself", row.line, row.code);
                let hint = "take its results in from its own records, by their codes";
                form.wrong("table", "round-own-results", message, hint);
            }
            values.push(RoundValue {
                participant: ParticipantCode::from(row.code),
                material: row.material,
                replicate: row.replicate,
                value: row.value,
                result: None,
            });
        }
        self.taken_in(form, round, values, source, "table")
    }

    pub(super) fn take_in_own_results(
        &self,
        request: &TakeInOwnResults,
    ) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Test)?;
        let mut form = Form::with_reason(&request.deviation);
        let Some(round) = self.open_round(&mut form, &request.round) else {
            return form.refuse();
        };
        let ours = round.ours();
        if ours.is_none() {
            let message = format!("this laboratory does not take part in {}", round.code());
            form.wrong("round", "round-without-us", message, format!("let it join as “{OWN}”"));
        }
        let material = self.material_of_round(&mut form, round, &request.material);
        let codes: Vec<&str> = request
            .results
            .split(|c: char| c.is_whitespace() || c == ',' || c == ';')
            .filter(|code| !code.is_empty())
            .collect();
        let wanted = round.plan.value.replicates as usize;
        if codes.is_empty() || codes.len() > wanted {
            let message = format!("{} results are named, and {wanted} are wanted", codes.len());
            form.wrong("results", "round-replicates", message, "name one for each replicate");
        }
        let (Some(ours), Some(material)) = (ours, material) else { return form.refuse() };
        let mut values = Vec::new();
        for (replicate, typed) in (1..).zip(&codes) {
            if codes.iter().filter(|other| other.eq_ignore_ascii_case(typed)).count() > 1 {
                let message = format!("{typed} is named twice");
                form.wrong("results", "named-twice", message, "name it once");
            }
            let Some((result, value)) = self.own_loss(&mut form, round, typed) else { continue };
            values.push(RoundValue {
                participant: ours.participant.clone(),
                material: material.name.clone(),
                replicate,
                value,
                result: Some(result),
            });
        }
        self.taken_in(form, round, values, "own records".to_owned(), "results")
    }

    /// A result of this laboratory with its loss, which must be one by the method of the round.
    fn own_loss(
        &self,
        form: &mut Form,
        round: &Round,
        typed: &str,
    ) -> Option<(crate::ResultCode, Decimal)> {
        let (code, loss) = self.loss_on_record(form, "results", typed)?;
        let result = self.lab.results.get(&code)?;
        if result.release().is_none() {
            let message = format!("nobody has released {code}");
            let hint = "have it released, or record why it is used before";
            form.departs("results", "result-not-released", message, hint);
        }
        if let Some(method) = self.lab.method_of_round(round)
            && method.key() != result.method
        {
            let message = format!(
                "{code} is by {}, and the round is by {}",
                self.lab.dated(result.method.as_str()),
                method.dated()
            );
            form.wrong("results", "round-other-method", message, "name results by that method");
        }
        Some((code, loss))
    }

    /// What is common to all results that come in: not too late, not twice without a reason.
    fn taken_in(
        &self,
        mut form: Form,
        round: &Round,
        mut values: Vec<RoundValue>,
        source: String,
        field: &str,
    ) -> Result<Vec<Fact>, Refusal> {
        let today = self.lab.local(self.context.at).date();
        let closes = round.plan.value.closes_on;
        if today > closes {
            let message = format!("results were taken until {closes}");
            let hint = "record why these are taken all the same";
            form.departs(field, "round-late", message, hint);
        }
        let current = round.current();
        let had = values.len();
        values.retain(|new| {
            let key = (new.participant.as_str(), new.material.as_str(), new.replicate);
            let Some(before) = current.get(&key).map(|taken| &taken.value.value) else {
                return true;
            };
            if before.value == new.value && before.result == new.result {
                return false;
            }
            let message = format!(
                "{}, {}, replicate {} is {} already",
                new.participant, new.material, new.replicate, before.value
            );
            form.departs(field, "value-replaced", message, "record why it is replaced");
            true
        });
        if values.is_empty() && !form.is_hopeless() {
            let (message, hint) = if had == 0 {
                ("there is no value in it", "fill in the column value")
            } else {
                ("all of these results are there already", "nothing needs to be done")
            };
            form.wrong(field, "nothing-new", message, hint);
        }
        let deviations = form.deviations()?;
        let taken = ResultsTakenIn { round: round.code().clone(), values, source, deviations };
        Ok(vec![Fact::Round(RoundFact::ResultsTakenIn(taken))])
    }

    pub(super) fn judge_cell(&self, request: &JudgeCell) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Release)?;
        let mut form = Form::new();
        let reason = form.text("reason", &request.reason, "why");
        let Some(round) = self.open_round(&mut form, &request.round) else {
            return form.refuse();
        };
        let material = self.material_of_round(&mut form, round, &request.material);
        let typed = request.participant.trim().to_uppercase();
        let participant = round.participants.get(typed.as_str());
        if participant.is_none() {
            let message = format!("nobody takes part under the code “{typed}”");
            form.wrong("participant", "participant-unknown", message, "look at the round's page");
        }
        let left_out = yes_or_no(&request.left_out);
        if left_out.is_none() {
            let message = format!("“{}” is neither yes nor no", request.left_out.trim());
            form.wrong("left_out", "input-unknown", message, "write yes to leave out, else no");
        }
        let (Some(material), Some(participant), Some(left_out)) = (material, participant, left_out)
        else {
            return form.refuse();
        };
        let participant = participant.value.participant.clone();
        let now = round.left_out(participant.as_str(), &material.name).is_some();
        let has_results = round
            .current()
            .keys()
            .any(|(code, name, _)| *code == participant.as_str() && *name == material.name);
        if now == left_out {
            let message = if now { "they are left out already" } else { "they count already" };
            form.wrong("left_out", "nothing-new", message, "nothing needs to be done");
        } else if !has_results {
            let message = format!("{participant} has no results of {}", material.name);
            form.wrong("participant", "round-no-results", message, "nothing needs to be done");
        }
        form.facts(vec![Fact::Round(RoundFact::CellJudged(CellJudged {
            round: round.code().clone(),
            participant,
            material: material.name.clone(),
            left_out,
            reason,
        }))])
    }

    pub(super) fn close_round(&self, request: &CloseRound) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Release)?;
        let mut form = Form::new();
        let remark = form.optional("remark", &request.remark);
        let Some(round) = self.open_round(&mut form, &request.round) else {
            return form.refuse();
        };
        let analysis = analyse(round);
        let without = analysis.materials.iter().filter(|one| one.cells.len() < 2);
        let without: Vec<&str> = without.map(|one| one.material.as_str()).collect();
        if !without.is_empty() {
            let message =
                format!("fewer than two participants have results of {}", listed(without));
            form.wrong("round", "round-empty", message, "take their results in first");
        }
        let figures = analysis.materials.iter().map(crate::round::MaterialAnalysis::kept).collect();
        let closing = RoundClosing { round: round.code().clone(), remark, figures };
        form.facts(vec![Fact::Round(RoundFact::Closed(Box::new(closing)))])
    }

    pub(super) fn reopen_round(&self, request: &ReopenRound) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Release)?;
        let mut form = Form::new();
        let reason = form.text("reason", &request.reason, "why it goes on");
        let Some(round) = self.known_round(&mut form, &request.round) else {
            return form.refuse();
        };
        if round.closed().is_none() {
            let message = format!("{} is open", round.code());
            form.wrong("round", "round-open", message, "nothing needs to be done");
        }
        form.facts(vec![Fact::Round(RoundFact::Reopened { round: round.code().clone(), reason })])
    }

    /// The key of a method of the library, or whatever was typed: a round may be about any test.
    pub(super) fn method_named(&self, typed: &str) -> String {
        let in_use = self.lab.method_in_use(typed).map(|in_use| in_use.id.to_string());
        let known = || {
            let found = stonewear_method::library::find(self.context.methods, typed).ok();
            found.map(|method| method.key().to_string())
        };
        in_use.or_else(known).unwrap_or_else(|| typed.to_owned())
    }

    fn known_round(&self, form: &mut Form, typed: &str) -> Option<&'a Round> {
        let found = self.lab.round(typed);
        if found.is_none() {
            let message = self.is_no("round", typed);
            form.wrong("round", "round-unknown", message, "look under rounds");
        }
        found
    }

    /// A round that has not ended.
    fn open_round(&self, form: &mut Form, typed: &str) -> Option<&'a Round> {
        let round = self.known_round(form, typed)?;
        if let Some(closed) = round.closed() {
            let day = self.lab.local(closed.at).date();
            let message = format!("{} was closed on {day}", round.code());
            form.wrong("round", "round-closed", message, "reopen it first, with the reason");
            return None;
        }
        Some(round)
    }

    fn material_of_round<'r>(
        &self,
        form: &mut Form,
        round: &'r Round,
        typed: &str,
    ) -> Option<&'r RoundMaterial> {
        let found = round.material(typed);
        if found.is_none() {
            let message = format!("there is no material “{}” in {}", typed.trim(), round.code());
            let known = listed(round.materials().iter().map(|known| known.name.as_str()));
            form.wrong("material", "material-unknown", message, format!("known: {known}"));
        }
        found
    }
}

/// Every fault of a file, together at its field; nothing of a file with faults is taken.
pub(super) fn listed_faults<T>(form: &mut Form, read: Result<Vec<T>, Vec<String>>) -> Vec<T> {
    let faults = match read {
        Ok(rows) => return rows,
        Err(faults) => faults,
    };
    let mut message = faults.iter().take(MOST_FAULTS).cloned().collect::<Vec<_>>().join("; ");
    if let Some(more) = faults.len().checked_sub(MOST_FAULTS).filter(|more| *more > 0) {
        message += &format!("; and {}", crate::words::counted(more, "further fault"));
    }
    form.wrong("table", "input-table", message, "put it right; nothing was taken in");
    Vec::new()
}

/// The materials, one a line: `name; what is in the bag; standard deviation for assessment`.
fn materials(form: &mut Form, typed: &str) -> Vec<RoundMaterial> {
    const FIELD: &str = "materials";
    let mut found: Vec<RoundMaterial> = Vec::new();
    for (line, text) in (1..).zip(typed.lines()).filter(|(_, text)| !text.trim().is_empty()) {
        let mut parts = text.split(';').map(str::trim);
        let mut next = || parts.next().unwrap_or_default().to_owned();
        let (name, description, sigma) = (next(), next(), next());
        let (name, description) = (form.optional(FIELD, &name), form.optional(FIELD, &description));
        if name.is_empty() || name.contains(['"', '#']) {
            let message = format!("line {line}: “{name}” is no name that a form can carry");
            form.wrong(FIELD, "input-unknown", message, "write letters and figures");
        }
        if found.iter().any(|other| other.name.eq_ignore_ascii_case(&name)) {
            let message = format!("line {line}: {name} stands there twice");
            form.wrong(FIELD, "named-twice", message, "give each material a name of its own");
        }
        let sigma_pt = match (sigma.is_empty(), number(&sigma)) {
            (true, _) => None,
            (false, Ok(sigma)) if sigma > Decimal::ZERO => Some(sigma),
            (false, _) => {
                let message = format!("line {line}: “{sigma}” is no standard deviation");
                form.wrong(FIELD, "input-number", message, "write a number above 0, or nothing");
                None
            }
        };
        found.push(RoundMaterial { name, description, sigma_pt });
    }
    if found.is_empty() || found.len() > MOST_MATERIALS {
        let message = format!("{} materials are named", found.len());
        form.wrong(FIELD, "input-missing", message, format!("name from 1 to {MOST_MATERIALS}"));
    }
    found
}

fn replicates(form: &mut Form, typed: &str) -> Option<u32> {
    let found = typed.trim().parse::<u32>().ok().filter(|n| (1..=MOST_REPLICATES).contains(n));
    if found.is_none() {
        let message = format!("“{}” is no number of results", typed.trim());
        let hint =
            format!("write a whole number from 1 to {MOST_REPLICATES}; 2 shows repeatability");
        form.wrong("replicates", "input-number", message, hint);
    }
    found
}

fn closing_day(form: &mut Form, typed: &str) -> Option<Date> {
    let found = typed.trim().parse::<Date>().ok();
    if found.is_none() {
        let message = format!("“{}” is not a day", typed.trim());
        form.wrong("closes_on", "input-date", message, "write it like 2026-12-18");
    }
    found
}

fn seed(form: &mut Form, typed: &str) -> Option<u64> {
    let found = typed.trim().parse::<u64>().ok().filter(|seed| *seed <= LARGEST_SEED);
    if found.is_none() {
        let message = format!("“{}” is no seed", typed.trim());
        let hint = format!("write a whole number from 0 to {LARGEST_SEED}");
        form.wrong("seed", "input-number", message, hint);
    }
    found
}
