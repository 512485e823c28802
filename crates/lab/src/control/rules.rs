//! Which rules a chart is judged by, as the policy keeps them: `1 2`, `1 ewma 0.2 3`.
//!
//! The numbers are the classical run rules: 1 is one point beyond the action limit (3 s), 2 is two of
//! three beyond the warning limit (2 s) on one side, 3 is four of five beyond 1 s on one side, 4 is
//! eight in a row on one side of the centre. Beside them a chart with a memory may watch: a weighted
//! average (`ewma`, weight and width) or cumulative sums (`cusum`, allowance k and decision interval h,
//! both in standard deviations of single results).

use super::double;
use crate::policy::Policy;
use crate::state::Lab;
use serde::Serialize;
use stonewear_measure::Decimal;
use stonewear_stats::StatsError;
use stonewear_stats::chart::Rule;
use stonewear_stats::run_length::{self, Sides};

/// A chart with a memory, which finds small shifts sooner.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(tag = "memory", rename_all = "kebab-case")]
pub enum Memory {
    /// Exponentially weighted moving average.
    Ewma {
        /// Weight of the newest result.
        lambda: Decimal,
        /// Half-width of its limits in its own standard deviations.
        width: Decimal,
    },
    /// Cumulative sums to both sides.
    Cusum {
        /// Allowance, in standard deviations of single results.
        k: Decimal,
        /// Decision interval, in the same.
        h: Decimal,
    },
}

impl Memory {
    /// As the rules name it, and as its signals do.
    pub fn name(self) -> &'static str {
        match self {
            Self::Ewma { .. } => "ewma",
            Self::Cusum { .. } => "cusum",
        }
    }
}

/// The rules of a chart.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Rules {
    /// Numbers of the run rules, in order.
    pub run_rules: Vec<usize>,
    /// The chart with a memory beside them.
    pub memory: Option<Memory>,
}

impl Rules {
    /// Reads them as the policy keeps them; nothing where they are not understood.
    pub fn read(typed: &str) -> Option<Self> {
        let words: Vec<&str> = typed.split_whitespace().collect();
        let is_number = |word: &&&str| word.parse::<usize>().is_ok();
        let (numbers, rest) = words.split_at(words.iter().take_while(is_number).count());
        let mut run_rules = Vec::new();
        for number in numbers.iter().filter_map(|word| word.parse::<usize>().ok()) {
            if !(1..=4).contains(&number) || run_rules.contains(&number) {
                return None;
            }
            run_rules.push(number);
        }
        run_rules.sort_unstable();
        let memory = match rest {
            [] if run_rules.is_empty() => return None,
            [] => None,
            ["ewma", lambda, width] => {
                let (lambda, width) = (setting(lambda)?, setting(width)?);
                (lambda <= Decimal::ONE).then_some(())?;
                Some(Memory::Ewma { lambda, width })
            }
            ["cusum", k, h] => Some(Memory::Cusum { k: setting(k)?, h: setting(h)? }),
            _ => return None,
        };
        Some(Self { run_rules, memory })
    }

    /// As the policy keeps them.
    pub fn text(&self) -> String {
        let numbers = self.run_rules.iter().map(ToString::to_string);
        let memory = self.memory.map(|memory| match memory {
            Memory::Ewma { lambda, width } => format!("{} {lambda} {width}", memory.name()),
            Memory::Cusum { k, h } => format!("{} {k} {h}", memory.name()),
        });
        numbers.chain(memory).collect::<Vec<_>>().join(" ")
    }

    /// In words, as page and paper say them.
    pub fn in_words(&self) -> String {
        let rules = self.run_rules.iter().map(|number| words_of(*number).to_owned());
        let memory = self.memory.map(|memory| match memory {
            Memory::Ewma { lambda, width } => format!(
                "a weighted average (weight {lambda}) beyond {width} of its standard deviations"
            ),
            Memory::Cusum { k, h } => {
                format!("a cumulative sum (allowance {k} s) above its decision interval {h} s")
            }
        });
        rules.chain(memory).collect::<Vec<_>>().join("; ")
    }

    /// The run rules as the statistics know them.
    pub(crate) fn run_rules(&self) -> Vec<Rule> {
        self.run_rules.iter().filter_map(|number| Rule::classical(*number).ok()).collect()
    }

