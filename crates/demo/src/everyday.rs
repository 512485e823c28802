//! The everyday work: from a bag of stone to a released loss.

use crate::equipment::OLD_MILL;
use crate::story::{DemoError, Story};
use jiff::ToSpan;
use stonewear_lab::fact::Fact;
use stonewear_lab::request::{
    BeginSpecimen, Placement, ReceiveSample, RecordSieving, ReleaseResult, StartRun, StopRun,
    WeighAfter, WeighBefore, WeighFractions,
};
use stonewear_lab::{RunCode, SampleCode, SpecimenCode};
use stonewear_measure::Decimal;

/// A stone that comes to the laboratory, with the loss that it really has.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Stone {
    pub(crate) source: &'static str,
    pub(crate) material: &'static str,
    pub(crate) client: &'static str,
    pub(crate) project: &'static str,
    pub(crate) intended_use: &'static str,
    pub(crate) nominal_maximum_mm: &'static str,
    pub(crate) grading: &'static str,
    /// True loss in tenths of a percent.
    pub(crate) loss_tenths: i64,
    pub(crate) limit_percent: &'static str,
    pub(crate) limit_document: &'static str,
    pub(crate) reference: bool,
}

/// The method of all demo samples.
const METHOD: &str = "astm-d6928";

/// What the sieves keep of a stone that is run by each grading, in thousandths; the rest passes.
const GRADINGS: [(&str, &[(&str, i64)]); 3] = [
    (
        "19.0",
        &[
            ("25.0", 0),
            ("19.0", 45),
            ("16.0", 165),
            ("12.5", 310),
            ("9.5", 265),
            ("6.3", 150),
            ("4.75", 40),
        ],
    ),
    ("12.5", &[("19.0", 0), ("16.0", 8), ("12.5", 70), ("9.5", 320), ("6.3", 402), ("4.75", 150)]),
    ("9.5", &[("12.5", 0), ("9.5", 62), ("6.3", 500), ("4.75", 330), ("2.36", 88)]),
];
/// The spare balance reads in kilograms; the others in grams.
fn as_shown(balance: &str, mass_g: Decimal) -> String {
    if balance == "BAL-2" {
        format!("{} kg", Decimal::new(1, 3) * mass_g)
    } else {
        mass_g.to_string()
    }
}

/// How far a sample gets.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Until {
    MadeUp,
    Turning,
    WorkedOut,
    Released,
}

