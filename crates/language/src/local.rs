//! Numbers and days as a language writes them.

use crate::Language;

/// Units after which a number is a reading, not the number of a clause or a version.
const UNITS: [&str; 24] = [
    "%", "g", "kg", "mm", "cm", "m", "ml", "mL", "l", "L", "µm", "°C", "°", "h", "min", "s",
    "r/min", "rpm", "kPa", "g/cm³", "kg/m³", "Mg/m³", "points", "pt",
];

/// The text with its readings and days written as the language writes them.
///
/// A number gets a decimal comma where it is all that the text says, or where a unit or a `±` tells
/// that it is a reading: “clause 7.8” stays. A day of ISO 8601 gets its month as a word, so that
/// nobody takes the day for the month.
pub(crate) fn localised(text: &str, language: Language) -> String {
    if language == Language::English {
        return text.to_owned();
    }
    let all = text
        .trim()
        .chars()
        .all(|c| c.is_ascii_digit() || " .,;/()%‰±+-−–×x\u{a0}\u{202f}".contains(c));
    let mut out = String::with_capacity(text.len());
    let mut rest = text;
    let mut before = None;
    while let Some(at) = rest.find(|c: char| c.is_ascii_digit()) {
        let (head, tail) = rest.split_at(at);
        out.push_str(head);
        before = head.chars().next_back().or(before);
        // A digit that belongs to a word or a code is not a number.
        let within = before.is_some_and(|c| c.is_alphanumeric() || c == '_');
        if let (false, Some((day, left))) = (within, iso_day(tail)) {
            out.push_str(&written_day(day, language));
            rest = left;
            before = Some('0');
            continue;
        }
        let end = tail.find(|c: char| !c.is_ascii_digit() && c != '.').unwrap_or(tail.len());
        let number = tail[..end].trim_end_matches('.');
        let after = &tail[number.len()..];
        let is_decimal = number.matches('.').count() == 1 && !number.starts_with('.');
        let joined = after.starts_with(|c: char| c.is_alphanumeric() && !c.is_ascii_digit())
            && !has_unit(after);
        if is_decimal && !within && !joined && (all || has_unit(after) || follows_sign(head)) {
            out.push_str(&number.replace('.', ","));
        } else {
            out.push_str(number);
        }
        rest = after;
        before = Some('0');
    }
    out.push_str(rest);
    out
}

fn follows_sign(head: &str) -> bool {
    head.trim_end().ends_with(['±', '≤', '≥', '='])
}

/// Whether a unit follows, or another number of a range whose unit follows.
fn has_unit(after: &str) -> bool {
    // “13.6849… %”: digits that go on.
    let after = after.trim_start_matches(['…', ' ', '\u{a0}', '\u{202f}']);
    let unit = UNITS.iter().any(|unit| {
        after
            .strip_prefix(unit)
            .is_some_and(|rest| !rest.starts_with(|c: char| c.is_alphanumeric()))
    });
    // “17.8 to 19.2 %”, “± 0.3 %”.
    let other = ["to ", "– ", "–", "± ", "and ", "+ ", "− "]
        .iter()
        .find_map(|word| after.strip_prefix(word));
    unit || other.is_some_and(|rest| {
        let number = rest.find(|c: char| !c.is_ascii_digit() && c != '.').unwrap_or(rest.len());
        number > 0 && has_unit(&rest[number..])
    })
}

/// `2026-11-26` at the front, and what follows.
fn iso_day(text: &str) -> Option<((&str, u8, u8), &str)> {
    let day = text.get(..10)?;
    let left = &text[10..];
    let bytes = day.as_bytes();
    let shaped = bytes.iter().enumerate().all(|(at, byte)| match at {
        4 | 7 => *byte == b'-',
        _ => byte.is_ascii_digit(),
    });
    // An instant such as 2026-11-26T08:00Z is for machines.
    let ends = !left.starts_with(|c: char| c.is_alphanumeric() || c == '-');
    let month: u8 = day.get(5..7)?.parse().ok()?;
    let of_month: u8 = day.get(8..10)?.parse().ok()?;
    (shaped && ends && (1..=12).contains(&month) && (1..=31).contains(&of_month))
        .then_some(((day.get(..4)?, month, of_month), left))
}

