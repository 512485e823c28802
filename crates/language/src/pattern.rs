//! A message with holes: where its words stand in a text, and what stands in the holes.

use std::cell::Cell;

/// Inline elements stand in a text as single characters of a private plane: three for each, so that
/// a text is compared without looking into markup.
const FIRST: u32 = 0xF_0000;
const LAST: u32 = 0xF_FFFD;

/// What a private character stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Tag {
    /// An inline element begins.
    Opens(u32),
    /// It ends.
    Closes(u32),
    /// Something that is taken as it is: a code, an element that is not to be translated.
    Whole(u32),
}

impl Tag {
    /// As many elements as a text can hold.
    pub(crate) const MOST: u32 = (LAST - FIRST) / 3;

    pub(crate) fn of(c: char) -> Option<Self> {
        let offset = u32::from(c).checked_sub(FIRST).filter(|_| u32::from(c) <= LAST)?;
        let number = offset / 3;
        Some(match offset % 3 {
            0 => Self::Opens(number),
            1 => Self::Closes(number),
            _ => Self::Whole(number),
        })
    }

    pub(crate) fn number(self) -> u32 {
        match self {
            Self::Opens(number) | Self::Closes(number) | Self::Whole(number) => number,
        }
    }

    pub(crate) fn with(self, number: u32) -> Self {
        match self {
            Self::Opens(_) => Self::Opens(number),
            Self::Closes(_) => Self::Closes(number),
            Self::Whole(_) => Self::Whole(number),
        }
    }

    pub(crate) fn char(self) -> char {
        let kind = match self {
            Self::Opens(_) => 0,
            Self::Closes(_) => 1,
            Self::Whole(_) => 2,
        };
        char::from_u32(FIRST + self.number() * 3 + kind).unwrap_or('\u{FFFD}')
    }
}

/// A part of a message.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Part {
    /// Words, and inline elements that the message names: `<1>…</1>`.
    Words(String),
    /// A hole, by its name.
    Hole(String),
}

/// Reads `Made by <1>{person}</1> on {day}`.
///
/// # Errors
/// In words, when a hole or an element is not closed.
pub(crate) fn read(message: &str) -> Result<Vec<Part>, String> {
    let mut parts = Vec::new();
    let mut words = String::new();
    let mut open = Vec::new();
    let mut rest = message;
    while let Some(c) = rest.chars().next() {
        if c == '{' {
            let (name, after) =
                rest[1..].split_once('}').ok_or_else(|| "a hole is not closed".to_owned())?;
            if name.is_empty() || !name.chars().all(|c| c.is_ascii_alphanumeric() || c == '_') {
                return Err(format!("“{name}” is not the name of a hole"));
            }
            if !words.is_empty() {
                parts.push(Part::Words(std::mem::take(&mut words)));
            }
            parts.push(Part::Hole(name.to_owned()));
            rest = after;
        } else if let Some((tag, after)) = element(rest) {
            match tag {
                Tag::Opens(number) => open.push(number),
                _ if open.pop() == Some(tag.number()) => {}
                _ => return Err(format!("the element {} is closed but not open", tag.number())),
            }
            words.push(tag.char());
            rest = after;
        } else {
            words.push(c);
            rest = &rest[c.len_utf8()..];
        }
    }
    if !open.is_empty() {
        return Err(format!("the element {} is not closed", open[0]));
    }
    if !words.is_empty() {
        parts.push(Part::Words(words));
    }
    Ok(parts)
}

/// Holds that a message can be found in a text: something stands between its holes.
///
/// # Errors
/// In words, when two holes touch.
pub(crate) fn can_be_found(message: &[Part]) -> Result<(), String> {
    match message.windows(2).find(|pair| matches!(pair, [Part::Hole(_), Part::Hole(_)])) {
        Some([_, Part::Hole(name)]) => {
            Err(format!("nothing stands between {{{name}}} and the hole before it"))
        }
        _ => Ok(()),
    }
}

/// `<1>` or `</1>` at the front, and what follows.
fn element(text: &str) -> Option<(Tag, &str)> {
    let (inner, after) = text.strip_prefix('<')?.split_once('>')?;
    let (number, closes) = match inner.strip_prefix('/') {
        Some(number) => (number, true),
        None => (inner, false),
    };
    let number: u32 = number.parse().ok().filter(|number| *number < Tag::MOST)?;
    Some((if closes { Tag::Closes(number) } else { Tag::Opens(number) }, after))
}

