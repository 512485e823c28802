//! Days as people write them.

use jiff::civil::Date;
use std::fmt;
use std::str::FromStr;
use thiserror::Error;

/// Which comes first in a day like 03/04/2025.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DayOrder {
    /// 03/04/2025 is the 3rd of April.
    DayFirst,
    /// 03/04/2025 is the 4th of March.
    MonthFirst,
}

impl fmt::Display for DayOrder {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::DayFirst => "day-first",
            Self::MonthFirst => "month-first",
        })
    }
}

/// A text that names no order.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("“{0}” is not an order of day and month; write day-first or month-first")]
pub struct UnknownOrder(String);

impl FromStr for DayOrder {
    type Err = UnknownOrder;
    fn from_str(text: &str) -> Result<Self, UnknownOrder> {
        match text {
            "day-first" => Ok(Self::DayFirst),
            "month-first" => Ok(Self::MonthFirst),
            other => Err(UnknownOrder(other.to_owned())),
        }
    }
}

/// Names of the months by their first letters, in the languages of the standards.
const MONTHS: [&[&str]; 12] = [
    &["jan", "ene"],
    &["feb", "fév", "fev"],
    &["mar", "mär", "mrz"],
    &["apr", "avr", "abr"],
    &["may", "mai"],
    &["jun", "juin"],
    &["jul", "juil"],
    &["aug", "aoû", "aou", "ago"],
    &["sep"],
    &["oct", "okt"],
    &["nov"],
    &["dec", "dez", "déc", "dic"],
];

/// Years of two digits are of this century, or of the last from here on.
const LAST_CENTURY_FROM: i16 = 70;

/// What a text says of a day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Said {
    /// One day and no other.
    Day(Date),
    /// Two numbers whose order is open, and a year.
    Open(i8, i8, i16),
    /// No day.
    Nothing,
}

/// What a text says: `2025-03-14`, `2025/3/14`, `14.03.2025`, `14/03/25`, `14 March 2025`,
/// `Mar 14, 2025`; a time of the day behind it is passed over.
pub(super) fn said(text: &str) -> Said {
    let text = text.trim();
    let day = match text.split_once(['T', ' ']) {
        // A clock time holds a colon.
        Some((day, time)) if time.contains(':') && day.contains(|c: char| c.is_ascii_digit()) => {
            day
        }
        _ => text,
    };
    let parts: Vec<&str> =
        day.split(['-', '/', '.', ' ', ',']).filter(|part| !part.is_empty()).collect();
    let [first, second, third] = parts.as_slice() else { return Said::Nothing };
    let number = |part: &str| part.parse::<i16>().ok().filter(|number| *number >= 0);
    let date = |year: i16, month: i16, day: i16| {
        let (month, day) = (i8::try_from(month).ok(), i8::try_from(day).ok());
        let date = month.zip(day).and_then(|(month, day)| Date::new(year, month, day).ok());
        date.map_or(Said::Nothing, Said::Day)
    };
    match (number(first), number(second), number(third)) {
        (Some(year), Some(month), Some(day)) if first.len() == 4 => date(year, month, day),
        (Some(day), Some(month), Some(year)) => {
            let Some(year) = full(year, third.len()) else { return Said::Nothing };
            if text.contains('.') || day > 12 || day == month {
                // With points the day comes first in every language that writes so.
                return date(year, month, day);
            }
            if month > 12 {
                return date(year, day, month);
            }
            match (i8::try_from(day), i8::try_from(month)) {
                (Ok(day), Ok(month)) if day > 0 && month > 0 => Said::Open(day, month, year),
                _ => Said::Nothing,
            }
        }
        (Some(day), None, Some(year)) => match (month_named(second), full(year, third.len())) {
            (Some(month), Some(year)) => date(year, month, day),
            _ => Said::Nothing,
        },
        (None, Some(day), Some(year)) => match (month_named(first), full(year, third.len())) {
            (Some(month), Some(year)) => date(year, month, day),
            _ => Said::Nothing,
        },
        _ => Said::Nothing,
    }
}

fn full(year: i16, digits: usize) -> Option<i16> {
    match digits {
        4 => Some(year),
        2 if year >= LAST_CENTURY_FROM => Some(1900 + year),
        2 => Some(2000 + year),
        _ => None,
    }
}

fn month_named(word: &str) -> Option<i16> {
    let word = word.to_lowercase();
    let named = |names: &&[&str]| names.iter().any(|name| word.starts_with(name));
    MONTHS.iter().position(named).and_then(|place| i16::try_from(place + 1).ok())
}

/// The order that a column shows of itself, where it does: one day of it can be read in one way
/// only. Days written with points, names or the year first show nothing of the others.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(super) struct Shown {
    pub(super) day_first: bool,
    pub(super) month_first: bool,
    pub(super) open: bool,
}

impl Shown {
    pub(super) fn look(&mut self, text: &str) {
        let numbers: Vec<i16> =
            text.split(['/', '-']).filter_map(|part| part.trim().parse().ok()).collect();
        match numbers.as_slice() {
            [first, second, _] if *first <= 31 && *first > 12 && *second <= 12 => {
                self.day_first = true;
            }
            [first, second, _] if *second > 12 && *first <= 12 => self.month_first = true,
            _ => {}
        }
        self.open |= matches!(said(text), Said::Open(..));
    }
}

/// The day in ISO 8601, or the text itself where it says none.
pub(super) fn iso(text: &str, order: Option<DayOrder>) -> String {
    let day = match (said(text), order) {
        (Said::Day(day), _) => Some(day),
        (Said::Open(day, month, year), Some(DayOrder::DayFirst)) => {
            Date::new(year, month, day).ok()
        }
        (Said::Open(month, day, year), Some(DayOrder::MonthFirst)) => {
            Date::new(year, month, day).ok()
        }
        _ => None,
    };
    day.map_or_else(|| text.to_owned(), |day| day.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_are_read_in_the_styles_of_the_trade() {
        for text in [
            "2025-03-14",
            "2025/3/14",
            "14.03.2025",
            "14.3.25",
            "14/03/2025",
            "3/14/2025",
            "14 March 2025",
            "14-Mar-25",
            "Mar 14, 2025",
            "14 mars 2025",
            "14. März 2025",
            "2025-03-14T08:30:00",
            "14.03.2025 08:30",
        ] {
            assert_eq!(iso(text, None), "2025-03-14", "{text}");
        }
        assert_eq!(iso("03/04/2025", Some(DayOrder::DayFirst)), "2025-04-03");
        assert_eq!(iso("03/04/2025", Some(DayOrder::MonthFirst)), "2025-03-04");
        assert_eq!(iso("04/04/2025", None), "2025-04-04");
        assert_eq!(iso("14.03.98", None), "1998-03-14");
        for text in
            ["03/04/2025", "31.02.2025", "14.03.125", "yesterday", "", "1/2", "14.8", "45678"]
        {
            assert_eq!(iso(text, None), text);
        }
    }

    #[test]
    fn a_column_shows_its_order_or_leaves_it_open() {
        let shown = |cells: &[&str]| {
            let mut shown = Shown::default();
            cells.iter().for_each(|cell| shown.look(cell));
            (shown.day_first, shown.month_first, shown.open)
        };
        assert_eq!(shown(&["03/04/2025", "14/03/2025"]), (true, false, true));
        assert_eq!(shown(&["03/04/2025", "03/14/2025"]), (false, true, true));
        assert_eq!(shown(&["03/04/2025"]), (false, false, true));
        assert_eq!(shown(&["2025-03-14", "14.03.2025"]), (false, false, false));
    }
}
