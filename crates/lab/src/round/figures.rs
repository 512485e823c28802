//! From a statistic to a decimal that a fact may keep, and to the words of a page.

use stonewear_measure::Decimal;

/// Significant figures that a closed round keeps of a statistic.
const KEPT: u32 = 6;

/// A statistic as a decimal of six significant figures; nothing where it is not defined.
pub(crate) fn kept(value: Option<f64>) -> Option<Decimal> {
    Decimal::try_from(value?).ok()?.round_sf(KEPT).map(|kept| kept.normalize())
}

/// A statistic with this many significant figures, as page and paper show it; `–` where it is not
/// defined.
pub fn significant(value: Option<f64>, figures: u32) -> String {
    value
        .and_then(|value| Decimal::try_from(value).ok()?.round_sf(figures))
        .map_or_else(|| "–".to_owned(), |value| value.to_string())
}

/// A score or a statistic of consistency: two decimals.
pub(crate) fn two_decimals(value: Option<f64>) -> String {
    value.map_or_else(|| "–".to_owned(), |value| format!("{value:.2}"))
}
