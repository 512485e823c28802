//! Quoted texts of a PO file, looked at before the reader of the format takes them apart: it trusts that
//! each is closed on its line.

/// The first line, from 1, whose quoted text is not closed on it.
pub(crate) fn unclosed(po: &str) -> Option<usize> {
    let is_unclosed = |line: &str| {
        let quoted = match line.as_bytes().first() {
            Some(b'm') => line.split_once(' ').map(|(_, quoted)| quoted),
            Some(b'"') => Some(line),
            _ => None,
        };
        quoted.is_some_and(|quoted| {
            quoted.len() < 2 || !quoted.starts_with('"') || !quoted.ends_with('"')
        })
    };
    po.lines().position(is_unclosed).map(|before| before + 1)
}

#[cfg(test)]
mod tests {
    use super::unclosed;
    use crate::{Catalogue, Language};

    /// Found by hostile input: each of these made the reader of the format panic.
    #[test]
    fn a_text_that_is_not_closed_is_named_by_its_line() {
        for (po, line) in [
            ("msgid \"\"\nmsgstr \"\"\n\"\n", Some(3)),
            ("msgid \"", Some(1)),
            ("msgid ", Some(1)),
            ("msgid \"\"\nmsgstr é", Some(2)),
            ("msgid \"a\"\nmsgstr \"b", Some(2)),
            ("# \"\n\nmsgid \"a\"\n\"b\"\nmsgstr \"\"\n", None),
        ] {
            assert_eq!(unclosed(po), line, "{po}");
            let read = Catalogue::read(Language::French, po);
            if let Some(line) = line {
                let error = read.unwrap_err().to_string();
                assert!(error.contains(&format!("line {line}: a text is not closed")), "{error}");
            }
        }
    }
}
