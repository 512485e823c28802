//! Between decimals, which people read and the laboratory keeps, and the doubles of statistics.

use stonewear_measure::Decimal;

/// The nearest double. A decimal always has one.
#[must_use]
pub fn double(value: Decimal) -> f64 {
    f64::try_from(value).unwrap_or_default()
}

/// The nearest doubles.
#[must_use]
pub fn doubles(values: &[Decimal]) -> Vec<f64> {
    values.iter().copied().map(double).collect()
}

/// A figure to this number of significant digits; `None` where no decimal holds it.
#[must_use]
pub fn significant(value: f64, digits: u32) -> Option<Decimal> {
    Decimal::try_from(value).ok()?.round_sf(digits).map(|rounded| rounded.normalize())
}

/// A figure to this number of decimals; `None` where no decimal holds it.
#[must_use]
pub fn to_places(value: f64, places: u32) -> Option<Decimal> {
    let mut rounded = Decimal::try_from(value).ok()?.round_dp(places);
    rounded.rescale(places);
    Some(rounded)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn there_and_back() {
        let text = |value: Option<Decimal>| value.unwrap().to_string();
        assert_eq!(double("196.3052".parse().unwrap()), 196.3052);
        assert_eq!(text(significant(0.051_146_261_6, 4)), "0.05115");
        assert_eq!(text(significant(123_456.7, 3)), "123000");
        assert_eq!(text(to_places(0.3, 2)), "0.30");
        assert_eq!(text(to_places(-0.004, 2)), "0.00");
        assert_eq!(to_places(f64::NAN, 2), None);
        assert_eq!(significant(1e300, 2), None);
    }
}
