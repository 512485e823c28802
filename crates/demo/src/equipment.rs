//! The equipment of the demo laboratory, registered and proved.

use crate::story::{DemoError, Story};
use crate::wear::WEARING;
use jiff::ToSpan;
use stonewear_lab::decide::items::procedures_for;
use stonewear_lab::fact::{Fact, Seen, Standing};
use stonewear_lab::request::{ChangeStanding, Observe, RegisterItem, StartCheck};
use stonewear_lab::{CheckCode, ItemCode};
use stonewear_measure::{Decimal, Limits};
use stonewear_procedure::apparatus::{
    AfterPowerLoss, Control, CounterSenses, Door, ModeChange, Tier,
};
use stonewear_procedure::{Apparatus, Difference, Expect, ItemKind};

/// Code, kind, name, maker and number, sieve opening.
pub(crate) type Listed<'a> = (&'a str, ItemKind, &'a str, &'a str, &'a str);

/// What the laboratory opened with, besides its apparatus.
pub(crate) const SMALL_EQUIPMENT: [Listed<'static>; 19] = [
    ("SW-1", ItemKind::Stopwatch, "stopwatch", "no. 551", ""),
    ("TA-1", ItemKind::Tachometer, "hand tachometer", "no. 20-18", ""),
    ("CAL-1", ItemKind::Caliper, "caliper 300 mm", "no. 7731", ""),
    ("TH-1", ItemKind::Thermometer, "glass thermometer", "no. 114", ""),
    ("BAL-1", ItemKind::Balance, "bench balance 8 kg", "no. 40 117", ""),
    ("BAL-2", ItemKind::Balance, "spare balance 6 kg", "no. 38 902", ""),
    ("OVEN-1", ItemKind::Oven, "drying oven", "no. 9-220", ""),
    ("SV-4.75", ItemKind::Sieve, "sieve 4.75 mm", "no. 4471", "4.75"),
    ("SV-1.60", ItemKind::Sieve, "sieve 1.60 mm", "no. 4475", "1.6"),
    ("SV-1.18", ItemKind::Sieve, "sieve 1.18 mm", "no. 4472", "1.18"),
    ("SV-0.075", ItemKind::Sieve, "sieve 75 µm", "no. 4480", "0.075"),
    ("JAR-1", ItemKind::Jar, "jar 1", "", ""),
    ("JAR-2", ItemKind::Jar, "jar 2", "", ""),
    ("JAR-3", ItemKind::Jar, "jar 3", "", ""),
    ("JAR-4", ItemKind::Jar, "jar 4", "", ""),
    ("BC-1", ItemKind::BallCharge, "charge of jar 1", "", ""),
    ("BC-2", ItemKind::BallCharge, "charge of jar 2", "", ""),
    ("BC-3", ItemKind::BallCharge, "charge of jar 3", "", ""),
    ("BC-4", ItemKind::BallCharge, "charge of jar 4", "", ""),
];

/// The code of the mill that the laboratory began with: a timer, and no counter.
pub(crate) const OLD_MILL: &str = "MILL-0";

/// The mill that the laboratory began with.
pub(crate) fn first_mill() -> Apparatus {
    Apparatus {
        name: "old jar mill".to_owned(),
        control: vec![Control::Time],
        counter_senses: CounterSenses::Nothing,
        tiers: vec![
            Tier { name: "upper".to_owned(), positions: 2 },
            Tier { name: "lower".to_owned(), positions: 2 },
        ],
        doors: vec![Door { name: "lid".to_owned(), close: 1, latch: true }],
        ..Apparatus::default()
    }
}

/// The apparatus that has been in service for two years.
pub(crate) fn old_mill() -> Apparatus {
    Apparatus {
        name: "jar mill in bay 1".to_owned(),
        control: vec![Control::Time, Control::Revolutions],
        counter_senses: CounterSenses::Roller,
        mode_change: ModeChange::AtThePanel,
        after_power_loss: AfterPowerLoss::CountLost,
        tiers: vec![
            Tier { name: "upper".to_owned(), positions: 2 },
            Tier { name: "lower".to_owned(), positions: 2 },
        ],
        doors: vec![Door { name: "front".to_owned(), close: 1, latch: true }],
        ..Apparatus::default()
    }
}

