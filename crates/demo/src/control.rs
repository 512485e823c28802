//! In control: two lots of reference aggregate, a baseline, one result that is out and what was done
//! about it, and the new lot beside the old one.

use crate::everyday::{Stone, Until};
use crate::story::{DemoError, Story};
use jiff::ToSpan;
use stonewear_lab::control::StepState;
use stonewear_lab::request::{
    AdoptMethod, CloseInvestigation, FreezeBaseline, RecordFinding, RegisterLot, TakeOverLot,
};
use stonewear_lab::{InvestigationCode, ItemCode};

/// The lots, old and new.
pub(crate) const LOTS: [&str; 2] = ["RA-2", "RA-3"];
/// The week from which the reference aggregate is run every week; before, every fourth.
const WEEKLY: i64 = 56;
/// The week in which the baseline of the old lot is frozen.
const BASELINE_WEEK: i64 = 70;
/// The week in which a result is out of control.
const SIGNAL_WEEK: i64 = 75;
/// The weeks in which the new lot is run beside the old one; no client's sample is run in them.
const OVERLAP_WEEKS: [i64; 5] = [80, 82, 84, 85, 87];
/// A week without a reference run: the companion tests take all of it.
const QUIET_WEEK: i64 = 99;

/// Who does what.
pub(crate) struct People {
    pub(crate) manager: &'static str,
    pub(crate) tester: &'static str,
    pub(crate) engineer: &'static str,
}

/// The stone of a lot: the new one is a little softer.
fn of_lot(lot: &str, old: Stone) -> Stone {
    if lot == LOTS[0] {
        return old;
    }
    let source = "Karsholm reference stock, lot 3";
    Stone { source, loss_tenths: old.loss_tenths + 6, ..old }
}

