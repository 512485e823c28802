//! The lines of a PO file, looked at before the reader of the format takes them apart: it trusts that each
//! quoted text is closed on its line, and that something was begun before it goes on.

/// How a line begins that begins a part of a message.
const BEGINS: [&str; 9] =
    ["# ", "#. ", "#: ", "#, ", "msgctxt ", "msgid ", "msgid_plural ", "msgstr ", "msgstr["];

/// What is wrong with the first line that the reader could not stand, with its number from 1.
pub(crate) fn fault(po: &str) -> Option<String> {
    let mut is_begun = false;
    (1..).zip(po.lines()).find_map(|(number, line)| {
        let quoted = match line.as_bytes().first() {
            Some(b'm') => line.split_once(' ').map(|(_, quoted)| quoted),
            Some(b'"') => Some(line),
            _ => None,
        };
        let is_closed =
            |quoted: &str| quoted.len() >= 2 && quoted.starts_with('"') && quoted.ends_with('"');
        if quoted.is_some_and(|quoted| !is_closed(quoted)) {
            return Some(format!("line {number}: a text is not closed; end it with \""));
        }
        is_begun |= BEGINS.iter().any(|begins| line.starts_with(begins));
        let goes_on = line.starts_with('"') || line == "#";
        (goes_on && !is_begun).then(|| format!("line {number}: it goes on with what was not begun"))
    })
}

#[cfg(test)]
mod tests {
    use super::fault;
    use crate::{Catalogue, Language};

    /// Found by hostile input: each of these made the reader of the format panic.
    #[test]
    fn lines_that_the_reader_cannot_stand_are_named() {
        for (po, said) in [
            ("msgid \"\"\nmsgstr \"\"\n\"\n", "line 3: a text is not closed"),
            ("msgid \"", "line 1: a text is not closed"),
            ("msgid ", "line 1: a text is not closed"),
            ("msgid \"\"\nmsgstr é", "line 2: a text is not closed"),
            ("msgid \"a\"\nmsgstr \"b", "line 2: a text is not closed"),
            ("#\nmsgid \"\"\n", "line 1: it goes on with what was not begun"),
            ("#a\n\"text\"\n", "line 2: it goes on with what was not begun"),
            ("msgidea \"a\"\n\"text\"\n", "line 2: it goes on with what was not begun"),
        ] {
            let error = Catalogue::read(Language::French, po).unwrap_err().to_string();
            assert!(error.contains(said), "{po:?}: {error}");
        }
        assert_eq!(fault("# \"\n#\n\nmsgid \"a\"\n\"b\"\nmsgstr \"\"\n"), None);
    }
}
