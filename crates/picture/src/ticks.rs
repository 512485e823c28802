//! Round figures for an axis.

/// Ticks at 1, 2 or 5 times a power of ten.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Ticks {
    /// From the least to the greatest tick, in the axis's unit.
    pub(crate) values: Vec<f64>,
    decimals: usize,
}

impl Ticks {
    /// About `wanted` ticks that reach around `low` to `high`.
    pub(crate) fn around(low: f64, high: f64, wanted: u8) -> Self {
        let (low, high) = (low.min(high), low.max(high));
        // Far beyond anything that is measured, so that the steps between are numbers too.
        let (low, high) = (low.clamp(-1e300, 1e300), high.clamp(-1e300, 1e300));
        let (low, high) = if (high - low) > low.abs().max(high.abs()) * 1e-9 {
            (low, high)
        } else {
            let room = if low == 0.0 { 1.0 } else { low.abs() * 0.1 };
            (low - room, high + room)
        };
        let rough = (high - low) / f64::from(wanted.max(1));
        let power = rough.log10().floor();
        let unit = 10_f64.powf(power);
        let step = unit
            * [1.0, 2.0, 5.0, 10.0].into_iter().find(|n| n * unit >= rough * 0.999).unwrap_or(10.0);
        if !step.is_finite() || step <= 0.0 {
            return Self { values: vec![0.0, 1.0], decimals: 0 };
        }
        let (first, last) = ((low / step + 1e-9).floor(), (high / step - 1e-9).ceil());
        // At most `wanted` steps and one more on each side: the cast keeps it.
        let count = (last - first).clamp(1.0, 50.0) as u32;
        let values = (0..=count).map(|n| (first + f64::from(n)) * step).collect();
        // Powers of ten of what a laboratory measures are small: the cast keeps it.
        let decimals = if step >= unit * 9.9 { -power - 1.0 } else { -power };
        Self { values, decimals: decimals.clamp(0.0, 12.0) as usize }
    }

    /// A tick's figure, with the decimals that its step needs.
    pub(crate) fn label(&self, value: f64) -> String {
        if value.abs() >= 1e9 {
            return format!("{value:e}").replace('-', "\u{2212}");
        }
        let text = format!("{value:.*}", self.decimals);
        let is_zero = text.bytes().all(|byte| matches!(byte, b'-' | b'0' | b'.'));
        let text = if is_zero { text.trim_start_matches('-') } else { &text };
        text.replace('-', "\u{2212}")
    }

    /// The least and the greatest tick.
    pub(crate) fn span(&self) -> (f64, f64) {
        let low = self.values.first().copied().unwrap_or(0.0);
        (low, self.values.last().copied().unwrap_or(low + 1.0))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ticks_are_round_and_reach_around() {
        let cases: [(f64, f64, &[&str]); 5] = [
            (12.1, 15.7, &["12", "13", "14", "15", "16"]),
            (0.0, 1.0, &["0.0", "0.2", "0.4", "0.6", "0.8", "1.0"]),
            (-3.0, 12.0, &["−5", "0", "5", "10", "15"]),
            (98.0, 102.0, &["98", "99", "100", "101", "102"]),
            (7.0, 7.0, &["6.0", "6.5", "7.0", "7.5", "8.0"]),
        ];
        for (low, high, wanted) in cases {
            let ticks = Ticks::around(low, high, 5);
            let labels: Vec<String> = ticks.values.iter().map(|v| ticks.label(*v)).collect();
            assert_eq!(labels, wanted, "{low} to {high}");
        }
    }

    #[test]
    fn the_least_and_the_largest_floats_have_ticks() {
        for (low, high) in [(0.0, f64::MAX), (f64::MIN, f64::MAX), (0.0, 5e-324), (1e300, 1e300)] {
            let ticks = Ticks::around(low, high, 5);
            assert!(ticks.values.iter().all(|value| value.is_finite()), "{ticks:?}");
            assert!(ticks.values.len() >= 2);
        }
    }
}
