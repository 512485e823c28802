//! One ball charge that wears as real ones do: a little in every run, more with hard stone, until
//! somebody adds balls. The others stay about where they are, so that the page shows both.

use crate::story::{DemoError, Story};
use jiff::ToSpan;
use stonewear_lab::request::{ChangeCharge, Observe};
use stonewear_lab::{ItemCode, SpecimenCode};
use stonewear_measure::Decimal;

/// The charge that wears.
pub(crate) const WEARING: &str = "BC-1";
/// What it weighs when the laboratory opens, hundredths of a gram.
const NEW: i64 = 500_390;
/// Where balls are added, hundredths of a gram: before the method's lower limit of 4995 g.
const WORN: i64 = 499_630;
/// Two balls of 9.5 mm, hundredths of a gram.
const TWO_BALLS: i64 = 705;

/// What is true of the charge that wears, hundredths of a gram.
#[derive(Debug, Clone, Copy)]
pub(crate) struct WornCharge(i64);

impl Default for WornCharge {
    fn default() -> Self {
        Self(NEW)
    }
}

/// Hundredths of a gram that a stone takes off in a thousand revolutions; invented.
fn rate(material: &str) -> i64 {
    if material.contains("sandstone") || material.contains("gravel") { 9 } else { 5 }
}

impl Story<'_> {
    /// What the balance shows of a charge; `off` is its scatter, tenths of a gram from -30 to 30.
    /// The charge that wears gets balls first where it is worn.
    pub(crate) fn charge_g(
        &mut self,
        by: &str,
        charge: &str,
        off: i64,
    ) -> Result<Decimal, DemoError> {
        if charge != WEARING {
            return Ok(Decimal::from(5000) + Decimal::new(off, 1));
        }
        if self.worn.0 < WORN {
            let (before, after) = (self.worn_g(0), Decimal::new(self.worn.0 + TWO_BALLS, 2));
            self.later(5.minutes())?;
            self.ask(
                by,
                ChangeCharge {
                    charge: charge.to_owned(),
                    change: "added".to_owned(),
                    before_g: before.to_string(),
                    after_g: after.round_dp(1).to_string(),
                    balls: "2".to_owned(),
                    balance: "BAL-2".to_owned(),
                    reason: "near the lower limit; two balls of full size from the spare box"
                        .to_owned(),
                    deviation: String::new(),
                },
            )?;
            self.worn.0 += TWO_BALLS;
        }
        Ok(self.worn_g(off))
    }

    /// What the balance shows of the charge that wears, to a tenth of a gram.
    pub(crate) fn worn_g(&self, off: i64) -> Decimal {
        // The charge is weighed dry and clean: its scatter is a tenth of that of the others.
        Decimal::new(self.worn.0 + off, 2).round_dp(1)
    }

    /// The charge loses its share in a run.
    pub(crate) fn wears(&mut self, charge: &str, specimen: &SpecimenCode, revolutions: Decimal) {
        if charge != WEARING {
            return;
        }
        let sample =
            self.lab.specimens.get(specimen).and_then(|one| self.lab.samples.get(&one.sample));
        let rate = sample.map_or(0, |sample| rate(&sample.material));
        let lost = (revolutions / Decimal::ONE_THOUSAND * Decimal::from(rate)).round_dp(0);
        self.worn.0 -= i64::try_from(lost).unwrap_or_default();
    }

    /// The balls of the charge that wears, tried on the gauges: so many of fifty are below the
    /// nominal size.
    pub(crate) fn gauge_balls(&mut self, by: &str, worn: &str) -> Result<(), DemoError> {
        let check = self.begin_check(by, ItemCode::from(WEARING).as_str(), "ball-size")?;
        for (step, seen) in
            [("sample", "50"), ("too-small", "0"), ("too-large", "0"), ("worn", worn)]
        {
            self.later(4.minutes())?;
            self.ask(
                by,
                Observe {
                    check: check.to_string(),
                    step: step.to_owned(),
                    seen: seen.to_owned(),
                    ..Observe::default()
                },
            )?;
        }
        Ok(())
    }
}
