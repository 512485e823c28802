//! Reading a request field by field: everything that is wrong is collected, not just the first.

use super::Desk;
use crate::code::{ItemCode, scanned};
use crate::fact::{Deviation, Fact, Standing};
use crate::refusal::{Problem, Refusal};
use crate::state::Item;
use stonewear_measure::{Decimal, Limits, balance};
use stonewear_procedure::ItemKind;

/// The longest text that a field keeps, in characters.
const LONGEST_TEXT: usize = 400;

/// A mass as it is recorded.
#[derive(Debug, Clone)]
pub(super) struct Mass {
    /// The exact mass, g.
    pub(super) mass_g: Decimal,
    /// What was typed or printed, where that was not a number of grams; else empty.
    pub(super) as_read: String,
}

/// The problems of one request, and the reason given for departing from a rule.
pub(super) struct Form {
    problems: Vec<Problem>,
    reason: String,
}

impl Form {
    /// A request that gives no reason to depart from anything.
    pub(super) fn new() -> Self {
        Self::with_reason("")
    }

    /// A request with the reason that its person gives for departing from a rule.
    pub(super) fn with_reason(reason: &str) -> Self {
        let mut form = Self { problems: Vec::new(), reason: String::new() };
        form.reason = form.optional("deviation", reason);
        form
    }

    /// Notes something that must be put right.
    pub(super) fn wrong(
        &mut self,
        field: &str,
        rule: &'static str,
        message: impl Into<String>,
        hint: impl Into<String>,
    ) {
        self.problems.push(Problem {
            field: field.to_owned(),
            rule,
            message: message.into(),
            hint: hint.into(),
            excusable: false,
        });
    }

    /// Notes a departure that a recorded reason excuses.
    pub(super) fn departs(
        &mut self,
        field: &str,
        rule: &'static str,
        message: impl Into<String>,
        hint: impl Into<String>,
    ) {
        self.wrong(field, rule, message, hint);
        if let Some(problem) = self.problems.last_mut() {
            problem.excusable = true;
        }
    }

    /// Takes back what was noted at a field by a rule that does not hold after all.
    pub(super) fn forgive(&mut self, field: &str, rule: &str) {
        self.problems.retain(|problem| problem.field != field || problem.rule != rule);
    }

    /// A text that must be there.
    pub(super) fn text(&mut self, field: &str, typed: &str, what: &str) -> String {
        if typed.trim().is_empty() {
            self.wrong(field, "input-missing", format!("{what} is missing"), "write it");
        }
        self.optional(field, typed)
    }

    /// A text that may be empty.
    pub(super) fn optional(&mut self, field: &str, typed: &str) -> String {
        let text = typed.trim();
        if text.chars().count() > LONGEST_TEXT {
            let message = format!("the text is longer than {LONGEST_TEXT} characters");
            self.wrong(field, "input-too-long", message, "shorten it");
        }
        if text.chars().any(|c| c.is_control() && c != '\n' && c != '\r' && c != '\t') {
            let message = "the text holds characters that cannot be printed";
            self.wrong(field, "input-unprintable", message, "type it again by hand");
        }
        text.to_owned()
    }

    /// A number that must be there.
    pub(super) fn number(&mut self, field: &str, typed: &str) -> Option<Decimal> {
        match stonewear_measure::read(typed) {
            Ok(value) => Some(value),
            Err(error) => {
                self.wrong(field, "input-number", error.to_string(), "");
                None
            }
        }
    }

    /// A number that must be greater than zero and at most `most`.
    pub(super) fn positive(
        &mut self,
        field: &str,
        typed: &str,
        unit: &str,
        most: Decimal,
    ) -> Option<Decimal> {
        let value = self.number(field, typed)?;
        if value <= Decimal::ZERO || value > most {
            let message = format!("{value} {unit} cannot be");
            let hint = format!("it must be more than 0 and at most {most} {unit}");
            self.wrong(field, "input-impossible", message, hint);
            return None;
        }
        Some(value)
    }

    /// Any number of grams, or as a balance printed it, and what it printed; what a balance shows
    /// while it is checked may be nothing, or less.
    pub(super) fn grams(&mut self, field: &str, typed: &str) -> Option<(Decimal, String)> {
        match balance::read(typed) {
            Ok(read) => Some((read.grams(), read.as_read().unwrap_or_default().to_owned())),
            Err(error) => {
                self.wrong(field, "input-number", error.to_string(), "");
                None
            }
        }
    }

    /// A mass in grams, or as a balance printed it, greater than zero and at most `most` g.
    pub(super) fn mass(
        &mut self,
        desk: &Desk<'_>,
        field: &str,
        typed: &str,
        most: Decimal,
    ) -> Option<Mass> {
        // A scanner that was meant for another field.
        // Only what is no mass is looked for: a long-lived laboratory has very many things.
        let is_no_mass = balance::read(typed).is_err();
        if let Some(thing) = is_no_mass.then(|| desk.lab.thing(typed)).flatten() {
            let message = format!("{} is {}, not a mass", thing.code, thing.what());
            self.wrong(field, "input-number", message, "scan it into its own field");
            return None;
        }
        let (mass_g, as_read) = self.grams(field, typed)?;
        if mass_g <= Decimal::ZERO || mass_g > most {
            let message = format!("{} g cannot be", balance::shown(mass_g));
            let hint = format!("it must be more than 0 and at most {most} g");
            self.wrong(field, "input-impossible", message, hint);
            return None;
        }
        Some(Mass { mass_g, as_read })
    }

