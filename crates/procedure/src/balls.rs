//! How many balls bring a charge back inside its tolerance.
//!
//! The mass of a ball follows from its diameter and the density of steel, so it is derived, and the
//! density is from memory, unconfirmed: weigh what is added, and the charge again.

use stonewear_measure::{Decimal, Limits};

/// Density of stainless steel, g/cm³: from memory, unconfirmed (7.7 to 8.0 by alloy).
const STEEL_G_PER_CM3: Decimal = Decimal::from_parts(78, 0, 0, false, 1);
/// π / 6, to nine places.
const SIXTH_OF_PI: Decimal = Decimal::from_parts(523_598_776, 0, 0, false, 9);

/// What brings a charge back inside its limits, with balls of one size.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mending {
    /// Balls to add, or to take out when negative.
    pub balls: i64,
    /// Diameter of a ball, mm.
    pub diameter_mm: Decimal,
    /// Mass of one, g, to two decimals; derived.
    pub ball_g: Decimal,
    /// What the charge would then be, g, to one decimal.
    pub would_be_g: Decimal,
}

/// The mass of a steel ball, g, to two decimals; derived from its diameter, mm.
pub fn ball_g(diameter_mm: Decimal) -> Option<Decimal> {
    let centimetres = diameter_mm.checked_div(Decimal::TEN)?;
    let cube = centimetres.checked_mul(centimetres)?.checked_mul(centimetres)?;
    Some(SIXTH_OF_PI.checked_mul(cube)?.checked_mul(STEEL_G_PER_CM3)?.round_dp(2))
}

/// How many balls of this diameter bring a charge nearest to the middle of its limits. `None` when
/// it is inside already, a limit is missing, or no whole number of balls does it.
pub fn mend(charge_g: Decimal, limits: Limits, diameter_mm: Decimal) -> Option<Mending> {
    let middle = limits.lower?.checked_add(limits.upper?)?.checked_div(Decimal::TWO)?;
    if limits.hold(charge_g) {
        return None;
    }
    let one = ball_g(diameter_mm).filter(|one| *one > Decimal::ZERO)?;
    let balls = middle.checked_sub(charge_g)?.checked_div(one)?.round();
    let would_be_g = charge_g.checked_add(balls.checked_mul(one)?)?.round_dp(1);
    limits.hold(would_be_g).then_some(Mending {
        balls: i64::try_from(balls).ok()?,
        diameter_mm,
        ball_g: one,
        would_be_g,
    })
}

/// `add 3 balls of 9.5 mm (about 3.50 g each): 4999.7 g`.
impl std::fmt::Display for Mending {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let (verb, count) =
            if self.balls < 0 { ("take out", -self.balls) } else { ("add", self.balls) };
        let plural = if count == 1 { "ball" } else { "balls" };
        write!(
            f,
            "{verb} {count} {plural} of {} mm (about {} g each): {} g",
            self.diameter_mm, self.ball_g, self.would_be_g
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn decimal(text: &str) -> Decimal {
        text.parse().unwrap()
    }

    /// By hand: π/6 × 0.95³ cm³ × 7.8 g/cm³ = 0.44892 × 7.8 = 3.50 g; of 10 mm 4.08 g.
    #[test]
    fn a_ball_weighs_what_its_diameter_says() {
        assert_eq!(ball_g(decimal("9.5")), Some(decimal("3.50")));
        assert_eq!(ball_g(decimal("10")), Some(decimal("4.08")));
    }

    /// 5000 ± 5 g. At 4989.2 g, 10.8 g are missing: 3 × 3.50 = 10.5 g, giving 4999.7 g.
    #[test]
    fn what_is_missing_is_added_and_what_is_too_much_taken_out() {
        let limits = Limits::around(5000.into(), 5.into());
        let said = |charge: &str| {
            mend(decimal(charge), limits, decimal("9.5")).map(|mending| mending.to_string())
        };
        assert_eq!(
            said("4989.2").as_deref(),
            Some("add 3 balls of 9.5 mm (about 3.50 g each): 4999.7 g")
        );
        assert_eq!(
            said("5007").as_deref(),
            Some("take out 2 balls of 9.5 mm (about 3.50 g each): 5000.0 g")
        );
        assert_eq!(said("5004.9"), None, "inside already");
        assert_eq!(mend(decimal("10"), Limits::at_least(20.into()), decimal("9.5")), None);
    }
}
