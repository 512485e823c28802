//! Run rules: k of the last m points beyond a line on the same side.
//!
//! Convention of C. W. Champ and W. H. Woodall, Technometrics 29 (1987) 393-399: a rule signals only on a
//! point that itself lies beyond the line. The average run length of a selection of rules is in
//! [`crate::run_length`]: every rule that is added costs false alarms.

use crate::error::{StatsError, within};

/// "At least `needed` of the last `window` points more than `beyond` sigma from the centre, all on
/// the same side, the last one among them".
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rule {
    /// Number by which people call it; 1 to 4 for the classical ones.
    pub number: usize,
    /// How many points.
    pub needed: usize,
    /// Of how many in a row.
    pub window: usize,
    /// Beyond how many standard deviations; 0 is the centre line.
    pub beyond: f64,
}

impl Rule {
    /// One point beyond three sigma.
    pub const ONE: Self = Self { number: 1, needed: 1, window: 1, beyond: 3.0 };
    /// Two of three beyond two sigma.
    pub const TWO: Self = Self { number: 2, needed: 2, window: 3, beyond: 2.0 };
    /// Four of five beyond one sigma.
    pub const THREE: Self = Self { number: 3, needed: 4, window: 5, beyond: 1.0 };
    /// Eight in a row on one side of the centre.
    pub const FOUR: Self = Self { number: 4, needed: 8, window: 8, beyond: 0.0 };

    /// The classical rule with this number.
    ///
    /// # Errors
    /// When the number is not 1 to 4.
    pub fn classical(number: usize) -> Result<Self, StatsError> {
        match number {
            1 => Ok(Self::ONE),
            2 => Ok(Self::TWO),
            3 => Ok(Self::THREE),
            4 => Ok(Self::FOUR),
            other => Err(StatsError::OutOfRange {
                what: "the run rule",
                value: other as f64,
                expected: "1 (one beyond 3 sigma), 2 (two of three beyond 2 sigma), \
                           3 (four of five beyond 1 sigma) or 4 (eight in a row on one side)",
            }),
        }
    }

    /// A rule of one's own.
    ///
    /// # Errors
    /// When `needed` is 0 or above `window`, `window` is above 20, or `beyond` is negative or above
    /// 8.
    pub fn new(
        number: usize,
        needed: usize,
        window: usize,
        beyond: f64,
    ) -> Result<Self, StatsError> {
        within(
            "the window of the rule",
            window as f64,
            (1..=20).contains(&window),
            "from 1 to 20",
        )?;
        let fits = (1..=window).contains(&needed);
        within("the points needed", needed as f64, fits, "from 1 to the window")?;
        within("the line of the rule", beyond, (0.0..=8.0).contains(&beyond), "from 0 to 8 sigma")?;
        Ok(Self { number, needed, window, beyond })
    }
}

/// The side of the centre line.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Side {
    /// Above the centre.
    Above,
    /// Below the centre.
    Below,
}

/// A rule completed by a point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Signal {
    /// The number of the rule.
    pub rule: usize,
    /// On which side.
    pub side: Side,
}

/// The signals of the last point of `history`, given in standard deviations from the centre.
pub(crate) fn signals(history: &[f64], rules: &[Rule]) -> Vec<Signal> {
    let Some(&last) = history.last() else { return Vec::new() };
    let side = if last > 0.0 { Side::Above } else { Side::Below };
    let towards = |z: f64| if side == Side::Above { z } else { -z };
    rules
        .iter()
        .filter(|rule| {
            let window = &history[history.len().saturating_sub(rule.window)..];
            towards(last) > rule.beyond
                && window.iter().filter(|&&z| towards(z) > rule.beyond).count() >= rule.needed
        })
        .map(|rule| Signal { rule: rule.number, side })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn numbers(history: &[f64]) -> Vec<usize> {
        let rules = [Rule::ONE, Rule::TWO, Rule::THREE, Rule::FOUR];
        signals(history, &rules).iter().map(|s| s.rule).collect()
    }

    #[test]
    fn each_rule_alone() {
        assert_eq!(numbers(&[0.1, 3.1]), [1]);
        assert_eq!(numbers(&[2.1, 0.0, 2.1]), [2]);
        assert_eq!(numbers(&[2.1, 0.0, -2.1]), [0; 0]);
        assert_eq!(numbers(&[1.1, 1.2, 0.0, 1.1, 1.3]), [3]);
        assert_eq!(numbers(&[-0.1; 8]), [4]);
        assert_eq!(numbers(&[-0.1; 7]), [0; 0]);
        // Two of the last three are out, but the last one came back.
        assert_eq!(numbers(&[2.1, 2.1, 0.5]), [0; 0]);
        // A point on the centre line breaks a run.
        assert_eq!(numbers(&[0.1, 0.1, 0.1, 0.1, 0.0, 0.1, 0.1, 0.1]), [0; 0]);
    }
}