/// The apparatus that was unpacked last week.
pub(crate) fn new_mill() -> Apparatus {
    Apparatus {
        name: "jar mill in bay 2".to_owned(),
        control: vec![Control::Time, Control::Revolutions],
        counter_senses: CounterSenses::JarLid,
        mode_change: ModeChange::PowerOffAndOn,
        after_power_loss: AfterPowerLoss::CountLost,
        tiers: vec![
            Tier { name: "upper".to_owned(), positions: 1 },
            Tier { name: "lower".to_owned(), positions: 1 },
        ],
        doors: vec![
            Door { name: "lower".to_owned(), close: 1, latch: false },
            Door { name: "upper".to_owned(), close: 2, latch: true },
        ],
        ..Apparatus::default()
    }
}

/// The smallest step that the laboratory's instruments show, in the unit that they read.
fn resolution_of(kind: ItemKind) -> &'static str {
    match kind {
        ItemKind::Balance | ItemKind::Tachometer => "0.1",
        ItemKind::Caliper | ItemKind::Stopwatch => "0.01",
        ItemKind::Thermometer => "0.5",
        ItemKind::Oven => "1",
        ItemKind::Apparatus
        | ItemKind::Jar
        | ItemKind::BallCharge
        | ItemKind::Sieve
        | ItemKind::Drum
        | ItemKind::Bath => "",
    }
}