    /// After how many results each part of the rules signals on average, when the process is shifted
    /// by so many standard deviations; with no shift these are false alarms.
    ///
    /// # Errors
    /// When a part practically never signals.
    pub fn run_lengths(&self, shift: f64) -> Result<Vec<f64>, StatsError> {
        let mut lengths = Vec::new();
        if !self.run_rules.is_empty() {
            lengths.push(run_length::shewhart(&self.run_rules(), shift)?);
        }
        match self.memory {
            None => {}
            Some(Memory::Ewma { lambda, width }) => {
                lengths.push(run_length::ewma(double(lambda), double(width), shift)?);
            }
            Some(Memory::Cusum { k, h }) => {
                lengths.push(run_length::cusum(double(k), double(h), shift, Sides::Both)?);
            }
        }
        Ok(lengths)
    }

    /// What the rules cost and what they catch, in a sentence.
    pub fn run_lengths_in_words(&self) -> String {
        let said = |shift: f64| {
            let lengths = self.run_lengths(shift).ok()?;
            // Together they signal no later than the quickest, and at least as often as their sum.
            let rate: f64 = lengths.iter().map(|length| 1.0 / length).sum();
            let several = lengths.len() > 1;
            Some((1.0 / rate, several, lengths.into_iter().fold(f64::INFINITY, f64::min)))
        };
        let (Some((alone, several, _)), Some((.., one)), Some((.., two))) =
            (said(0.0), said(1.0), said(2.0))
        else {
            return "with these rules the run length has no finite average".to_owned();
        };
        let about = if several { "one in at least" } else { "one in" };
        format!(
            "false alarms: {about} {alone:.0} results while nothing is wrong; a shift of 1 s is found \
             after {one:.0} results on average, of 2 s after {two:.1}"
        )
    }
}

/// A setting of a chart with a memory.
fn setting(typed: &str) -> Option<Decimal> {
    let value = stonewear_measure::read(typed).ok()?.normalize();
    (value >= Decimal::new(1, 2) && value <= Decimal::TEN).then_some(value)
}

fn words_of(number: usize) -> &'static str {
    match number {
        1 => "one result beyond the action limit (3 s)",
        2 => "two of three beyond the warning limit (2 s) on one side",
        3 => "four of five beyond 1 s on one side",
        _ => "eight in a row on one side of the centre",
    }
}

/// What a rule says at the point that completes it.
pub(super) fn signal_words(number: usize) -> &'static str {
    match number {
        1 => "beyond the action limit",
        2 => "two of three beyond the warning limit",
        3 => "four of five beyond 1 s",
        _ => "eight in a row on one side",
    }
}

impl Lab {
    /// The rules that charts are judged by.
    pub fn control_rules(&self) -> Rules {
        let value = self.policy(Policy::ControlRules).value;
        Rules::read(value).unwrap_or_else(|| Rules { run_rules: vec![1, 2], memory: None })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rules_read_back_as_they_are_kept() {
        for (typed, kept) in [
            ("1", Some("1")),
            ("2 1", Some("1 2")),
            ("1 2 3 4", Some("1 2 3 4")),
            ("1 ewma 0.2 3", Some("1 ewma 0.2 3")),
            ("ewma 0,3 3.0", Some("ewma 0.3 3")),
            ("1 cusum 0.5 5", Some("1 cusum 0.5 5")),
            ("", None),
            ("5", None),
            ("1 1", None),
            ("ewma", None),
            ("ewma 0.2", None),
            ("ewma 1.2 3", None),
            ("cusum 0.5 5 1", None),
            ("1 2 often", None),
        ] {
            let read = Rules::read(typed);
            assert_eq!(read.map(|rules| rules.text()).as_deref(), kept, "{typed}");
        }
    }

    /// Champ and Woodall, Technometrics 29 (1987) 393-399, table 1: rules 1 and 2 together 225.44, rule
    /// 1 alone 370.40, all four 91.75 (from memory, unconfirmed; recomputed here).
    #[test]
    fn the_false_alarms_are_those_of_the_published_table() {
        for (rules, published) in [("1", 370.40), ("1 2", 225.44), ("1 2 3 4", 91.75)] {
            let lengths = Rules::read(rules).unwrap().run_lengths(0.0).unwrap();
            assert!((lengths[0] - published).abs() < 0.02, "{rules}: {lengths:?}");
        }
        let words = Rules::read("1 2").unwrap().run_lengths_in_words();
        assert!(words.starts_with("false alarms: one in 225 results"), "{words}");
    }
}