/// What stands in the holes of a message, and which elements of the text its elements are.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(crate) struct Found<'t> {
    pub(crate) holes: Vec<(String, &'t str)>,
    pub(crate) elements: Vec<(u32, u32)>,
}

/// Finds the message in the whole of `text`, as long as there are `tries` left.
pub(crate) fn find<'t>(parts: &[Part], text: &'t str, tries: &Cell<u32>) -> Option<Found<'t>> {
    let mut found = Found::default();
    go_on(parts, text, &mut found, tries).then_some(found)
}

fn go_on<'t>(parts: &[Part], text: &'t str, found: &mut Found<'t>, tries: &Cell<u32>) -> bool {
    let Some(left) = tries.get().checked_sub(1) else { return false };
    tries.set(left);
    match parts {
        [] => text.is_empty(),
        [Part::Words(words), rest @ ..] => {
            let elements = found.elements.len();
            if let Some(after) = words_at(words, text, &mut found.elements)
                && go_on(rest, after, found, tries)
            {
                return true;
            }
            found.elements.truncate(elements);
            false
        }
        [Part::Hole(name), rest @ ..] => {
            let mut ends: Vec<usize> = if rest.is_empty() {
                vec![text.len()]
            } else {
                text.char_indices().map(|(at, _)| at).collect()
            };
            // A hole before the last words reaches as far as it can, so that “{what}: {why}” cuts
            // at the first colon and “{name} is held” at the last words.
            if matches!(rest, [Part::Words(_)]) {
                ends.reverse();
            }
            for end in ends {
                let piece = &text[..end];
                // Nothing stands in a hole only between quotation marks: nothing was typed.
                let is_quoted = matches!(rest, [Part::Words(words), ..] if words.starts_with('”'));
                // What is quoted ends at the first mark that closes it.
                if is_quoted && piece.contains('”')
                    || !(fits(name, piece) || piece.is_empty() && is_quoted)
                {
                    continue;
                }
                // The same hole twice says the same twice.
                if found.holes.iter().any(|(known, held)| known == name && *held != piece) {
                    continue;
                }
                let holes = found.holes.len();
                found.holes.push((name.clone(), piece));
                if go_on(rest, &text[end..], found, tries) {
                    return true;
                }
                found.holes.truncate(holes);
            }
            false
        }
    }
}

/// What follows `words` in the text, if they stand at its front.
fn words_at<'t>(words: &str, text: &'t str, elements: &mut Vec<(u32, u32)>) -> Option<&'t str> {
    let mut rest = text.chars();
    for wanted in words.chars() {
        let is = rest.next()?;
        match (Tag::of(wanted), Tag::of(is)) {
            (None, None) => {
                // What keeps a number and its unit together is a space to a message.
                let is = if matches!(is, '\u{a0}' | '\u{202f}') { ' ' } else { is };
                let wanted = if matches!(wanted, '\u{a0}' | '\u{202f}') { ' ' } else { wanted };
                if is != wanted {
                    return None;
                }
            }
            (Some(wanted), Some(is)) if wanted.with(0) == is.with(0) => {
                match elements.iter().find(|(known, _)| *known == wanted.number()) {
                    Some((_, number)) if *number == is.number() => {}
                    Some(_) => return None,
                    None => elements.push((wanted.number(), is.number())),
                }
            }
            _ => return None,
        }
    }
    Some(rest.as_str())
}

/// Whether a piece may stand in the hole: elements in it are whole, and a hole named for a number, a
/// day or a code holds one.
fn fits(name: &str, piece: &str) -> bool {
    let mut open = Vec::new();
    for tag in piece.chars().filter_map(Tag::of) {
        match tag {
            Tag::Opens(number) => open.push(number),
            Tag::Closes(number) if open.pop() == Some(number) => {}
            Tag::Closes(_) => return false,
            Tag::Whole(_) => {}
        }
    }
    let kind = name.trim_end_matches(|c: char| c.is_ascii_digit());
    open.is_empty()
        && !piece.trim().is_empty()
        && (is_slot(piece)
            || match kind {
                "number" => {
                    piece.contains(|c: char| c.is_ascii_digit())
                        && piece.chars().all(|c| c.is_ascii_digit() || ".,+-−\u{a0} ".contains(c))
                }
                // An instant in figures (ISO 8601), within the element of a time or without.
                "day" => {
                    piece.contains(|c: char| c.is_ascii_digit())
                        && piece.chars().all(|c| {
                            c.is_ascii_digit() || "-: TZ.".contains(c) || Tag::of(c).is_some()
                        })
                }
                "code" => {
                    let plain = piece.trim();
                    !plain.contains(char::is_whitespace)
                        && plain
                            .chars()
                            .any(|c| c.is_ascii_digit() || c.is_uppercase() || Tag::of(c).is_some())
                }
                _ => true,
            })
}

