//! Recording the sieve analysis of what was received.

use super::Desk;
use super::form::{Form, code};
use crate::fact::{Fact, Right, SievingRecorded};
use crate::refusal::Refusal;
use crate::request::{RecordSieving, SetSievingRules};
use crate::state::Sample;
use std::collections::BTreeMap;
use std::fmt::Display;
use std::str::FromStr;
use stonewear_measure::Decimal;
use stonewear_measure::balance::shown;
use stonewear_procedure::ItemKind;
use stonewear_sieving::{ClosingRule, Definition, Retained, Sieve, SieveAnalysis};

/// The heaviest sample of the trade, g; beyond it a reading is a slip of the hand.
const HEAVIEST_G: Decimal = Decimal::from_parts(1_000_000, 0, 0, false, 0);

impl Desk<'_> {
    pub(super) fn set_sieving_rules(
        &self,
        request: &SetSievingRules,
    ) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Manage)?;
        let mut form = Form::new();
        let now = self.lab.sieving_rules();
        let definition = choice(&mut form, "definition", &request.definition, now.definition);
        let closing = choice(&mut form, "closing", &request.closing, now.closing);
        let reason = form.text("reason", &request.reason, "on what grounds it is decided");
        let (Some(definition), Some(closing)) = (definition, closing) else {
            return form.refuse();
        };
        form.facts(vec![Fact::SievingRulesSet { definition, closing, reason }])
    }

    pub(super) fn record_sieving(&self, request: &RecordSieving) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Test)?;
        let mut form = Form::with_reason(&request.deviation);
        let sample = self.sample(&mut form, &request.sample);
        let rules = self.lab.sieving_rules();
        let definition = choice(&mut form, "definition", &request.definition, rules.definition);
        let closing = choice(&mut form, "closing", &request.closing, rules.closing);
        let balance =
            code(form.item(self, "balance", &request.balance, ItemKind::Balance, |_| true));
        let mut as_read = BTreeMap::new();
        let mut weighed = |field: &str, typed: &str| {
            if typed.trim().is_empty() {
                return None;
            }
            let mass_g = mass(&mut form, &mut as_read, field, typed)?;
            if mass_g.is_zero() {
                let hint = "it must be more than 0; leave it empty if it was not weighed";
                form.wrong(field, "input-impossible", "0 g cannot be", hint);
            }
            Some(mass_g)
        };
        let before_g = weighed("before_g", &request.before_g);
        let after_wash_g = weighed("after_wash_g", &request.after_wash_g);
        let received_g = weighed("received_g", &request.received_g);
        let reason = form.optional("reason", &request.reason);
        let kept = kept(&mut form, &mut as_read, request);
        if let Some(sample) = sample {
            judge_replacing(&mut form, sample, &reason);
        }
        let (Some(sample), Some(definition), Some(closing), Some(balance), Some((rows, pan_g))) =
            (sample, definition, closing, balance, kept)
        else {
            return form.refuse();
        };
        let last = if request.table.trim().is_empty() { "pan_g" } else { "table" };
        let analysis = match SieveAnalysis::new(rows, pan_g, before_g, after_wash_g) {
            Ok(analysis) => analysis,
            Err(error) => {
                form.wrong(last, "input-impossible", error.to_string(), "read the masses again");
                return form.refuse();
            }
        };
        judge_closing(&mut form, last, &analysis, closing);
        let nominal = definition.of(&analysis).ok();
        let deviations = form.deviations()?;
        Ok(vec![Fact::SievingRecorded(SievingRecorded {
            sample: sample.code.clone(),
            retained: analysis.retained().to_vec(),
            pan_g,
            before_g,
            after_wash_g,
            received_g,
            as_read,
            definition,
            closing,
            // As its set writes it, so that every page says 19.0 and not 19.
            nominal_maximum_mm: nominal.and_then(|sieve| sieve.in_mm().parse().ok()),
            balance,
            reason,
            deviations,
        })])
    }
}

/// One of a few named choices; nothing typed means the laboratory's own.
fn choice<T>(form: &mut Form, field: &str, typed: &str, own: T) -> Option<T>
where
    T: FromStr<Err: Display>,
{
    if typed.trim().is_empty() {
        return Some(own);
    }
    match typed.trim().parse() {
        Ok(chosen) => Some(chosen),
        Err(error) => {
            form.wrong(field, "input-choice", error.to_string(), "");
            None
        }
    }
}

