//! How far two results of one material may lie apart, by the precision that a method states.
//!
//! The limits are statistics of other laboratories; they are kept in decimals all the same, so
//! that what is printed is what the published line gives.

use crate::figure::Confidence;
use crate::model::{Conditions, Line, Method, Precision, PrecisionLevel};
use std::fmt;
use stonewear_measure::Decimal;

/// The acceptable difference of two results at one loss.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PrecisionLimit {
    /// Difference that two results exceed in about 1 case of 20, % loss.
    pub difference_percent: Decimal,
    /// The least sure confidence among the figures that it rests on.
    pub confidence: Confidence,
}

/// The difference to two decimals, `0.93`: more would claim what no cross test can know.
impl fmt::Display for PrecisionLimit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:.2}", self.difference_percent.round_dp(2))
    }
}

/// What a method says about its precision at one loss.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum PrecisionAt {
    /// Nothing.
    NotStated,
    /// It gives levels, and the loss lies outside them: nothing is extrapolated.
    OutsideLevels {
        /// Lowest published loss, %.
        lowest: Decimal,
        /// Highest published loss, %.
        highest: Decimal,
    },
    /// This limit.
    Limit(PrecisionLimit),
}

impl fmt::Display for PrecisionAt {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotStated => f.write_str("the method states no precision for these conditions"),
            Self::OutsideLevels { lowest, highest } => {
                write!(f, "precision is published for losses from {lowest} to {highest} % only")
            }
            Self::Limit(limit) => write!(f, "two results should differ by at most {limit} % loss"),
        }
    }
}

impl Method {
    /// The acceptable difference (95 %) of two results at this loss, %; `None` where the method
    /// states none or the loss lies outside its levels: see [`Method::precision_at`].
    pub fn precision_limit(&self, conditions: Conditions, loss: Decimal) -> Option<PrecisionLimit> {
        match self.precision_at(conditions, loss) {
            PrecisionAt::Limit(limit) => Some(limit),
            PrecisionAt::NotStated | PrecisionAt::OutsideLevels { .. } => None,
        }
    }

    /// What the method says about its precision at this loss, %: the published line, or the
    /// relative difference interpolated linearly between the two neighbouring levels.
    pub fn precision_at(&self, conditions: Conditions, loss: Decimal) -> PrecisionAt {
        let stated = self.precisions.iter().find(|precision| precision.conditions == conditions);
        match stated {
            None => PrecisionAt::NotStated,
            Some(Precision { limit_line: Some(line), .. }) => on_line(line, loss),
            Some(Precision { limit_line: None, levels, .. }) => between_levels(levels, loss),
        }
    }
}

fn on_line(line: &Line, loss: Decimal) -> PrecisionAt {
    let limit = line
        .slope
        .value
        .checked_mul(loss)
        .and_then(|grown| grown.checked_add(line.intercept.value))
        .filter(|limit| *limit >= Decimal::ZERO);
    let confidence = line.intercept.confidence.less_sure(line.slope.confidence);
    limit.map_or(PrecisionAt::NotStated, |limit| {
        let difference_percent = limit.normalize();
        PrecisionAt::Limit(PrecisionLimit { difference_percent, confidence })
    })
}

