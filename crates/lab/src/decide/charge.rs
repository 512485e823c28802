//! Changing a ball charge: balls added, taken out, or all of them renewed.

use super::Desk;
use super::form::Form;
use super::runs::HEAVIEST_CHARGE_G;
use crate::fact::{ChargeChange, ChargeChanged, Fact, Right, Standing};
use crate::refusal::Refusal;
use crate::request::ChangeCharge;
use crate::state::Item;
use stonewear_measure::Decimal;
use stonewear_procedure::ItemKind;

/// More balls than this are a slip of the hand: 50 kg of balls of 9.5 mm are about 14 000.
const MOST_BALLS: u32 = 20_000;

impl Desk<'_> {
    pub(super) fn change_charge(&self, request: &ChangeCharge) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Test)?;
        let mut form = Form::with_reason(&request.deviation);
        let charge = self.charge_to_change(&mut form, &request.charge);
        let change = change_of(&mut form, &request.change);
        let before = form.mass(self, "before_g", &request.before_g, HEAVIEST_CHARGE_G);
        let after = form.mass(self, "after_g", &request.after_g, HEAVIEST_CHARGE_G);
        let balls = balls_of(&mut form, &request.balls);
        let balance = form.item(self, "balance", &request.balance, ItemKind::Balance, |_| true);
        let reason = form.text("reason", &request.reason, "the reason");
        let (Some(charge), Some(change), Some(before), Some(after), Some(balance)) =
            (charge, change, before, after, balance)
        else {
            return form.refuse();
        };
        let moved = after.mass_g.saturating_sub(before.mass_g);
        match change {
            ChargeChange::Added if moved <= Decimal::ZERO => form.wrong(
                "after_g",
                "charge-change-impossible",
                format!(
                    "with balls added the charge cannot weigh {} g after {} g",
                    after.mass_g, before.mass_g
                ),
                "weigh again, or say that balls were removed",
            ),
            ChargeChange::Removed if moved >= Decimal::ZERO => form.wrong(
                "after_g",
                "charge-change-impossible",
                format!(
                    "with balls removed the charge cannot weigh {} g after {} g",
                    after.mass_g, before.mass_g
                ),
                "weigh again, or say that balls were added",
            ),
            _ => {}
        }
        if let Some(tolerance) = self.lab.charge_tolerance(&charge.code) {
            let limits = tolerance.limits;
            form.within("after_g", "charge-mass", "the ball charge", after.mass_g, "g", limits);
        }
        let deviations = form.deviations()?;
        Ok(vec![Fact::ChargeChanged(ChargeChanged {
            charge: charge.code.clone(),
            change,
            before_g: before.mass_g,
            before_as_read: before.as_read,
            after_g: after.mass_g,
            after_as_read: after.as_read,
            balls,
            balance: balance.code.clone(),
            reason,
            deviations,
        })])
    }

    /// A charge in any standing but retired, that lies in no jar which turns.
    fn charge_to_change(&self, form: &mut Form, typed: &str) -> Option<&Item> {
        let code = crate::code::scanned(typed);
        let found = self.lab.items.get(code.as_str());
        let Some(charge) = found.filter(|item| item.kind == ItemKind::BallCharge) else {
            let known = self.lab.items_of(ItemKind::BallCharge).map(|item| item.code.to_string());
            let hint = format!("known: {}", crate::words::listed(known));
            form.wrong("charge", "item-unknown", self.is_no("ball charge", typed), hint);
            return None;
        };
        if charge.standing() == Standing::Retired {
            let message = format!("{} is retired", charge.code);
            form.wrong(
                "charge",
                "item-retired",
                message,
                "register the new balls under a new code",
            );
        }
        let turns = self.lab.runs.values().find(|run| {
            run.stopped.is_none()
                && run.placed.iter().any(|placed| placed.charge.as_ref() == Some(&charge.code))
        });
        if let Some(run) = turns {
            let message =
                format!("{} lies in a jar of {}, which has not ended", charge.code, run.code);
            form.wrong("charge", "charge-in-use", message, "record how that run ended first");
        }
        Some(charge)
    }
}

fn change_of(form: &mut Form, typed: &str) -> Option<ChargeChange> {
    let typed = typed.trim();
    let change = ChargeChange::ALL.into_iter().find(|one| one.as_str() == typed);
    if change.is_none() {
        let message = format!("“{typed}” does not say what was done");
        form.wrong("change", "input-unknown", message, "write added, removed or renewed");
    }
    change
}

fn balls_of(form: &mut Form, typed: &str) -> Option<u32> {
    let typed = typed.trim();
    if typed.is_empty() {
        return None;
    }
    let balls = typed.parse::<u32>().ok().filter(|balls| (1..=MOST_BALLS).contains(balls));
    if balls.is_none() {
        let message = format!("“{typed}” is not a number of balls");
        form.wrong(
            "balls",
            "input-number",
            message,
            format!("write a whole number from 1 to {MOST_BALLS}"),
        );
    }
    balls
}
