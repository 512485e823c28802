//! Registering equipment and changing where it stands.

use super::Desk;
use super::form::Form;
use crate::code::{ItemCode, is_numbered, tidy};
use crate::fact::{Fact, Right, Standing};
use crate::refusal::Refusal;
use crate::request::{ChangeStanding, RegisterItem};
use crate::state::Item;
use std::collections::BTreeSet;
use stonewear_measure::Decimal;
use stonewear_procedure::{Apparatus, ItemKind, Procedure};

impl Desk<'_> {
    pub(super) fn register_item(&self, request: &RegisterItem) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Manage)?;
        let mut form = Form::new();
        let item = match tidy(&request.code) {
            Some(code) => ItemCode::from(code),
            None => {
                let message = format!("“{}” cannot be used as a code", request.code.trim());
                form.wrong(
                    "code",
                    "input-code",
                    message,
                    "write up to 16 letters, digits, - or ., like JAR-3",
                );
                ItemCode::from("")
            }
        };
        if is_numbered(item.as_str()) {
            let message = format!("{item} reads like the code of a sample, check, run or result");
            form.wrong("code", "input-code", message, "use another code, like JAR-3");
        }
        if let Some(known) = self.lab.items.get(&item) {
            let message =
                format!("{item} is already the {} “{}”", known.kind.in_words(), known.name);
            form.wrong("code", "code-in-use", message, "use another code");
        }
        if self.lab.lots.contains_key(item.as_str()) {
            let message = format!("{item} is already a lot of reference aggregate");
            form.wrong("code", "code-in-use", message, "use another code");
        }
        let item_kind = match request.kind.trim().parse::<ItemKind>() {
            Ok(kind) => kind,
            Err(error) => {
                form.wrong("kind", "input-unknown", error.to_string(), "");
                return form.refuse();
            }
        };
        let name = form.text("name", &request.name, "what people call it");
        let maker_and_serial = form.optional("maker_and_serial", &request.maker_and_serial);
        let opening_mm = if item_kind == ItemKind::Sieve {
            form.positive("opening_mm", &request.opening_mm, "mm", Decimal::from(200))
        } else {
            None
        };
        let resolution = super::corrections::resolution(&mut form, item_kind, &request.resolution);
        let apparatus = match (item_kind, &request.apparatus) {
            (ItemKind::Apparatus, None) => {
                let message = "how the apparatus is built is not described";
                form.wrong(
                    "apparatus",
                    "input-missing",
                    message,
                    "describe its control, counter, tiers and doors",
                );
                None
            }
            (ItemKind::Apparatus, Some(apparatus)) => {
                for fault in stonewear_procedure::apparatus::faults(apparatus) {
                    form.wrong("apparatus", "input-apparatus", fault, "");
                }
                Some(Box::new(apparatus.clone()))
            }
            // A drum has nothing to describe: one place, and a counter that ends the run.
            (ItemKind::Drum, _) => Some(Box::new(Apparatus::drum())),
            _ => None,
        };
        form.facts(vec![Fact::ItemRegistered {
            item,
            item_kind,
            name,
            maker_and_serial,
            opening_mm,
            resolution,
            apparatus,
        }])
    }

    pub(super) fn change_standing(&self, request: &ChangeStanding) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Manage)?;
        let mut form = Form::new();
        let Some(item) = self.any_item(&mut form, &request.item) else { return form.refuse() };
        let standing = match request.standing.trim() {
            "in-service" => Standing::InService,
            "held" => Standing::Held,
            "retired" => Standing::Retired,
            other => {
                let message = format!("“{other}” is not a standing that an item can be given");
                form.wrong(
                    "standing",
                    "input-unknown",
                    message,
                    "write in-service, held or retired",
                );
                return form.refuse();
            }
        };
        if item.standing() == standing {
            let message = format!("{} is already {}", item.code, standing.in_words());
            form.wrong("standing", "standing-unchanged", message, "nothing needs to be done");
            return form.refuse();
        }
        if item.standing() == Standing::Retired {
            let message = format!("{} is retired", item.code);
            form.wrong(
                "standing",
                "item-retired",
                message,
                "register it under a new code if it really returns",
            );
        }
        if standing == Standing::InService {
            self.missing_proofs(&mut form, item);
            self.not_past_investigation(&mut form, item);
        }
        let reason = if standing == Standing::InService {
            form.optional("reason", &request.reason)
        } else {
            form.text("reason", &request.reason, "the reason")
        };
        form.facts(vec![Fact::StandingChanged { item: item.code.clone(), standing, reason }])
    }

    /// Notes every check that an item must still pass before it enters service.
    fn missing_proofs(&self, form: &mut Form, item: &Item) {
        let held_since = item
            .standings
            .iter()
            .rev()
            .find(|change| change.value.standing == Standing::Held)
            .map_or(0, |change| change.position);
        let procedures = self.procedures_for(item);
        for needed in procedures.iter().filter(|procedure| procedure.needed_for_service) {
            let proved = procedures
                .iter()
                .filter(|one| one.id == needed.id || one.stands_for.as_ref() == Some(&needed.id))
                .filter_map(|one| self.lab.last_passed(&item.code, &one.id))
                .any(|check| check.started.position > held_since);
            if !proved {
                let since = if held_since > 0 { " since it was held" } else { "" };
                let message = format!(
                    "{} has not passed the {}{since}",
                    item.code,
                    lower_first(&needed.title)
                );
                let hint = format!("do this check first ({})", needed.id);
                form.wrong("standing", "check-not-passed", message, hint);
            }
        }
    }

    /// Every procedure that can be done on an item: those in files, and the generated one.
    pub(super) fn procedures_for(&self, item: &Item) -> Vec<Procedure> {
        procedures_for(self.context.procedures, item)
    }

    /// An item of any kind, in any standing.
    pub(super) fn any_item(&self, form: &mut Form, typed: &str) -> Option<&Item> {
        let found = self.lab.items.get(typed.trim().to_uppercase().as_str());
        if found.is_none() {
            let known = crate::words::listed(self.lab.items.keys().map(ToString::to_string));
            let message = format!("there is no item “{}”", typed.trim());
            let hint = if known.is_empty() {
                "register it first".to_owned()
            } else {
                format!("known: {known}")
            };
            form.wrong("item", "item-unknown", message, hint);
        }
        found
    }
}