/// Whether a text is a slot that the script fills in later: `{number}`.
pub(crate) fn is_slot(text: &str) -> bool {
    text.trim()
        .strip_prefix('{')
        .and_then(|rest| rest.strip_suffix('}'))
        .is_some_and(|name| !name.is_empty() && name.bytes().all(|byte| byte.is_ascii_lowercase()))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn find<'t>(message: &[Part], text: &'t str) -> Option<Found<'t>> {
        super::find(message, text, &Cell::new(10_000))
    }

    #[test]
    fn a_text_that_takes_too_long_to_look_through_is_left() {
        let message = read("{a} a {b} a {c} a {d} a {e} a z").unwrap();
        let text = "a ".repeat(400);
        assert_eq!(super::find(&message, &text, &Cell::new(10_000)), None);
    }

    fn holes<'t>(message: &str, text: &'t str) -> Option<Vec<(String, &'t str)>> {
        find(&read(message).unwrap(), text).map(|found| found.holes)
    }

    #[test]
    fn a_message_is_found_with_what_stands_in_its_holes() {
        for (message, text, expected) in [
            ("Benches", "Benches", Some(vec![])),
            ("Benches", "Benches now", None),
            ("Step {number} of {number2}", "Step 3 of 12", Some(vec!["3", "12"])),
            ("Step {number} of {number2}", "Step by step of 12", None),
            ("{what}: {why}", "ball charge: due: soon", Some(vec!["ball charge", "due: soon"])),
            ("{name} is held", "What is held is held", Some(vec!["What is held"])),
            ("{name} is held", " is held", None),
            ("{code} is not here", "S26-014 is not here", Some(vec!["S26-014"])),
            ("{code} is not here", "the jar is not here", None),
            ("{name} and {name}", "now and now", Some(vec!["now", "now"])),
            ("{name} and {name}", "now and then", None),
            ("until {day}", "until 2026-11-26", Some(vec!["2026-11-26"])),
            ("until {day}", "until then", None),
            ("{day} to {day2}", "It must be from 3 to 7", None),
            // What the script fills in later may stand in any hole.
            ("{number} entries wait", "{number} entries wait", Some(vec!["{number}"])),
            ("“{typed}” is no day", "“” is no day", Some(vec![""])),
            ("tier “{tier}”", "tier “upper” and tier “lower”", None),
            ("{loss} %", "18.2\u{a0}%", Some(vec!["18.2"])),
        ] {
            let found = holes(message, text)
                .map(|holes| holes.into_iter().map(|(_, held)| held).collect::<Vec<_>>());
            assert_eq!(found, expected, "{message} in {text}");
        }
    }

    #[test]
    fn an_element_of_a_message_is_the_one_that_stands_there() {
        let (open, close) = (Tag::Opens(7).char(), Tag::Closes(7).char());
        let text = format!("Made by {open}IK{close} today");
        let message = read("Made by <1>{person}</1> today").unwrap();
        let found = find(&message, &text).unwrap();
        assert_eq!(found.elements, [(1, 7)]);
        assert_eq!(found.holes, [("person".to_owned(), "IK")]);
        // A hole never cuts an element in two.
        assert!(fits("person", &format!("{open}IK{close}")));
        assert!(!fits("person", &format!("{open}IK")) && !fits("person", &format!("IK{close}")));
        assert_eq!(holes("Made by {person}K{rest}", &text), None);
    }

    #[test]
    fn a_message_that_cannot_be_meant_says_why() {
        for (message, why) in [
            ("Step {number", "not closed"),
            ("{two words}", "not the name"),
            ("<1>open", "not closed"),
            ("</1>", "not open"),
        ] {
            let error = read(message).unwrap_err();
            assert!(error.contains(why), "{message}: {error}");
        }
        let touching = read("{a}{b} turns").unwrap();
        assert!(can_be_found(&touching).unwrap_err().contains("between {b}"));
        assert_eq!(can_be_found(&read("{a}, {b}").unwrap()), Ok(()));
    }
}