impl Story<'_> {
    /// The first lot, as the laboratory opens.
    pub(crate) fn first_lot(&mut self, manager: &str) -> Result<(), DemoError> {
        self.later(20.minutes())?;
        let method = "astm-d6928".to_owned();
        self.ask(manager, AdoptMethod { method })?;
        self.lot(manager, LOTS[0], "second lot of greywacke", "Karsholm reference stock, lot 2")
    }

    fn lot(&mut self, by: &str, code: &str, name: &str, source: &str) -> Result<(), DemoError> {
        self.later(10.minutes())?;
        self.lot = LOTS.into_iter().find(|lot| *lot == code).unwrap_or_default();
        let registered = RegisterLot {
            lot: code.to_owned(),
            name: name.to_owned(),
            source: source.to_owned(),
            method: "astm-d6928".to_owned(),
            grading: "19.0".to_owned(),
            stock_g: "120 kg".to_owned(),
            ..RegisterLot::default()
        };
        self.ask(by, registered).map(drop)
    }

    /// What a week brings for the reference aggregate.
    pub(crate) fn reference_week(
        &mut self,
        week: i64,
        people: &People,
        balance: &str,
        stone: Stone,
    ) -> Result<(), DemoError> {
        if week % 4 != 0 && week < WEEKLY || week == QUIET_WEEK {
            return Ok(());
        }
        if week == BASELINE_WEEK {
            self.freeze(people.manager, LOTS[0])?;
        }
        let right = of_lot(self.lot, stone);
        let used = if week == SIGNAL_WEEK {
            // Half a litre too much water cushions the stone.
            Stone { loss_tenths: right.loss_tenths - 21, ..right }
        } else {
            right
        };
        self.run_reference(people, balance, used, right)?;
        if !OVERLAP_WEEKS.contains(&week) {
            return Ok(());
        }
        if OVERLAP_WEEKS.first() == Some(&week) {
            self.lot(
                people.manager,
                LOTS[1],
                "third lot of greywacke",
                "Karsholm reference stock, lot 3",
            )?;
        }
        self.lot = LOTS[1];
        let new = of_lot(self.lot, stone);
        self.run_reference(people, balance, new, new)?;
        if OVERLAP_WEEKS.last() == Some(&week) {
            return self.take_over(people.manager);
        }
        self.lot = LOTS[0];
        Ok(())
    }

    /// A run of the lot in use; if it is out of control, everything that follows from that.
    fn run_reference(
        &mut self,
        people: &People,
        balance: &str,
        now: Stone,
        put_right: Stone,
    ) -> Result<(), DemoError> {
        self.test(people.tester, people.engineer, balance, now, Until::Released)?;
        let mill = ItemCode::from(self.mill);
        let Some(open) = self.lab.open_investigation_of(&mill).map(|open| open.code.clone()) else {
            return Ok(());
        };
        let is_planted = now.loss_tenths != put_right.loss_tenths;
        self.go_through(people.tester, &open, is_planted)?;
        while self.repeat_of(&open).is_none() {
            self.test(people.tester, people.engineer, balance, put_right, Until::Released)?;
        }
        self.later(1.hour())?;
        let (cause, done) = if is_planted {
            ("2.5 L of water were filled in instead of 2.0 L", "the old measure is thrown away")
        } else {
            (
                "none was found; a false alarm is to be expected at this rate",
                "a second specimen run",
            )
        };
        self.ask(
            people.manager,
            CloseInvestigation {
                investigation: open.to_string(),
                cause: cause.to_owned(),
                done: done.to_owned(),
                past_results: "no sample of a client was run since the last one in control"
                    .to_owned(),
            },
        )
        .map(drop)
    }

    fn repeat_of(&self, open: &InvestigationCode) -> Option<String> {
        self.lab.investigations.get(open).and_then(|open| self.lab.repeat_of(open))
    }

    /// Every step, with what was found.
    fn go_through(
        &mut self,
        by: &str,
        code: &InvestigationCode,
        is_planted: bool,
    ) -> Result<(), DemoError> {
        let open =
            self.lab.investigations.get(code).ok_or(DemoError::Expected("an investigation"))?;
        let steps = self.lab.steps_of(open);
        for step in steps.iter().filter(|step| step.state == StepState::Open) {
            self.later(4.minutes())?;
            let is_fault = is_planted && step.id == "water";
            let finding = if is_fault {
                "the measure on the bench holds 2.5 L; the one of 2 L was in the fine room"
            } else {
                "as it must be; its last check still holds"
            };
            self.ask(
                by,
                RecordFinding {
                    investigation: code.to_string(),
                    step: step.id.clone(),
                    finding: finding.to_owned(),
                    fault: if is_fault { "yes" } else { "no" }.to_owned(),
                },
            )?;
        }
        Ok(())
    }

    fn freeze(&mut self, by: &str, lot: &str) -> Result<(), DemoError> {
        let freeze = FreezeBaseline {
            lot: lot.to_owned(),
            apparatus: self.mill.to_owned(),
            reason: "every result since the mill came, by both technicians".to_owned(),
            deviation: "looked at one by one: no cause was found to leave any out".to_owned(),
            ..FreezeBaseline::default()
        };
        self.ask(by, freeze).map(drop)
    }

    /// The new lot takes the place of the old one; until it has a spread of its own, it borrows that
    /// of the old one.
    fn take_over(&mut self, by: &str) -> Result<(), DemoError> {
        self.later(1.hour())?;
        let [old, new] = LOTS.map(str::to_owned);
        let mill = ItemCode::from(self.mill);
        let sigma = self
            .lab
            .lots
            .get(old.as_str())
            .and_then(|lot| lot.baseline(&mill))
            .map(|baseline| baseline.value.sigma_percent.to_string())
            .ok_or(DemoError::Expected("a baseline of the old lot"))?;
        self.ask(
            by,
            TakeOverLot {
                lot: new.clone(),
                replaces: old.clone(),
                apparatus: mill.to_string(),
                reason: "the new lot gets a centre of its own".to_owned(),
                deviation: String::new(),
            },
        )?;
        self.later(10.minutes())?;
        self.ask(
            by,
            FreezeBaseline {
                lot: new,
                apparatus: mill.to_string(),
                spread: "stated".to_owned(),
                stated_sigma: sigma,
                document: format!("baseline of {old}"),
                reason: "the runs beside the old lot".to_owned(),
                deviation: "a start; frozen anew when there are 20 results".to_owned(),
                ..FreezeBaseline::default()
            },
        )
        .map(drop)
    }
}