/// A title within a sentence.
fn lower_first(title: &str) -> String {
    let mut letters = title.chars();
    letters.next().map(|first| first.to_lowercase().chain(letters).collect()).unwrap_or_default()
}

/// What of an item its procedures prove, each once however many prove it, in their order: what can
/// be in doubt.
pub fn attributes_of(library: &[Procedure], item: &Item) -> Vec<String> {
    let mut all: Vec<String> =
        procedures_for(library, item).into_iter().flat_map(|procedure| procedure.proves).collect();
    let mut seen = BTreeSet::new();
    all.retain(|one| seen.insert(one.clone()));
    all
}

/// Every procedure that can be done on an item: those for its kind, and for an apparatus the
/// function check that is generated from how it is built.
pub fn procedures_for(library: &[Procedure], item: &Item) -> Vec<Procedure> {
    let written = library.iter().filter(|procedure| procedure.proves_kind == item.kind);
    // Only the jar mill has a function check that follows from how it is built.
    let described = item.apparatus.as_ref().filter(|_| item.kind == ItemKind::Apparatus);
    let Some(apparatus) = described else { return written.cloned().collect() };
    let fitting = stonewear_procedure::for_apparatus(apparatus);
    let unfit: Vec<String> = stonewear_procedure::for_kind(item.kind)
        .into_iter()
        .map(|procedure| procedure.id)
        .filter(|id| !fitting.iter().any(|one| one.id == *id))
        .collect();
    let written = written.filter(|procedure| !unfit.contains(&procedure.id)).cloned();
    std::iter::once(stonewear_procedure::function_check(apparatus)).chain(written).collect()
}
