//! A probability for those who keep decimals: the laboratory holds no binary float.

use super::probability::{Tolerance, conformance_probability};
use stonewear_measure::Decimal;

/// Decimals that the probability keeps: a hundredth of a percent. More would claim what no
/// statement of uncertainty can know.
const DECIMALS: u32 = 4;

/// Probability that the true value lies above `limit`, given a result `value` with standard
/// uncertainty `u`, all in one unit; normal, rounded to four decimals (JCGM 106:2012, clause 7).
/// `None` when `u` is negative.
#[must_use]
pub fn probability_above(value: Decimal, u: Decimal, limit: Decimal) -> Option<Decimal> {
    let as_double = |decimal: Decimal| f64::try_from(decimal).ok();
    let within = Tolerance::new(None, Some(as_double(limit)?)).ok()?;
    let conforms = conformance_probability(as_double(value)?, as_double(u)?, &within).ok()?;
    let above = Decimal::try_from(1.0 - conforms).ok()?;
    Some(above.clamp(Decimal::ZERO, Decimal::ONE).round_dp(DECIMALS))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// ILAC-G8:09/2019, 4.2: limit 25.0, U = 0.4, so u = 0.2 (the numbers are invented, the
    /// probabilities recomputed with scipy 1.17.1). JCGM 106:2012, 7: breakdown voltage -5.47 V
    /// with u = 0.05 V against -5.40 V conforms with 92 %, so lies above with 8.08 %.
    #[test]
    fn a_probability_in_decimals() {
        for (value, u, limit, above) in [
            ("24.2", "0.2", "25.0", "0.0000"),
            ("24.6", "0.2", "25.0", "0.0228"),
            ("24.99", "0.2", "25.0", "0.4801"),
            ("25", "0.2", "25.0", "0.5000"),
            ("25.3", "0.2", "25.0", "0.9332"),
            ("25.9", "0.2", "25.0", "1.0000"),
            ("-5.47", "0.05", "-5.4", "0.0808"),
            ("18", "0", "18", "0"),
            ("18.1", "0", "18", "1"),
        ] {
            let decimal = |text: &str| text.parse::<Decimal>().unwrap();
            let found = probability_above(decimal(value), decimal(u), decimal(limit));
            assert_eq!(found, Some(decimal(above)), "{value} ± {u} against {limit}");
        }
        assert_eq!(probability_above(Decimal::ONE, -Decimal::ONE, Decimal::ONE), None);
    }
}
