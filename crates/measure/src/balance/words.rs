//! Cutting a print line into numbers, words and signs.

/// A part of a print line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Word {
    /// Digits with points and commas among them, with the sign that stood before.
    Number(String),
    /// Letters.
    Letters(String),
    /// Anything else.
    Sign(String),
}

impl Word {
    pub(super) fn as_text(&self) -> &str {
        let (Self::Number(text) | Self::Letters(text) | Self::Sign(text)) = self;
        text
    }
}

/// The words of a line, in order. A comma between two digits belongs to their number, also one
/// that begins a number of its own; any other comma, a colon or a space ends a word.
pub(super) fn words(line: &str) -> Vec<Word> {
    let line: Vec<char> = line.chars().map(|c| if c == '−' { '-' } else { c }).collect();
    let digit = |at: usize| line.get(at).is_some_and(char::is_ascii_digit);
    let mark = |at: usize| line.get(at).is_some_and(|c| ".,".contains(*c));
    let mut words: Vec<Word> = Vec::new();
    let mut at = 0;
    while at < line.len() {
        let from = at;
        let is_fresh = at == 0 || " +-".contains(line[at - 1]);
        if digit(at) || (mark(at) && digit(at + 1) && (is_fresh || line[at] == '.')) {
            while digit(at) || (mark(at) && (digit(at + 1) || line[at] == '.')) {
                at += 1;
            }
            push_number(&mut words, line[from..at].iter().collect());
        } else if line[at].is_alphabetic() {
            while line.get(at).is_some_and(|c| c.is_alphabetic()) {
                at += 1;
            }
            words.push(Word::Letters(line[from..at].iter().collect()));
            // An abbreviation may end in a point: `lb.`
            at += usize::from(line.get(at) == Some(&'.') && !digit(at + 1));
        } else if "+-".contains(line[at]) {
            while line.get(at) == Some(&line[from]) {
                at += 1;
            }
            words.push(Word::Sign(line[from..at].iter().collect()));
        } else {
            at += 1;
            if !" ,;:".contains(line[from]) {
                words.push(Word::Sign(line[from].to_string()));
            }
        }
    }
    words
}

/// A number takes the one sign before it, however wide the gap.
fn push_number(words: &mut Vec<Word>, digits: String) {
    let sign = match words.last() {
        Some(Word::Sign(sign)) if sign == "+" || sign == "-" => sign.clone(),
        _ => String::new(),
    };
    if !sign.is_empty() {
        words.pop();
    }
    words.push(Word::Number(format!("{sign}{digits}")));
}
