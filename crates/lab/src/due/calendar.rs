//! The list as a calendar that any program can subscribe to (iCalendar, RFC 5545).
//!
//! It is made from the state alone: the stamp of an event is the time of the fact that its day
//! follows from, and its sequence that fact's place in the journal; where a policy was decided
//! after it, which can move every day, the policy's. So it is the same text until something is
//! recorded, and a program that asks again sees the same event on its new day.
//!
//! Days are days by the laboratory's calendar (`VALUE=DATE`); instants are written in universal
//! time, so that no change to or from summer time can move them.

use super::{Due, Sure, When};
use crate::state::Lab;
use jiff::Timestamp;
use jiff::civil::Date;

/// The longest line, in octets without its end (RFC 5545, 3.1).
const LONGEST_LINE: usize = 75;
/// How long before its day a reminder comes, where the day is known beforehand.
const REMIND_BEFORE: &str = "-P7D";

/// The calendar of these duties. What has no day, such as what falls due after more samples, is
/// not in it. `base` is the address of the laboratory's page, like `http://bench:7007`; it may be
/// empty, then events carry no address.
pub fn calendar(lab: &Lab, due: &[Due], base: &str) -> String {
    let name = lab.identity.as_ref().map_or("", |identity| identity.name.as_str());
    let title = format!("Due at {name}");
    let mut text = Lines::default();
    text.line("BEGIN", "VCALENDAR");
    text.line("VERSION", "2.0");
    text.line("PRODID", "-//Stonewear//Due//EN");
    text.line("CALSCALE", "GREGORIAN");
    // The name by RFC 7986, and by the older custom that most programs follow.
    text.line("NAME", &escaped(&title));
    text.line("X-WR-CALNAME", &escaped(&title));
    text.line("REFRESH-INTERVAL;VALUE=DURATION", "PT6H");
    let events: Vec<&Due> = due.iter().filter(|due| due.day(lab).is_some()).collect();
    if events.is_empty() {
        // A calendar must hold something (3.6): the time zone that its instants are written in.
        for line in ["BEGIN:VTIMEZONE", "TZID:UTC", "BEGIN:STANDARD", "DTSTART:19700101T000000"] {
            text.whole(line);
        }
        for line in ["TZOFFSETFROM:+0000", "TZOFFSETTO:+0000", "END:STANDARD", "END:VTIMEZONE"] {
            text.whole(line);
        }
    }
    for due in events {
        event(&mut text, lab, due, &slug(name), base.trim_end_matches('/'));
    }
    text.line("END", "VCALENDAR");
    text.0
}

fn event(text: &mut Lines, lab: &Lab, due: &Due, laboratory: &str, base: &str) {
    text.line("BEGIN", "VEVENT");
    text.line("UID", &escaped(&format!("{}@{laboratory}", due.key)));
    let decided = lab.policies.values().flatten().map(|one| (one.position, one.at));
    let (position, noted) =
        decided.chain([(due.position, due.noted)]).max().unwrap_or((due.position, due.noted));
    text.line("DTSTAMP", &instant(noted));
    text.line("LAST-MODIFIED", &instant(noted));
    text.line("SEQUENCE", &position.to_string());
    match (due.when, due.day(lab)) {
        (When::At { at }, _) => text.line("DTSTART", &instant(at)),
        (_, Some(date)) => text.line("DTSTART;VALUE=DATE", &day(date)),
        (_, None) => {}
    }
    text.line("SUMMARY", &escaped(&due.what));
    let sure = match &due.sure {
        Sure::Certain => String::new(),
        Sure::Forecast { basis } => format!("\nForecast: {basis}"),
    };
    text.line("DESCRIPTION", &escaped(&format!("{}{sure}\n{}", due.why, due.path)));
    if !base.is_empty() {
        text.line("URL", &format!("{base}{}", due.path));
    }
    text.line("CATEGORIES", &escaped(due.kind.in_words()));
    // It is no appointment: nobody is busy all that day.
    text.line("TRANSP", "TRANSPARENT");
    if matches!(due.when, When::Day { .. } | When::NextTest { .. }) {
        text.line("BEGIN", "VALARM");
        text.line("ACTION", "DISPLAY");
        text.line("DESCRIPTION", &escaped(&due.what));
        text.line("TRIGGER", REMIND_BEFORE);
        text.line("END", "VALARM");
    }
    text.line("END", "VEVENT");
}

fn instant(at: Timestamp) -> String {
    at.strftime("%Y%m%dT%H%M%SZ").to_string()
}

fn day(day: Date) -> String {
    day.strftime("%Y%m%d").to_string()
}

/// A text as RFC 5545 writes it (3.3.11): control characters cannot be written at all.
fn escaped(text: &str) -> String {
    let mut written = String::with_capacity(text.len());
    for letter in text.replace("\r\n", "\n").chars() {
        match letter {
            '\\' | ';' | ',' => {
                written.push('\\');
                written.push(letter);
            }
            '\n' => written.push_str("\\n"),
            control if control.is_control() => written.push(' '),
            other => written.push(other),
        }
    }
    written
}

/// A name as a part of an identifier: letters and digits, else `-`.
fn slug(name: &str) -> String {
    let plain: String = name
        .to_lowercase()
        .chars()
        .map(|letter| if letter.is_alphanumeric() { letter } else { '-' })
        .collect();
    let parts: Vec<&str> = plain.split('-').filter(|part| !part.is_empty()).collect();
    if parts.is_empty() { "laboratory".to_owned() } else { parts.join("-") }
}

/// Lines that end with CR LF and are folded where they are too long.
#[derive(Default)]
struct Lines(String);

impl Lines {
    fn line(&mut self, name: &str, value: &str) {
        self.whole(&format!("{name}:{value}"));
    }

    /// A line; the rest of a long one goes on after a space, never within a character.
    fn whole(&mut self, line: &str) {
        let mut length = 0;
        for letter in line.chars() {
            if length + letter.len_utf8() > LONGEST_LINE {
                self.0.push_str("\r\n ");
                length = 1;
            }
            self.0.push(letter);
            length += letter.len_utf8();
        }
        self.0.push_str("\r\n");
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn long_lines_are_folded_between_characters() {
        for text in ["a".repeat(300), "°".repeat(120), "日".repeat(77), String::new()] {
            let mut lines = Lines::default();
            lines.line("SUMMARY", &text);
            assert!(lines.0.ends_with("\r\n"));
            for line in lines.0.trim_end_matches("\r\n").split("\r\n") {
                assert!(line.len() <= LONGEST_LINE, "{line}");
            }
            let unfolded = lines.0.replace("\r\n ", "");
            assert_eq!(unfolded, format!("SUMMARY:{text}\r\n"));
        }
    }

    #[test]
    fn texts_are_escaped() {
        for (text, written) in [
            ("a,b;c\\d", "a\\,b\\;c\\\\d"),
            ("one\ntwo\r\nthree", "one\\ntwo\\nthree"),
            ("bell\u{7}", "bell "),
            ("BEGIN:VEVENT", "BEGIN:VEVENT"),
        ] {
            assert_eq!(escaped(text), written);
        }
        for (name, part) in [("Brae & Sons, Lab 2", "brae-sons-lab-2"), ("", "laboratory")] {
            assert_eq!(slug(name), part);
        }
    }
}
