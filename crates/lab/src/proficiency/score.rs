//! The scores that a row of a provider's table defines, and the verdict (ISO 13528, 9.4 to 9.7;
//! the limits 2 and 3 for z, z' and ζ, and 1 for E_n: from memory, unconfirmed).

use crate::fact::proficiency::Told;
use serde::Serialize;
use stonewear_measure::Decimal;
use stonewear_stats::proficiency::scores;

/// Which score.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub enum ScoreKind {
    /// Difference over the standard deviation for assessment.
    #[serde(rename = "z")]
    Z,
    /// As z, with the uncertainty of the assigned value.
    #[serde(rename = "z'")]
    ZPrime,
    /// Difference over the combined standard uncertainties.
    #[serde(rename = "zeta")]
    Zeta,
    /// Difference over the combined expanded uncertainties.
    #[serde(rename = "En")]
    En,
}

impl ScoreKind {
    /// As it is written.
    pub fn symbol(self) -> &'static str {
        match self {
            Self::Z => "z",
            Self::ZPrime => "z'",
            Self::Zeta => "ζ",
            Self::En => "E_n",
        }
    }
}

/// What a score means.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum ScoreVerdict {
    /// |score| up to 2; |E_n| below 1.
    Satisfactory,
    /// |score| between 2 and 3.
    Questionable,
    /// |score| of 3 and more; |E_n| of 1 and more.
    Unsatisfactory,
}

impl ScoreVerdict {
    /// In the words of the open standard.
    pub fn in_words(self) -> &'static str {
        match self {
            Self::Satisfactory => "satisfactory",
            Self::Questionable => "questionable",
            Self::Unsatisfactory => "unsatisfactory",
        }
    }

    /// The verdict on a z, z' or ζ.
    pub fn of(score: f64) -> Self {
        if score.abs() <= 2.0 {
            Self::Satisfactory
        } else if score.abs() < 3.0 {
            Self::Questionable
        } else {
            Self::Unsatisfactory
        }
    }
}

/// The scores of one result.
#[derive(Debug, Clone, PartialEq)]
pub struct Scored {
    /// Every score that is defined.
    pub all: Vec<(ScoreKind, f64)>,
    /// The one that decides.
    pub kind: ScoreKind,
    /// Its value.
    pub value: f64,
    /// What it means, decided on exact decimals where they allow it.
    pub verdict: ScoreVerdict,
}

/// Scores what a provider told. z decides where a standard deviation for assessment is given, z'
/// where the assigned value is too uncertain for z, else E_n where an expanded uncertainty of the
/// value is given, else ζ. An uncertainty that is missing beside its pair follows with k = 2; an
/// assigned value without one is taken for exact in E_n and ζ.
pub fn scored(told: &Told) -> Option<Scored> {
    let half = |expanded: Decimal| expanded / Decimal::TWO;
    let u = told.uncertainty.or(told.expanded.map(half));
    let u_assigned = told.assigned_uncertainty.or(told.assigned_expanded.map(half));
    let twice = |standard: Decimal| standard.saturating_mul(Decimal::TWO);
    let expanded = told.expanded.or(told.uncertainty.map(twice));
    let expanded_assigned = told.assigned_expanded.or(told.assigned_uncertainty.map(twice));
    let double = |value: Option<Decimal>| f64::try_from(value.unwrap_or_default()).ok();
    let found = scores(
        (f64::try_from(told.value).ok()?, double(u)?, double(expanded)?),
        (f64::try_from(told.assigned).ok()?, double(u_assigned)?, double(expanded_assigned)?),
        double(told.sigma_pt)?,
    )
    .ok()?;
    let mut all = Vec::new();
    let mut keep = |kind, is_defined: bool, value: &stonewear_stats::Figure| {
        if let (true, Ok(value)) = (is_defined, value) {
            all.push((kind, *value));
        }
    };
    keep(ScoreKind::Z, told.sigma_pt.is_some(), &found.z);
    keep(ScoreKind::ZPrime, told.sigma_pt.is_some() && u_assigned.is_some(), &found.z_prime);
    keep(ScoreKind::Zeta, u.is_some(), &found.zeta);
    keep(ScoreKind::En, u.is_some(), &found.e_n);
    let kind = if told.sigma_pt.is_some() {
        if z_prime_is_needed(told, u_assigned) { ScoreKind::ZPrime } else { ScoreKind::Z }
    } else if told.expanded.is_some() {
        ScoreKind::En
    } else {
        ScoreKind::Zeta
    };
    let (_, value) = *all.iter().find(|(one, _)| *one == kind)?;
    let spreads = match kind {
        ScoreKind::Z => [told.sigma_pt, None],
        ScoreKind::ZPrime => [told.sigma_pt, u_assigned],
        ScoreKind::Zeta => [u, u_assigned],
        ScoreKind::En => [expanded, expanded_assigned],
    };
    let verdict = exact(kind, told, spreads).unwrap_or_else(|| rounded(kind, value));
    Some(Scored { all, kind, value, verdict })
}

/// Whether the assigned value is more uncertain than 0.3 of the standard deviation for assessment.
fn z_prime_is_needed(told: &Told, u_assigned: Option<Decimal>) -> bool {
    let limit = told.sigma_pt.and_then(|sigma| sigma.checked_mul(Decimal::new(3, 1)));
    u_assigned.zip(limit).is_some_and(|(u, limit)| u > limit)
}