    /// Like [`Form::positive`], where nothing typed means none.
    pub(super) fn optional_positive(
        &mut self,
        field: &str,
        typed: &str,
        unit: &str,
        most: Decimal,
    ) -> Option<Decimal> {
        if typed.trim().is_empty() { None } else { self.positive(field, typed, unit, most) }
    }

    /// Notes a departure when a value is outside its limits.
    pub(super) fn within(
        &mut self,
        field: &str,
        rule: &'static str,
        what: &str,
        value: Decimal,
        unit: &str,
        limits: Limits,
    ) {
        if !limits.hold(value) {
            let value = if unit == "g" { balance::shown(value) } else { value };
            let message = format!("{what} is {value} {unit}; the method wants {limits} {unit}");
            self.departs(field, rule, message, "put it right, or record why it stays");
        }
    }

    /// An item of this kind that is in service. Nothing typed means the only one that fits.
    pub(super) fn item<'a>(
        &mut self,
        desk: &Desk<'a>,
        field: &str,
        typed: &str,
        kind: ItemKind,
        fits: impl Fn(&Item) -> bool,
    ) -> Option<&'a Item> {
        let typed = typed.trim();
        if typed.is_empty() {
            let mut candidates = desk.lab.in_service(kind).filter(|item| fits(item));
            return match (candidates.next(), candidates.next()) {
                (Some(only), None) => Some(only),
                (None, _) => {
                    let message = format!(
                        "no {} is named, and none that fits is in service",
                        kind.in_words()
                    );
                    self.wrong(field, "input-missing", message, "name one");
                    None
                }
                (Some(_), Some(_)) => {
                    let message =
                        format!("no {} is named, and several are in service", kind.in_words());
                    self.wrong(field, "input-missing", message, "say which");
                    None
                }
            };
        }
        let Some(item) = desk.lab.items.get(scanned(typed).as_str()) else {
            // A scanned label of something else says what it is the label of.
            if let Some(thing) = desk.lab.thing(typed) {
                let message =
                    format!("{} is {}, not {}", thing.code, thing.what(), kind.with_article());
                let hint = format!("scan {}", kind.with_article());
                self.wrong(field, "item-of-other-kind", message, hint);
                return None;
            }
            let known =
                crate::words::listed(desk.lab.items_of(kind).map(|item| item.code.to_string()));
            let hint = if known.is_empty() {
                format!("register {} first", kind.with_article())
            } else {
                format!("known: {known}")
            };
            self.wrong(
                field,
                "item-unknown",
                format!("there is no {} “{typed}”", kind.in_words()),
                hint,
            );
            return None;
        };
        if item.kind != kind {
            let message = format!(
                "{} is not {} but {}",
                item.code,
                kind.with_article(),
                item.kind.with_article()
            );
            self.wrong(
                field,
                "item-of-other-kind",
                message,
                format!("name {}", kind.with_article()),
            );
            return None;
        }
        if item.standing() == Standing::Retired {
            let message = format!("{} is retired", item.code);
            self.wrong(field, "item-retired", message, "use another");
            return None;
        }
        if item.standing() != Standing::InService {
            let message =
                format!("{} is not in service: it is {}", item.code, item.standing().in_words());
            let hint =
                "pass its checks and put it into service, or record why it is used all the same";
            self.departs(field, "item-not-in-service", message, hint);
        } else if let Some(check) = desk.lab.proof_of(&item.code)
            && let Some(until) =
                desk.lab.proves_until(check).filter(|until| *until < desk.context.at)
        {
            let until = desk.lab.local(until).date();
            let message = format!("the proof of {} ran out on {until} ({})", item.code, check.code);
            let hint = format!(
                "repeat the check ({}), or record why it is used all the same",
                check.procedure.id
            );
            self.departs(field, "proof-run-out", message, hint);
        }
        Some(item)
    }

    /// Nothing else can be said: gives up with the problems found so far.
    pub(super) fn refuse<T>(self) -> Result<T, Refusal> {
        debug_assert!(!self.problems.is_empty(), "a refusal must say why");
        Err(Refusal { problems: self.problems })
    }

    /// Ends the reading: the departures, if all that is wrong is excused by the reason given.
    pub(super) fn deviations(self) -> Result<Vec<Deviation>, Refusal> {
        let excused =
            !self.reason.is_empty() && self.problems.iter().all(|problem| problem.excusable);
        if !self.problems.is_empty() && !excused {
            return Err(Refusal { problems: self.problems });
        }
        let deviation = |problem: Problem| Deviation {
            rule: problem.rule.to_owned(),
            what: problem.message,
            reason: self.reason.clone(),
        };
        Ok(self.problems.into_iter().map(deviation).collect())
    }

    /// Ends the reading of a request that knows no departures.
    pub(super) fn facts(self, facts: Vec<Fact>) -> Result<Vec<Fact>, Refusal> {
        if self.problems.is_empty() { Ok(facts) } else { Err(Refusal { problems: self.problems }) }
    }

    /// True when something was found that no reason excuses, so that going on makes no sense.
    pub(super) fn is_hopeless(&self) -> bool {
        self.problems.iter().any(|problem| !problem.excusable)
    }
}

/// Reads `yes` and `no`, in the ways that forms and people write them.
pub(super) fn yes_or_no(typed: &str) -> Option<bool> {
    match typed.trim().to_lowercase().as_str() {
        "yes" | "y" | "true" | "on" | "1" => Some(true),
        "no" | "n" | "false" | "off" | "0" => Some(false),
        _ => None,
    }
}

/// The code of an item that was found, for facts.
pub(super) fn code(item: Option<&Item>) -> Option<ItemCode> {
    item.map(|item| item.code.clone())
}