fn written_day((year, month, day): (&str, u8, u8), language: Language) -> String {
    const FRENCH: [&str; 12] = [
        "janv.", "févr.", "mars", "avr.", "mai", "juin", "juil.", "août", "sept.", "oct.", "nov.",
        "déc.",
    ];
    const SPANISH: [&str; 12] =
        ["ene", "feb", "mar", "abr", "may", "jun", "jul", "ago", "sept", "oct", "nov", "dic"];
    const GERMAN: [&str; 12] = [
        "Jan.", "Feb.", "März", "Apr.", "Mai", "Juni", "Juli", "Aug.", "Sept.", "Okt.", "Nov.",
        "Dez.",
    ];
    let months = match language {
        Language::English => return format!("{year}-{month:02}-{day:02}"),
        Language::French => FRENCH,
        Language::Spanish => SPANISH,
        Language::German => GERMAN,
    };
    let word = months[usize::from(month) - 1];
    let day = match (language, day) {
        (Language::German, day) => format!("{day}."),
        (Language::French, 1) => "1ᵉʳ".to_owned(),
        (_, day) => day.to_string(),
    };
    format!("{day}\u{a0}{word}\u{a0}{year}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_only_looks_like_a_day_stays() {
        for text in ["444°44444", "444°44-12", "2026-1126x", "°°26-11-26"] {
            assert!(iso_day(text).is_none(), "{text}");
        }
    }

    #[test]
    fn readings_get_the_decimal_mark_of_the_language_and_other_numbers_stay() {
        for (english, german) in [
            ("18.2", "18,2"),
            ("18.2 %", "18,2 %"),
            ("18.2\u{a0}%", "18,2\u{a0}%"),
            ("499.6 g", "499,6 g"),
            ("100 × 1 / 3 = 33.333… %", "100 × 1 / 3 = 33,333… %"),
            ("17.8 to 19.2 %", "17,8 to 19,2 %"),
            ("the loss is 18.2 % ± 0.4 %", "the loss is 18,2 % ± 0,4 %"),
            ("± 0.4", "± 0,4"),
            ("a factor of k = 2.13", "a factor of k = 2,13"),
            // Clauses, editions, versions, addresses and codes are no readings.
            ("ISO/IEC 17025:2017, clause 7.8 and 7.11", "ISO/IEC 17025:2017, clause 7.8 and 7.11"),
            ("EN 1097-1, 5.2", "EN 1097-1, 5.2"),
            ("Stonewear 0.1.0", "Stonewear 0.1.0"),
            ("127.0.0.1", "127.0.0.1"),
            ("S26-014", "S26-014"),
            ("v1.2g", "v1.2g"),
            // The end of a sentence is no decimal mark.
            ("It was 5. Then 6.", "It was 5. Then 6."),
            ("2026-11-26 08:30", "26.\u{a0}Nov.\u{a0}2026 08:30"),
            ("until 2026-03-01", "until 1.\u{a0}März\u{a0}2026"),
            ("2026-11-26T08:30:00Z", "2026-11-26T08:30:00Z"),
            ("2026-13-01", "2026-13-01"),
        ] {
            assert_eq!(localised(english, Language::German), german);
        }
    }

    #[test]
    fn a_day_has_its_month_as_a_word() {
        assert_eq!(localised("2026-04-01", Language::French), "1ᵉʳ\u{a0}avr.\u{a0}2026");
        assert_eq!(localised("2026-04-12", Language::Spanish), "12\u{a0}abr\u{a0}2026");
        assert_eq!(localised("2026-04-12", Language::English), "2026-04-12");
    }
}
