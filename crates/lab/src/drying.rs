//! Constant mass: successive weighings, far enough apart, that differ by no more than the method
//! allows (ASTM D6928 and AASHTO T 327: 0.1 % in 2 h; EN 1097-1: at least 1 h apart; each method
//! file names its source).

use crate::fact::Stage;
use crate::state::{DryingMass, Lab, Noted, Specimen};
use jiff::Timestamp;
use std::fmt;
use stonewear_measure::{Decimal, Exact};
use stonewear_method::model::DryingRule;

/// Whether a drying specimen has come to constant mass.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Constancy {
    /// It has.
    Constant,
    /// It was weighed once only.
    OneWeighing,
    /// The last two weighings are too near to each other to tell.
    TooSoon {
        /// Minutes between them.
        apart_min: i64,
        /// The least that is wanted, min.
        wanted_min: i64,
    },
    /// It still loses mass.
    Drying {
        /// What it lost between the last two weighings, % of the mass, to three decimals.
        lost_percent: String,
        /// The most that is allowed, %.
        allowed_percent: Decimal,
    },
}

impl fmt::Display for Constancy {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Constant => f.write_str("the mass is constant"),
            Self::OneWeighing => {
                f.write_str("one weighing does not show whether the mass is constant")
            }
            Self::TooSoon { apart_min, wanted_min } => write!(
                f,
                "the last two weighings are {apart_min} min apart; the method wants {wanted_min} min"
            ),
            Self::Drying { lost_percent, allowed_percent } => write!(
                f,
                "it lost {lost_percent} % since the last weighing; constant is {allowed_percent} % at most"
            ),
        }
    }
}

/// Judges a series of weighings, oldest first, by the method's rule.
pub fn constancy(rule: &DryingRule, series: &[(Timestamp, Decimal)]) -> Constancy {
    let [.., (earlier, former_g), (later, mass_g)] = series else {
        return Constancy::OneWeighing;
    };
    let allowed_percent = rule.constant_within_percent.value;
    let lost = Exact::from(former_g.saturating_sub(*mass_g)).times(&Decimal::ONE_HUNDRED.into());
    let of_mass = lost.divided_by(&Exact::from(*mass_g));
    let lost_percent = of_mass.as_ref().map_or_else(String::new, |percent| percent.to_decimals(3));
    if of_mass.is_none_or(|percent| percent > Exact::from(allowed_percent)) {
        return Constancy::Drying { lost_percent, allowed_percent };
    }
    let apart_min = later.duration_since(*earlier).as_mins();
    let hours = rule.weighings_apart_h.value;
    let wanted_min = hours.saturating_mul(Decimal::from(60)).ceil().try_into().unwrap_or(i64::MAX);
    if apart_min < wanted_min {
        return Constancy::TooSoon { apart_min, wanted_min };
    }
    Constancy::Constant
}

impl Lab {
    /// How far a specimen has dried towards one of its masses, by its method; `None` when its
    /// method is not in use.
    pub fn constancy(&self, specimen: &Specimen, stage: Stage) -> Option<Constancy> {
        let method = &self.methods.get(&specimen.method)?.method;
        let series: Vec<_> =
            specimen.drying_at(stage).map(|one| (one.at, one.value.mass_g)).collect();
        Some(constancy(&method.drying, &series))
    }
}

impl Specimen {
    /// The weighings on the way to one of its masses, oldest first.
    pub fn drying_at(&self, stage: Stage) -> impl DoubleEndedIterator<Item = &Noted<DryingMass>> {
        self.drying.iter().filter(move |one| one.value.stage == stage)
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test that fails here says where")]

    use super::*;

    /// 0.1 % in 2 h: AASHTO T 327 §5.1.1 and ASTM D6928-03 §3.1.1.
    fn rule() -> DryingRule {
        stonewear_method::library::built_in_method("aashto-t327").unwrap().drying
    }

    fn at(minutes: i64, mass: &str) -> (Timestamp, Decimal) {
        (Timestamp::from_second(1_770_000_000 + minutes * 60).unwrap(), mass.parse().unwrap())
    }

    #[test]
    fn the_last_two_weighings_decide() {
        for (series, verdict) in [
            (vec![], Constancy::OneWeighing),
            (vec![at(0, "1520.0")], Constancy::OneWeighing),
            // 1.5 g of 1500.0 g is 0.1 %: just constant.
            (vec![at(0, "1520.0"), at(120, "1501.5"), at(240, "1500.0")], Constancy::Constant),
            (
                vec![at(0, "1501.5"), at(119, "1500.0")],
                Constancy::TooSoon { apart_min: 119, wanted_min: 120 },
            ),
            (
                vec![at(0, "1501.6"), at(120, "1500.0")],
                Constancy::Drying {
                    lost_percent: "0.106".into(),
                    allowed_percent: "0.1".parse().unwrap(),
                },
            ),
        ] {
            assert_eq!(constancy(&rule(), &series), verdict, "{series:?}");
        }
    }
}
