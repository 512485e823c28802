//! What a run in the drum asks for otherwise than one in jars: no jar, no water, no soak, and balls
//! that are counted.

use super::Desk;
use super::form::{Form, code};
use crate::code::ItemCode;
use crate::outcome::machine_of;
use crate::request::StartRun;
use stonewear_method::model::Vessel;
use stonewear_method::{Grading, Method};
use stonewear_procedure::ItemKind;

impl Desk<'_> {
    /// The kind of machine that a run needs: of the one that is named, or else of the method of the
    /// first specimen.
    pub(super) fn machine_for(&self, request: &StartRun) -> ItemKind {
        let named = self.lab.items.get(request.apparatus.trim().to_uppercase().as_str());
        if named.is_some_and(|item| item.kind == ItemKind::Drum) {
            return ItemKind::Drum;
        }
        if named.is_some() {
            return ItemKind::Apparatus;
        }
        request
            .placements
            .iter()
            .find_map(|placement| {
                let typed = placement.specimen.trim().to_uppercase();
                let specimen = self.lab.specimens.get(typed.as_str())?;
                machine_of(self.lab.rules_of(specimen)?.0.vessel)
            })
            .filter(|kind| *kind == ItemKind::Drum)
            .unwrap_or(ItemKind::Apparatus)
    }

    /// Whether this method is run in this kind of machine; notes it when not.
    pub(super) fn judge_vessel(
        &self,
        form: &mut Form,
        field: &str,
        method: &Method,
        machine: ItemKind,
    ) -> bool {
        let wanted = machine_of(method.vessel).filter(|_| method.vessel.turns());
        match wanted {
            Some(wanted) if wanted == machine => true,
            Some(wanted) => {
                let message = format!(
                    "{} is run in {}, not in {}",
                    method.designation,
                    wanted.with_article(),
                    machine.with_article()
                );
                form.wrong(field, "machine-other", message, "choose the other machine");
                false
            }
            None => {
                let message = format!("{} has no run", method.designation);
                form.wrong(field, "run-not-wanted", message, "take its readings");
                false
            }
        }
    }

    /// The jar, where the method has jars.
    pub(super) fn jar(
        &self,
        form: &mut Form,
        field: &str,
        typed: &str,
        method: &Method,
    ) -> Option<ItemCode> {
        if in_jar(method) {
            return code(form.item(self, field, typed, ItemKind::Jar, |_| true));
        }
        not_wanted(form, field, typed, method, "a jar")
    }
}

/// Whether the specimen lies in a jar.
pub(super) fn in_jar(method: &Method) -> bool {
    method.vessel == Vessel::JarMill
}

/// Nothing, and a problem when something was typed all the same.
pub(super) fn not_wanted<T>(
    form: &mut Form,
    field: &str,
    typed: &str,
    method: &Method,
    what: &str,
) -> Option<T> {
    if !typed.trim().is_empty() {
        let message = format!("{} runs without {what}", method.designation);
        form.wrong(field, "not-wanted", message, "leave it empty");
    }
    None
}

/// How many balls were counted into the drum, where the method counts them.
pub(super) fn ball_count(
    form: &mut Form,
    field: &str,
    typed: &str,
    grading: &Grading,
) -> Option<u32> {
    let Some(wanted) = &grading.balls else {
        if !typed.trim().is_empty() {
            let message = "the method does not count the balls";
            form.wrong(field, "not-wanted", message, "leave it empty");
        }
        return None;
    };
    match typed.trim().parse::<u32>() {
        Ok(balls) => {
            if balls != wanted.value {
                let message =
                    format!("{balls} balls are counted; the method wants {}", wanted.value);
                let hint = "put it right, or record why it stays";
                form.departs(field, "charge-balls", message, hint);
            }
            Some(balls)
        }
        Err(_) => {
            let message = format!("“{}” is not a number of balls", typed.trim());
            form.wrong(field, "input-number", message, "count them, like 12");
            None
        }
    }
}