impl Story<'_> {
    /// One sample through the laboratory; `balance_error_g` is what the balance shows too much.
    pub(crate) fn test(
        &mut self,
        by: &str,
        releaser: &str,
        balance: &str,
        stone: Stone,
        until: Until,
    ) -> Result<(), DemoError> {
        let sample = self.receive(by, stone)?;
        if self.sieves && !stone.reference {
            self.later(2.hours())?;
            self.sieve(by, balance, stone, &sample)?;
        }
        self.later(22.hours())?;
        let specimen = self.make_up(by, balance, stone, &sample)?;
        if until < Until::Turning {
            return Ok(());
        }
        self.later(90.minutes())?;
        let (run, wanted) = self.start(by, &specimen)?;
        if until < Until::WorkedOut {
            return Ok(());
        }
        self.stop(by, &run, wanted)?;
        self.later(20.hours())?;
        let loss = self.loss_found(stone);
        self.weigh_after(by, balance, loss, &specimen)?;
        if until < Until::Released {
            return Ok(());
        }
        self.later(3.hours())?;
        self.release(releaser, &specimen)
    }

    /// The loss of a stone as it is found on one day: about 3.4 % of it from day to day, the order of a single
    /// operator's spread.
    pub(crate) fn loss_found(&mut self, stone: Stone) -> Decimal {
        let loss = Decimal::new(stone.loss_tenths, 1);
        loss + self.chance.noise(loss * Decimal::new(34, 3), 2)
    }

    /// Releases the loss of a specimen.
    pub(crate) fn release(
        &mut self,
        releaser: &str,
        specimen: &SpecimenCode,
    ) -> Result<(), DemoError> {
        let result =
            self.lab.result_of(specimen).ok_or(DemoError::Expected("a result"))?.code.to_string();
        self.ask(releaser, ReleaseResult { result, ..ReleaseResult::default() })?;
        Ok(())
    }

    /// One more loss, as the stone really has it, of a sample that is here.
    pub(crate) fn one_loss(
        &mut self,
        by: &str,
        balance: &str,
        stone: Stone,
        sample: &SampleCode,
    ) -> Result<String, DemoError> {
        let specimen = self.make_up(by, balance, stone, sample)?;
        self.later(90.minutes())?;
        let (run, wanted) = self.start(by, &specimen)?;
        self.stop(by, &run, wanted)?;
        self.later(20.hours())?;
        self.weigh_after(by, balance, Decimal::new(stone.loss_tenths, 1), &specimen)?;
        let result = self.lab.result_of(&specimen).ok_or(DemoError::Expected("a result"))?;
        Ok(result.code.to_string())
    }

    pub(crate) fn receive(&mut self, by: &str, stone: Stone) -> Result<SampleCode, DemoError> {
        self.receive_of(by, stone, "12.5 kg")
    }

    /// A bag of this mass.
    pub(crate) fn receive_of(
        &mut self,
        by: &str,
        stone: Stone,
        received: &str,
    ) -> Result<SampleCode, DemoError> {
        let facts = self.ask(
            by,
            ReceiveSample {
                source: stone.source.to_owned(),
                client: stone.client.to_owned(),
                project: stone.project.to_owned(),
                material: stone.material.to_owned(),
                intended_use: stone.intended_use.to_owned(),
                nominal_maximum_mm: stone.nominal_maximum_mm.to_owned(),
                condition: "dry, in a sealed bag".to_owned(),
                limit_percent: stone.limit_percent.to_owned(),
                limit_document: stone.limit_document.to_owned(),
                limit_method: String::new(),
                received_on: String::new(),
                reference: if stone.reference { "yes" } else { "no" }.to_owned(),
                received_g: received.to_owned(),
                bags: "1".to_owned(),
                lot: if stone.reference { self.lot } else { "" }.to_owned(),
                sampled_by: if stone.reference { "" } else { "the client" }.to_owned(),
                sampling_plan: if stone.reference {
                    ""
                } else {
                    "from the stockpile, 5 increments"
                }
                .to_owned(),
                sampled_on: String::new(),
                delivered_by: String::new(),
                place: "bay 2, shelf A".to_owned(),
                ..ReceiveSample::default()
            },
        )?;
        match facts.first() {
            Some(Fact::SampleReceived { sample, .. }) => Ok(sample.clone()),
            _ => Err(DemoError::Expected("a sample")),
        }
    }

    /// The sieve analysis of what was received; a little dust is lost on the way.
    fn sieve(
        &mut self,
        by: &str,
        balance: &str,
        stone: Stone,
        sample: &SampleCode,
    ) -> Result<(), DemoError> {
        let (_, shares) = GRADINGS
            .iter()
            .find(|(grading, _)| *grading == stone.grading)
            .ok_or(DemoError::Expected("how the stone is graded"))?;
        let before_g = Decimal::from(6_000 + self.chance.between(-300, 300));
        let mut table = "sieve_mm,retained_g\n".to_owned();
        let mut left_g = before_g - Decimal::new(self.chance.between(20, 160), 1);
        for (sieve, per_mille) in *shares {
            let kept_g = (before_g * Decimal::new(*per_mille, 3)).round_dp(1);
            left_g -= kept_g;
            table.push_str(&format!("{sieve},{kept_g}\n"));
        }
        table.push_str(&format!("pan,{left_g}\n"));
        self.ask(
            by,
            RecordSieving {
                sample: sample.to_string(),
                table,
                before_g: before_g.to_string(),
                received_g: "25000".to_owned(),
                balance: balance.to_owned(),
                ..RecordSieving::default()
            },
        )?;
        Ok(())
    }

    pub(crate) fn make_up(
        &mut self,
        by: &str,
        balance: &str,
        stone: Stone,
        sample: &SampleCode,
    ) -> Result<SpecimenCode, DemoError> {
        let (specimen, total) = self.fractions(by, balance, stone, sample)?;
        self.later(4.hours())?;
        self.dry_mass(by, balance, &specimen, total)?;
        Ok(specimen)
    }

    /// The fractions of a specimen, put together; what they weigh, g.
    pub(crate) fn fractions(
        &mut self,
        by: &str,
        balance: &str,
        stone: Stone,
        sample: &SampleCode,
    ) -> Result<(SpecimenCode, Decimal), DemoError> {
        let facts = self.ask(
            by,
            BeginSpecimen {
                sample: sample.to_string(),
                method: METHOD.to_owned(),
                grading: stone.grading.to_owned(),
                balance: balance.to_owned(),
                deviation: String::new(),
            },
        )?;
        let specimen = facts
            .iter()
            .find_map(|fact| match fact {
                Fact::SpecimenBegun { specimen, .. } => Some(specimen.clone()),
                _ => None,
            })
            .ok_or(DemoError::Expected("a specimen"))?;
        let grading = self
            .lab
            .method_in_use(METHOD)
            .and_then(|in_use| in_use.method.grading(stone.grading))
            .ok_or(DemoError::Expected("the grading"))?
            .clone();
        let mut total = Decimal::ZERO;
        let mut masses_g = Vec::new();
        for fraction in &grading.fractions {
            let mass = fraction.mass_g.nominal.value + Decimal::new(self.chance.between(-9, 9), 1);
            total += mass;
            masses_g.push(mass.to_string());
        }
        self.by_hand(25)?;
        self.ask(
            by,
            WeighFractions {
                specimen: specimen.to_string(),
                masses_g,
                reason: String::new(),
                deviation: String::new(),
            },
        )?;
        Ok((specimen, total))
    }

    /// The mass of a specimen, washed and dried, whose fractions weighed `total`, g.
    pub(crate) fn dry_mass(
        &mut self,
        by: &str,
        balance: &str,
        specimen: &SpecimenCode,
        total: Decimal,
    ) -> Result<(), DemoError> {
        // Washing and drying takes a little dust away.
        let before = (total - Decimal::new(self.chance.between(1, 9), 1)).round_dp(0);
        self.ask(
            by,
            WeighBefore {
                specimen: specimen.to_string(),
                mass_g: as_shown(balance, before),
                balance: balance.to_owned(),
                ..WeighBefore::default()
            },
        )?;
        Ok(())
    }

    pub(crate) fn start(
        &mut self,
        by: &str,
        specimen: &SpecimenCode,
    ) -> Result<(RunCode, Decimal), DemoError> {
        let place = self.chance.between(1, 4);
        let (tier, position) = if place <= 2 { ("upper", place) } else { ("lower", place - 2) };
        let ended_by = if self.mill == OLD_MILL { "time" } else { "revolutions" };
        let water_c = 20 + self.chance.between(-2, 2);
        let off = self.chance.between(-30, 30);
        let charge = format!("BC-{place}");
        let charge_g = self.charge_g(by, &charge, off)?;
        let facts = self.ask(
            by,
            StartRun {
                apparatus: self.mill.to_owned(),
                ended_by: ended_by.to_owned(),
                water_c: water_c.to_string(),
                thermometer: String::new(),
                placements: vec![Placement {
                    tier: tier.to_owned(),
                    position: position.to_string(),
                    specimen: specimen.to_string(),
                    jar: format!("JAR-{place}"),
                    charge: charge.clone(),
                    charge_g: charge_g.to_string(),
                    charge_balls: String::new(),
                    water_l: "2.00".to_owned(),
                    soaked_h: "1.5".to_owned(),
                }],
                deviation: String::new(),
            },
        )?;
        match facts.first() {
            Some(Fact::RunStarted { run, revolutions_wanted, .. }) => {
                self.wears(&charge, specimen, *revolutions_wanted);
                Ok((run.clone(), *revolutions_wanted))
            }
            _ => Err(DemoError::Expected("a run")),
        }
    }

    pub(crate) fn stop(
        &mut self,
        by: &str,
        run: &RunCode,
        wanted: Decimal,
    ) -> Result<(), DemoError> {
        self.later(125.minutes())?;
        self.has_stopped(by, run, wanted)
    }

    /// Says how a run ended.
    pub(crate) fn has_stopped(
        &mut self,
        by: &str,
        run: &RunCode,
        wanted: Decimal,
    ) -> Result<(), DemoError> {
        let counted = wanted + Decimal::from(self.chance.between(0, 3));
        let rpm = Decimal::ONE_HUNDRED + Decimal::new(self.chance.between(-12, 12), 1);
        // The old mill ends by its timer, to the minute, and counts nothing.
        let (revolutions, minutes) = if self.mill == OLD_MILL {
            (String::new(), (wanted / Decimal::ONE_HUNDRED).normalize())
        } else {
            (counted.to_string(), (counted / rpm).round_dp(1))
        };
        let minutes = minutes.to_string();
        self.ask(by, StopRun { run: run.to_string(), revolutions, minutes, ..StopRun::default() })?;
        Ok(())
    }

    pub(crate) fn weigh_after(
        &mut self,
        by: &str,
        balance: &str,
        loss: Decimal,
        specimen: &SpecimenCode,
    ) -> Result<(), DemoError> {
        let before = self
            .lab
            .specimens
            .get(specimen)
            .and_then(stonewear_lab::state::Specimen::before_g)
            .ok_or(DemoError::Expected("a mass before"))?;
        let after = (before - before * loss / Decimal::ONE_HUNDRED).round_dp(0);
        self.ask(
            by,
            WeighAfter {
                specimen: specimen.to_string(),
                mass_g: after.to_string(),
                balance: balance.to_owned(),
                ..WeighAfter::default()
            },
        )?;
        Ok(())
    }
}