impl Story<'_> {
    pub(crate) fn register(
        &mut self,
        by: &str,
        listed: Listed<'_>,
        apparatus: Option<Apparatus>,
    ) -> Result<(), DemoError> {
        let (code, kind, name, maker_and_serial, opening_mm) = listed;
        self.later(4.minutes())?;
        self.ask(
            by,
            RegisterItem {
                code: code.to_owned(),
                kind: kind.as_str().to_owned(),
                name: name.to_owned(),
                maker_and_serial: maker_and_serial.to_owned(),
                opening_mm: opening_mm.to_owned(),
                resolution: resolution_of(kind).to_owned(),
                apparatus,
            },
        )?;
        Ok(())
    }

    /// Passes every check that an item needs, and puts it into service.
    pub(crate) fn prove(
        &mut self,
        tester: &str,
        manager: &str,
        item: &str,
    ) -> Result<(), DemoError> {
        for procedure in self.needed(item)? {
            let check = self.begin_check(tester, item, &procedure)?;
            self.pass_steps(tester, &check, usize::MAX)?;
        }
        self.later(10.minutes())?;
        self.ask(
            manager,
            ChangeStanding {
                item: item.to_owned(),
                standing: "in-service".to_owned(),
                reason: String::new(),
            },
        )?;
        Ok(())
    }

    /// Repeats the checks whose proof runs out within two weeks.
    pub(crate) fn renew(&mut self, tester: &str) -> Result<(), DemoError> {
        let soon = self.at.checked_add((14 * 24).hours())?;
        let due: Vec<(String, String)> = self
            .lab
            .items
            .values()
            .filter(|item| item.standing() == Standing::InService)
            .filter_map(|item| self.lab.proof_of(&item.code))
            .filter(|check| self.lab.proves_until(check).is_some_and(|until| until < soon))
            .map(|check| (check.item.to_string(), check.procedure.id.clone()))
            .collect();
        for (item, procedure) in due {
            let check = self.begin_check(tester, &item, &procedure)?;
            self.pass_steps(tester, &check, usize::MAX)?;
        }
        Ok(())
    }

    /// The procedures that an item needs before it enters service.
    fn needed(&self, item: &str) -> Result<Vec<String>, DemoError> {
        let item = self.lab.items.get(item).ok_or(DemoError::Expected("an item"))?;
        let needed = procedures_for(self.procedures, item).into_iter();
        Ok(needed
            .filter(|procedure| procedure.needed_for_service)
            .map(|procedure| procedure.id)
            .collect())
    }

    pub(crate) fn begin_check(
        &mut self,
        by: &str,
        item: &str,
        procedure: &str,
    ) -> Result<CheckCode, DemoError> {
        self.later(5.minutes())?;
        let request = StartCheck { item: item.to_owned(), procedure: procedure.to_owned() };
        let facts = self.ask(by, request)?;
        facts
            .iter()
            .find_map(|fact| match fact {
                Fact::CheckStarted { check, .. } => Some(check.clone()),
                _ => None,
            })
            .ok_or(DemoError::Expected("a check to begin"))
    }

    /// Passes the next steps of a check, `most` of them at most.
    pub(crate) fn pass_steps(
        &mut self,
        by: &str,
        check: &CheckCode,
        most: usize,
    ) -> Result<(), DemoError> {
        let known = self.lab.checks.get(check).ok_or(DemoError::Expected("a check"))?;
        let steps = known.procedure.steps.clone();
        let is_worn = known.item.as_str() == WEARING && known.procedure.id == "charge-mass";
        for step in steps.iter().skip(known.steps_done()).take(most) {
            let (seen, less, instrument) = match &step.expect {
                Expect::Seen { .. } => ("yes".to_owned(), String::new(), String::new()),
                Expect::Number { limits, instrument, unit, difference, .. } => {
                    let with = instrument.and_then(|kind| self.some_instrument(kind));
                    let within = self.reading_within(*limits);
                    let value = if is_worn { self.worn_g(0) } else { within };
                    let (seen, less) = self.readings(check, value, unit, difference.as_ref());
                    (seen.to_string(), less, with.unwrap_or_default())
                }
            };
            self.later(2.minutes())?;
            let (check, step) = (check.to_string(), step.id.clone());
            self.ask(by, Observe { check, step, seen, less, instrument, ..Observe::default() })?;
        }
        Ok(())
    }

    /// What is read so that a step comes to this value, and what is taken off it.
    fn readings(
        &self,
        check: &CheckCode,
        value: Decimal,
        unit: &str,
        difference: Option<&Difference>,
    ) -> (Decimal, String) {
        match difference {
            None => (value, String::new()),
            Some(Difference::Less { .. }) => {
                // What the instrument was held against.
                let less = match unit {
                    "g" => Decimal::new(9999, 1),
                    "mm" => Decimal::new(20000, 2),
                    "°C" => Decimal::new(204, 1),
                    _ => Decimal::from(100),
                };
                (less + value, less.to_string())
            }
            Some(Difference::From { from, .. }) => {
                let check = self.lab.checks.get(check);
                let before = check.and_then(|check| check.last_observation(from));
                match before.map(|seen| seen.value.known()) {
                    Some(Seen::Number(before)) => (*before - value, String::new()),
                    _ => (value, String::new()),
                }
            }
        }
    }

    fn some_instrument(&self, kind: ItemKind) -> Option<String> {
        self.lab.in_service(kind).next().map(|item| item.code.to_string())
    }

    /// A reading inside the limits, nearer to the middle than to the edge.
    fn reading_within(&mut self, limits: Limits) -> Decimal {
        match (limits.lower, limits.upper) {
            (Some(lower), Some(upper)) => {
                let share = Decimal::new(self.chance.between(35, 65), 2);
                let scale =
                    lower.scale().max(upper.scale()).max(u32::from(upper - lower < Decimal::TEN));
                (lower + (upper - lower) * share).round_dp(scale).clamp(lower, upper)
            }
            (Some(limit), None) | (None, Some(limit)) => limit,
            (None, None) => Decimal::ONE_HUNDRED,
        }
    }
}

/// The codes of the small equipment, for proving it one by one.
pub(crate) fn small_codes() -> impl Iterator<Item = ItemCode> {
    SMALL_EQUIPMENT.into_iter().map(|(code, ..)| ItemCode::from(code))
}
