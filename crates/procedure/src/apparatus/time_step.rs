//! The resolution of a timer, in the unit that the machine shows.

use std::fmt;
use stonewear_measure::Decimal;
use thiserror::Error;

/// The unit that a timer shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TimeUnit {
    /// Seconds.
    Second,
    /// Minutes.
    Minute,
    /// Hours.
    Hour,
}

impl TimeUnit {
    /// Seconds in one.
    pub fn seconds(self) -> Decimal {
        match self {
            Self::Second => Decimal::ONE,
            Self::Minute => Decimal::from(60),
            Self::Hour => Decimal::from(3600),
        }
    }

    /// Its symbol: `s`, `min`, `h`.
    pub fn symbol(self) -> &'static str {
        match self {
            Self::Second => "s",
            Self::Minute => "min",
            Self::Hour => "h",
        }
    }
}

/// The smallest difference between two times that a timer can be set to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TimeStep {
    /// How many units.
    pub number: Decimal,
    /// The unit.
    pub unit: TimeUnit,
}

/// Why a text is not the resolution of a timer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
pub enum TimeStepError {
    /// Not a number and a unit.
    #[error("it is not a number and a unit")]
    Form,
    /// Nothing, or less.
    #[error("it is not more than 0")]
    NotPositive,
    /// Coarser than an hour.
    #[error("it is more than an hour")]
    TooCoarse,
}

impl TimeStep {
    /// Reads `1 min`, `30 s`, `0.1 h`.
    ///
    /// # Errors
    /// When the text is not a number with one of these units, or the step is not more than 0, or
    /// it is more than an hour, which could time no run of the trade.
    pub fn read(text: &str) -> Result<Self, TimeStepError> {
        let text = text.trim();
        let split = text.find(|c: char| c.is_ascii_alphabetic()).ok_or(TimeStepError::Form)?;
        let (number, unit) = text.split_at(split);
        let number = stonewear_measure::read(number).map_err(|_| TimeStepError::Form)?;
        let unit = match unit {
            "s" => TimeUnit::Second,
            "min" => TimeUnit::Minute,
            "h" => TimeUnit::Hour,
            _ => return Err(TimeStepError::Form),
        };
        if number <= Decimal::ZERO {
            return Err(TimeStepError::NotPositive);
        }
        if number * unit.seconds() > Decimal::from(3600) {
            return Err(TimeStepError::TooCoarse);
        }
        Ok(Self { number, unit })
    }

    /// The shortest time that can be set and is no shorter than `seconds`.
    pub fn at_least(self, seconds: Decimal) -> Self {
        let steps = (seconds / (self.number * self.unit.seconds())).ceil().max(Decimal::ONE);
        Self { number: (self.number * steps).normalize(), unit: self.unit }
    }

    /// How long it is, in seconds.
    pub fn seconds(self) -> Decimal {
        self.number * self.unit.seconds()
    }
}

/// `2 min`.
impl fmt::Display for TimeStep {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", self.number.normalize(), self.unit.symbol())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_run_is_a_whole_number_of_steps_in_the_unit_of_the_machine() {
        for (step, run) in [
            ("1 min", "2 min"),
            ("30 s", "120 s"),
            ("5min", "5 min"),
            ("7 s", "126 s"),
            ("0.1 h", "0.1 h"),
            ("0.01 h", "0.04 h"),
            ("1 h", "1 h"),
        ] {
            let step = TimeStep::read(step).unwrap();
            assert_eq!(step.at_least(Decimal::from(120)).to_string(), run, "{step}");
        }
    }

    #[test]
    fn what_is_not_a_step_is_refused() {
        for (text, error) in [
            ("", TimeStepError::Form),
            ("min", TimeStepError::Form),
            ("1", TimeStepError::Form),
            ("1 minute", TimeStepError::Form),
            ("0 min", TimeStepError::NotPositive),
            ("-1 min", TimeStepError::NotPositive),
            ("61 min", TimeStepError::TooCoarse),
        ] {
            assert_eq!(TimeStep::read(text), Err(error), "{text}");
        }
    }
}