/// What sieves and pan kept: from the table, or from the rows.
fn kept(
    form: &mut Form,
    as_read: &mut BTreeMap<String, String>,
    request: &RecordSieving,
) -> Option<(Vec<Retained>, Decimal)> {
    let is_typed = |typed: &String| !typed.trim().is_empty();
    let has_rows = request.rows.iter().any(|row| is_typed(&row.retained_g));
    if is_typed(&request.table) {
        if has_rows || is_typed(&request.pan_g) {
            let message = "the masses are given twice: as a table and sieve by sieve";
            form.wrong("table", "input-twice", message, "keep one of both");
            return None;
        }
        return match stonewear_sieving::read(request.table.as_bytes()) {
            Ok(read) => Some((read.retained, read.pan_g)),
            Err(error) => {
                form.wrong("table", "input-table", error.to_string(), "");
                None
            }
        };
    }
    if !has_rows {
        let hint = "weigh what each sieve kept, or give the table of the analysis";
        form.wrong("rows", "input-missing", "no mass on a sieve is given", hint);
    }
    let mut rows = Vec::new();
    for (index, row) in request.rows.iter().enumerate() {
        if !is_typed(&row.retained_g) {
            continue;
        }
        let sieve = row.sieve.parse::<Sieve>().map_err(|error| {
            form.wrong(&format!("rows.{index}.sieve"), "input-sieve", error.to_string(), "");
        });
        let retained_g = mass(form, as_read, &format!("rows.{index}.retained_g"), &row.retained_g);
        if let (Ok(sieve), Some(retained_g)) = (sieve, retained_g) {
            rows.push(Retained { sieve, retained_g });
        }
    }
    let pan_g = mass(form, as_read, "pan_g", &request.pan_g);
    (!form.is_hopeless()).then_some(())?;
    Some((rows, pan_g?))
}

/// A mass that may be nothing at all; what was typed for it is kept where that was not grams.
fn mass(
    form: &mut Form,
    as_read: &mut BTreeMap<String, String>,
    field: &str,
    typed: &str,
) -> Option<Decimal> {
    let (mass_g, line) = form.grams(field, typed)?;
    if mass_g < Decimal::ZERO || mass_g > HEAVIEST_G {
        let message = format!("{} g cannot be", shown(mass_g));
        let hint = format!("it must be 0 or more, and at most {HEAVIEST_G} g");
        form.wrong(field, "input-impossible", message, hint);
        return None;
    }
    if !line.is_empty() {
        as_read.insert(field.to_owned(), line);
    }
    Some(mass_g)
}

fn judge_replacing(form: &mut Form, sample: &Sample, reason: &str) {
    if sample.sieving().is_some() && reason.is_empty() {
        let message = format!("an analysis of {} is already recorded", sample.code);
        let hint = "give the reason for replacing it; the former analysis is kept";
        form.wrong("reason", "replaces-record", message, hint);
    }
}

/// The closing check: an analysis whose masses do not add up is a departure, and so is one that
/// cannot be checked.
fn judge_closing(form: &mut Form, last: &str, analysis: &SieveAnalysis, rule: ClosingRule) {
    match analysis.closing(rule) {
        None => {
            let message = "no dry mass before is given, so the closing check cannot be made";
            form.departs("before_g", "closing-unchecked", message, "weigh it, or record why not");
        }
        Some(closing) if !closing.holds() => {
            let hint = "look for a sieve that was not weighed or a mass in the wrong row, sieve again, or record why it stays";
            form.departs(last, "closing-check", closing.to_string(), hint);
        }
        Some(_) => {}
    }
}

/// How far an analysis that is still being typed has come: what was found so far, of what was
/// put on the sieves. `None` until the mass before and a mass on a sieve can be read.
pub fn running(request: &RecordSieving) -> Option<String> {
    let read = |typed: &str| {
        let mass = stonewear_measure::balance::read(typed).ok()?;
        Some(mass.grams()).filter(|g| *g >= Decimal::ZERO)
    };
    let put_on_g = read(&request.after_wash_g).or_else(|| read(&request.before_g))?;
    let masses: Vec<Decimal> =
        request.rows.iter().filter_map(|row| read(&row.retained_g)).collect();
    let found_g = masses
        .iter()
        .chain(&read(&request.pan_g))
        .fold(Decimal::ZERO, |sum, g| sum.saturating_add(*g));
    if masses.is_empty() || put_on_g.is_zero() {
        return None;
    }
    let rest_g = put_on_g.saturating_sub(found_g);
    let rest = match rest_g.cmp(&Decimal::ZERO) {
        std::cmp::Ordering::Less => format!("{} g too much", rest_g.abs()),
        std::cmp::Ordering::Equal => "nothing is missing".to_owned(),
        std::cmp::Ordering::Greater => format!("{rest_g} g still to be found"),
    };
    Some(format!("{found_g} g of {put_on_g} g so far; {rest}"))
}

/// Every definition with its words, for whoever offers the choice.
pub fn definitions() -> Vec<(String, String)> {
    let words = |one: Definition| format!("{} ({})", one.in_words(), one.source());
    Definition::ALL.map(|one| (one.name().to_owned(), words(one))).into()
}