fn between_levels(levels: &[PrecisionLevel], loss: Decimal) -> PrecisionAt {
    let (Some(first), Some(last)) = (levels.first(), levels.last()) else {
        return PrecisionAt::NotStated;
    };
    let (lowest, highest) = (first.loss_percent.value, last.loss_percent.value);
    let outside = PrecisionAt::OutsideLevels { lowest, highest };
    if loss < lowest || loss > highest {
        return outside;
    }
    let above = levels.iter().position(|level| level.loss_percent.value >= loss);
    let Some(higher) = above.and_then(|index| levels.get(index)) else { return outside };
    let lower = above.and_then(|index| index.checked_sub(1)).and_then(|index| levels.get(index));
    let at_level = |level: &PrecisionLevel| {
        level.loss_percent.confidence.less_sure(level.difference_percent_of_mean.confidence)
    };
    let (relative, confidence) = match lower {
        Some(lower) if higher.loss_percent.value != loss => {
            let (x0, x1) = (lower.loss_percent.value, higher.loss_percent.value);
            let y0 = lower.difference_percent_of_mean.value;
            let y1 = higher.difference_percent_of_mean.value;
            let relative = y0 + (y1 - y0) * (loss - x0) / (x1 - x0);
            (relative, at_level(lower).less_sure(at_level(higher)))
        }
        _ => (higher.difference_percent_of_mean.value, at_level(higher)),
    };
    let difference_percent = (relative * loss / Decimal::ONE_HUNDRED).normalize();
    PrecisionAt::Limit(PrecisionLimit { difference_percent, confidence })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::library::{built_in_methods, find};

    fn decimal(text: &str) -> Decimal {
        text.parse().unwrap()
    }

    fn at(method: &str, conditions: Conditions, loss: &str) -> PrecisionAt {
        find(&built_in_methods(), method).unwrap().precision_at(conditions, decimal(loss))
    }

    fn difference(method: &str, conditions: Conditions, loss: &str) -> Decimal {
        match at(method, conditions, loss) {
            PrecisionAt::Limit(limit) => limit.difference_percent,
            other => panic!("{method} at {loss}: {other}"),
        }
    }

    /// Derived check value: the published lines of BRE MDrvals Table 2 at X = 11.7.
    #[test]
    fn the_european_lines_give_the_derived_check_values() {
        let r = difference("en-1097-1", Conditions::Repeatability, "11.7");
        let big_r = difference("en-1097-1", Conditions::Reproducibility, "11.7");
        assert_eq!(r.round_dp(3), decimal("0.928"));
        assert_eq!(big_r.round_dp(3), decimal("1.863"));
        let limit = built_in_methods()
            .iter()
            .find(|method| method.id == "en-1097-1")
            .and_then(|method| method.precision_limit(Conditions::Repeatability, decimal("11.7")))
            .unwrap();
        assert_eq!(limit.to_string(), "0.93");
        assert_eq!(limit.confidence, Confidence::Seen);
    }

    /// BRE MDrvals Tables 1 and 3, European experiment: mean, standard deviations within and
    /// between laboratories. The line is a weighted fit through three levels (residuals up to a
    /// quarter), so it is held to 30 %: enough to find r and R swapped, a slipped point or lost sign.
    #[test]
    fn the_european_lines_lie_near_the_published_levels() {
        for (level, s_r, s_big_r) in
            [("6.4", "0.291", "0.344"), ("11.7", "0.385", "0.890"), ("25.6", "0.335", "1.086")]
        {
            for (conditions, s) in
                [(Conditions::Repeatability, s_r), (Conditions::Reproducibility, s_big_r)]
            {
                let published = decimal(s) * decimal("2.8");
                let ratio = difference("en-1097-1", conditions, level) / published;
                assert!(
                    ratio > decimal("0.7") && ratio < decimal("1.3"),
                    "{conditions} at {level}: {ratio}"
                );
            }
        }
    }

    /// The lines of the limits are 2.8 times those of the standard deviations (same table).
    #[test]
    fn the_european_limits_are_2_8_times_the_standard_deviations() {
        let methods = built_in_methods();
        let method = find(&methods, "en-1097-1").unwrap();
        let within = [("0.319", "0.001"), ("0.093", "0.049")];
        assert_eq!(method.precisions.len(), within.len());
        for (precision, (intercept, slope)) in method.precisions.iter().zip(within) {
            let line = precision.limit_line.as_ref().unwrap();
            let near = |s: &str, limit: Decimal| {
                assert_eq!((decimal(s) * decimal("2.8")).round_dp(3), limit, "{s}");
            };
            near(intercept, line.intercept.value);
            near(slope, line.slope.value);
        }
    }

    /// Levels from memory: 5 / 12 / 17 / 21 % loss with 28 / 18 / 16 / 15 % of the mean.
    #[test]
    fn the_north_american_levels_are_interpolated_and_never_extrapolated() {
        let two_laboratories = Conditions::Reproducibility;
        for (loss, expected) in [
            ("5", "1.4"),
            ("12", "2.16"),
            ("17", "2.72"),
            ("21", "3.15"),
            ("14.5", "2.465"), // halfway between 18 and 16 %
        ] {
            assert_eq!(
                difference("astm-d6928", two_laboratories, loss),
                decimal(expected),
                "{loss}"
            );
        }
        for loss in ["4.9", "21.1", "0", "100"] {
            let outside =
                PrecisionAt::OutsideLevels { lowest: decimal("5"), highest: decimal("21") };
            assert_eq!(at("astm-d6928", two_laboratories, loss), outside, "{loss}");
        }
        let stated = at("astm-d6928", Conditions::Repeatability, "17");
        assert_eq!(stated, PrecisionAt::NotStated);
        insta::assert_snapshot!(at("astm-d6928", two_laboratories, "30"), @"precision is published for losses from 5 to 21 % only");
        insta::assert_snapshot!(at("astm-d6928", two_laboratories, "14.8"), @"two results should differ by at most 2.50 % loss");
    }

    /// D7428, from memory: 24.6 % of the mean whatever the level.
    #[test]
    fn a_limit_in_proportion_to_the_loss_is_a_line_through_the_origin() {
        assert_eq!(difference("astm-d7428", Conditions::Reproducibility, "20"), decimal("4.92"));
    }
}