/// The verdict on squares of the decimals as they were told: a score of exactly 2 is satisfactory,
/// whatever a double makes of it.
fn exact(kind: ScoreKind, told: &Told, spreads: [Option<Decimal>; 2]) -> Option<ScoreVerdict> {
    let difference = told.value.checked_sub(told.assigned)?;
    let square = difference.checked_mul(difference)?;
    let mut spread = Decimal::ZERO;
    for one in spreads.into_iter().flatten() {
        spread = spread.checked_add(one.checked_mul(one)?)?;
    }
    let times = |factor: u32| spread.checked_mul(Decimal::from(factor));
    Some(match kind {
        ScoreKind::En if square < spread => ScoreVerdict::Satisfactory,
        ScoreKind::En => ScoreVerdict::Unsatisfactory,
        _ if square <= times(4)? => ScoreVerdict::Satisfactory,
        _ if square < times(9)? => ScoreVerdict::Questionable,
        _ => ScoreVerdict::Unsatisfactory,
    })
}

/// The verdict where the decimals are too long to be squared.
fn rounded(kind: ScoreKind, value: f64) -> ScoreVerdict {
    match kind {
        ScoreKind::En if value.abs() < 1.0 => ScoreVerdict::Satisfactory,
        ScoreKind::En => ScoreVerdict::Unsatisfactory,
        _ => ScoreVerdict::of(value),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn told(value: &str, assigned: &str, sigma_pt: &str, u: [&str; 4]) -> Told {
        let number = |text: &str| text.parse::<Decimal>().ok();
        Told {
            value: number(value).unwrap(),
            assigned: number(assigned).unwrap(),
            sigma_pt: number(sigma_pt),
            uncertainty: number(u[0]),
            expanded: number(u[1]),
            assigned_uncertainty: number(u[2]),
            assigned_expanded: number(u[3]),
            ..Told::default()
        }
    }

    /// Invented numbers by the formulas of ISO 13528:2015, 9.4 to 9.7, recomputed with numpy 2.4.6
    /// and kept in full.
    #[test]
    fn the_scores_of_two_results() {
        let first = scored(&told("25.4", "23.0", "1.2", ["0.6", "1.2", "0.3", "0.6"])).unwrap();
        let second = scored(&told("21.1", "23.0", "1.2", ["0.35", "0.7", "0.5", "1.0"])).unwrap();
        for (found, kind, expected) in [
            (&first, ScoreKind::Z, 1.999_999_999_999_999),
            (&first, ScoreKind::ZPrime, 1.940_285_000_290_662_9),
            (&first, ScoreKind::Zeta, 3.577_708_763_999_661),
            (&first, ScoreKind::En, 1.788_854_381_999_830_6),
            (&second, ScoreKind::Z, -1.583_333_333_333_332_1),
            (&second, ScoreKind::ZPrime, -1.461_538_461_538_460_3),
            (&second, ScoreKind::Zeta, -3.113_081_297_972_351_4),
            (&second, ScoreKind::En, -1.556_540_648_986_175_7),
        ] {
            let (_, value) = found.all.iter().find(|(one, _)| *one == kind).unwrap();
            assert!((value - expected).abs() < 1e-12, "{kind:?}: {value}");
        }
        assert_eq!((first.kind, first.verdict), (ScoreKind::Z, ScoreVerdict::Satisfactory));
        assert_eq!(second.kind, ScoreKind::ZPrime, "0.5 is more than 0.3 of 1.2");
    }

    #[test]
    fn the_verdict_is_exact_at_the_limits() {
        use ScoreVerdict::{Questionable, Satisfactory, Unsatisfactory};
        let none = ["", "", "", ""];
        for (row, kind, verdict) in [
            (told("14.6", "14.0", "0.3", none), ScoreKind::Z, Satisfactory),
            (told("14.601", "14.0", "0.3", none), ScoreKind::Z, Questionable),
            (told("13.101", "14.0", "0.3", none), ScoreKind::Z, Questionable),
            (told("13.1", "14.0", "0.3", none), ScoreKind::Z, Unsatisfactory),
            // 0.3² + 0.4² = 0.5²; the assigned value is uncertain, so z' decides.
            (told("15.0", "14.0", "0.3", ["", "", "0.4", ""]), ScoreKind::ZPrime, Satisfactory),
            (told("15.5", "14.0", "0.3", ["", "", "", "0.8"]), ScoreKind::ZPrime, Unsatisfactory),
            (told("14.49", "14.0", "", ["", "0.3", "", "0.4"]), ScoreKind::En, Satisfactory),
            (told("14.5", "14.0", "", ["", "0.3", "", "0.4"]), ScoreKind::En, Unsatisfactory),
            (told("15.2", "14.0", "", ["0.3", "", "0.4", ""]), ScoreKind::Zeta, Questionable),
        ] {
            let found = scored(&row).unwrap();
            assert_eq!((found.kind, found.verdict), (kind, verdict), "{row:?}");
        }
        assert_eq!(scored(&told("14.0", "14.0", "", none)), None, "nothing defines a score");
        assert_eq!(scored(&told("14.0", "14.0", "0", none)), None, "a spread of zero is none");
    }
}
