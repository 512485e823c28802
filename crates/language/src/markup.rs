//! A page cut into texts, each said again in its place.
//!
//! It reads only pages of ours, which are well formed. A text is what stands between two block
//! elements, with its inline elements, so that a language may order a sentence its own way; this is
//! how the open standard for texts in markup cuts them (W3C, Internationalization Tag Set 2.0,
//! “elements within text”), as is `translate="no"` for what stays. What is not said otherwise is
//! copied byte for byte.

use crate::Language;
use crate::pattern::Tag;

/// Elements that stand within a sentence.
const INLINE: [&str; 20] = [
    "a", "abbr", "b", "cite", "code", "data", "dfn", "em", "i", "kbd", "mark", "output", "s",
    "small", "span", "strong", "sub", "sup", "time", "tspan",
];
/// Elements whose content is nobody's to translate.
const OPAQUE: [&str; 6] = ["code", "kbd", "pre", "script", "style", "textarea"];
/// Elements without an end.
const VOID: [&str; 9] = ["br", "col", "hr", "img", "input", "link", "meta", "source", "wbr"];
/// Attributes that are read by people.
const READ_BY_PEOPLE: [&str; 5] = ["alt", "aria-label", "aria-description", "placeholder", "title"];
/// Attributes from which the script takes its words.
const FOR_THE_SCRIPT: &str = "data-say-";

/// How a text is said otherwise.
type Say<'s> = &'s mut dyn FnMut(&str) -> String;

/// The page with every text, and every attribute that people read, said otherwise.
pub(crate) fn rewrite(html: &str, language: Language, say: Say<'_>) -> String {
    let mut out = String::with_capacity(html.len() + html.len() / 8);
    let mut run = Vec::new();
    let mut rest = html;
    while !rest.is_empty() {
        let Some(at) = rest.find('<') else {
            run.push(Piece::Text(rest));
            break;
        };
        if at > 0 {
            run.push(Piece::Text(&rest[..at]));
        }
        rest = &rest[at..];
        let Some(element) = Element::read(rest) else {
            // A declaration, or a sign that is no element: it stands between texts.
            let end = rest.find('>').map_or(rest.len(), |end| end + 1);
            flush(&mut run, &mut out, say);
            out.push_str(&rest[..end]);
            rest = &rest[end..];
            continue;
        };
        let after = &rest[element.source.len()..];
        let is_inline = INLINE.contains(&element.name);
        if !element.closes && element.is_opaque() {
            let inner = length_until_closed(element.name, after);
            let (inner, left) = after.split_at(inner);
            if is_inline {
                let whole = &rest[..element.source.len() + inner.len()];
                run.push(Piece::Whole(whole));
            } else {
                flush(&mut run, &mut out, say);
                out.push_str(&attributes_said(&element, language, say));
                out.push_str(inner);
            }
            rest = left;
            continue;
        }
        if is_inline {
            let source = if element.closes {
                element.source.to_owned()
            } else {
                attributes_said(&element, language, say)
            };
            run.push(Piece::Inline { name: element.name, closes: element.closes, source });
        } else {
            flush(&mut run, &mut out, say);
            out.push_str(&attributes_said(&element, language, say));
        }
        rest = after;
    }
    flush(&mut run, &mut out, say);
    out
}

/// What a sentence is made of.
enum Piece<'h> {
    Text(&'h str),
    Inline { name: &'h str, closes: bool, source: String },
    Whole(&'h str),
}

impl Piece<'_> {
    fn source(&self) -> &str {
        match self {
            Self::Text(source) | Self::Whole(source) => source,
            Self::Inline { source, .. } => source,
        }
    }
}

/// The start or the end of an element.
struct Element<'h> {
    name: &'h str,
    closes: bool,
    attributes: &'h str,
    source: &'h str,
}

impl<'h> Element<'h> {
    /// The one at the front of `html`.
    fn read(html: &'h str) -> Option<Self> {
        let inner = html.strip_prefix('<')?;
        let closes = inner.starts_with('/');
        let inner = if closes { &inner[1..] } else { inner };
        let name_end = inner.find(|c: char| !c.is_ascii_alphanumeric() && c != '-')?;
        if !inner.starts_with(|c: char| c.is_ascii_alphabetic()) {
            return None;
        }
        let name = &inner[..name_end];
        let mut quoted = None;
        let end = inner[name_end..].find(|c| match (quoted, c) {
            (None, '>') => true,
            (None, '"' | '\'') => {
                quoted = Some(c);
                false
            }
            (Some(quote), c) if quote == c => {
                quoted = None;
                false
            }
            _ => false,
        })?;
        let attributes = &inner[name_end..name_end + end];
        let length = html.len() - inner.len() + name_end + end + 1;
        Some(Self { name, closes, attributes, source: &html[..length] })
    }

    fn is_opaque(&self) -> bool {
        !VOID.contains(&self.name)
            && !self.attributes.ends_with('/')
            && (OPAQUE.contains(&self.name)
                || self.attributes.contains(r#"translate="no""#)
                || (self.name == "a" && self.attributes.contains(r#"class="code""#)))
    }
}

/// How long the content of an element is, with the tag that ends it.
fn length_until_closed(name: &str, html: &str) -> usize {
    let mut deep = 1_usize;
    let mut at = 0;
    while let Some(next) = html[at..].find('<') {
        at += next;
        let Some(element) = Element::read(&html[at..]) else {
            at += 1;
            continue;
        };
        at += element.source.len();
        if element.name == name && !element.attributes.ends_with('/') {
            deep = if element.closes { deep - 1 } else { deep + 1 };
            if deep == 0 {
                return at;
            }
        }
    }
    html.len()
}

/// The tag with what people read in its attributes said otherwise.
fn attributes_said(element: &Element<'_>, language: Language, say: Say<'_>) -> String {
    if element.closes || !element.attributes.contains('=') {
        return element.source.to_owned();
    }
    let mut out = String::with_capacity(element.source.len());
    let mut rest = element.source;
    while let Some((head, after)) = rest.split_once("=\"") {
        let Some((value, left)) = after.split_once('"') else { break };
        let name = head.rsplit(char::is_whitespace).next().unwrap_or_default();
        out.push_str(head);
        out.push_str("=\"");
        if element.name == "html" && name == "lang" {
            out.push_str(language.tag());
        } else if READ_BY_PEOPLE.contains(&name) || name.starts_with(FOR_THE_SCRIPT) {
            out.push_str(&said_or_same(value, say));
        } else {
            out.push_str(value);
        }
        out.push('"');
        rest = left;
    }
    out.push_str(rest);
    out
}

fn said_or_same(source: &str, say: Say<'_>) -> String {
    let plain = decoded(source);
    let said = say(&plain);
    if said == plain { source.to_owned() } else { encoded(&said) }
}

/// Says a run of text and inline elements. An element that begins in it and ends elsewhere, or the
/// other way round, cuts it.
fn flush(run: &mut Vec<Piece<'_>>, out: &mut String, say: Say<'_>) {
    let pieces = std::mem::take(run);
    let mut partner: Vec<Option<usize>> = vec![None; pieces.len()];
    let mut open: Vec<usize> = Vec::new();
    for (at, piece) in pieces.iter().enumerate() {
        let Piece::Inline { name, closes, .. } = piece else { continue };
        if !closes {
            open.push(at);
        } else if let Some(start) = open.last().copied()
            && matches!(&pieces[start], Piece::Inline { name: opened, .. } if opened == name)
        {
            open.pop();
            partner[start] = Some(at);
            partner[at] = Some(start);
        }
    }
    let mut from = 0;
    for (at, piece) in pieces.iter().enumerate() {
        if matches!(piece, Piece::Inline { .. }) && partner[at].is_none() {
            sentence(&pieces, &partner, from, at, out, say);
            out.push_str(piece.source());
            from = at + 1;
        }
    }
    sentence(&pieces, &partner, from, pieces.len(), out, say);
}

/// Says `pieces[from..to]`, in which every element is whole.
fn sentence(
    pieces: &[Piece<'_>],
    partner: &[Option<usize>],
    mut from: usize,
    mut to: usize,
    out: &mut String,
    say: Say<'_>,
) {
    // What encloses the whole sentence is no part of it.
    let mut tail: Vec<&str> = Vec::new();
    loop {
        let blank =
            |piece: &Piece<'_>| matches!(piece, Piece::Text(text) if text.trim().is_empty());
        while from < to && blank(&pieces[from]) {
            out.push_str(pieces[from].source());
            from += 1;
        }
        while from < to && blank(&pieces[to - 1]) {
            tail.push(pieces[to - 1].source());
            to -= 1;
        }
        if from < to && partner[from] == Some(to - 1) {
            out.push_str(pieces[from].source());
            tail.push(pieces[to - 1].source());
            from += 1;
            to -= 1;
        } else {
            break;
        }
    }
    let here = &pieces[from..to];
    let is_tag = |at: usize| partner[at].is_some();
    let mut text = String::new();
    let mut sources: Vec<&str> = Vec::new();
    let mut numbers: Vec<u32> = vec![0; to];
    for (at, piece) in (from..to).zip(here) {
        let next = u32::try_from(sources.len() + 1).unwrap_or(Tag::MOST);
        match piece {
            Piece::Text(source) => text.push_str(&decoded(source)),
            Piece::Inline { closes: false, .. } => {
                numbers[at] = next;
                text.push(Tag::Opens(next).char());
                sources.push(piece.source());
            }
            Piece::Inline { .. } => {
                let number = partner[at].map_or(Tag::MOST, |start| numbers[start]);
                text.push(Tag::Closes(number).char());
            }
            Piece::Whole(source) => {
                text.push(Tag::Whole(next).char());
                sources.push(source);
            }
        }
    }
    let said = if sources.len() < Tag::MOST as usize { say(&text) } else { text.clone() };
    if said == text {
        here.iter().for_each(|piece| out.push_str(piece.source()));
    } else {
        for c in said.chars() {
            match Tag::of(c) {
                None => push_encoded(out, c),
                Some(Tag::Closes(number)) => {
                    let name = source_of(&sources, number)
                        .and_then(Element::read)
                        .map_or("", |element| element.name);
                    out.push_str("</");
                    out.push_str(name);
                    out.push('>');
                }
                Some(tag) => out.push_str(source_of(&sources, tag.number()).unwrap_or_default()),
            }
        }
    }
    debug_assert!((from..to).all(|at| is_tag(at) || !matches!(pieces[at], Piece::Inline { .. })));
    tail.iter().rev().for_each(|source| out.push_str(source));
}

fn source_of<'s>(sources: &[&'s str], number: u32) -> Option<&'s str> {
    sources.get((number as usize).checked_sub(1)?).copied()
}

fn decoded(source: &str) -> String {
    if !source.contains('&') {
        return source.to_owned();
    }
    [
        ("&lt;", "<"),
        ("&gt;", ">"),
        ("&quot;", "\""),
        ("&#39;", "'"),
        ("&nbsp;", "\u{a0}"),
        ("&amp;", "&"),
    ]
    .iter()
    .fold(source.to_owned(), |text, (entity, sign)| text.replace(entity, sign))
}

fn encoded(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    text.chars().for_each(|c| push_encoded(&mut out, c));
    out
}

fn push_encoded(out: &mut String, c: char) {
    match c {
        '&' => out.push_str("&amp;"),
        '<' => out.push_str("&lt;"),
        '>' => out.push_str("&gt;"),
        '"' => out.push_str("&quot;"),
        c => out.push(c),
    }
}

#[cfg(test)]
mod tests {
    use super::rewrite;
    use crate::pattern::Tag;
    use crate::{Catalogue, Language};
    use proptest::prelude::*;

    const PO: &str = r#"
msgid ""
msgstr "Content-Type: text/plain; charset=UTF-8\n"

msgid "Benches"
msgstr "Postes d’essai"

msgid "Made by <1>{person}</1> on {day}"
msgstr "Le {day}, par <1>{person}</1>"

msgid "in service"
msgstr "en service"

msgid "the loss of {loss} is in doubt"
msgstr "la perte de {loss} est en doute"

msgid "release {what}"
msgstr "libérer : {what}"

msgid "& more"
msgstr "& \"plus\""
"#;

    fn french(html: &str) -> String {
        Catalogue::read(Language::French, PO).unwrap().page(html)
    }

    #[test]
    fn texts_are_said_where_they_stand() {
        for (english, expected) in [
            ("<h1>Benches</h1>", "<h1>Postes d’essai</h1>"),
            ("<html lang=\"en\">", "<html lang=\"fr\">"),
            ("<li><a href=\"/\">Benches</a></li>", "<li><a href=\"/\">Postes d’essai</a></li>"),
            // The order of a sentence is the language's own; its elements move with it.
            (
                "<p>Made by <b class=\"x\">IK</b> on 2026-11-26</p>",
                "<p>Le 26\u{a0}nov.\u{a0}2026, par <b class=\"x\">IK</b></p>",
            ),
            // A mark has its shape before its word.
            (
                "<p><span class=\"mark\"><svg><path d=\"M1.5 2\"></path></svg>in service</span> here</p>",
                "<p><span class=\"mark\"><svg><path d=\"M1.5 2\"></path></svg>en service</span> here</p>",
            ),
            // A message in the hole of a message.
            (
                "<p>release the loss of 18.2 % is in doubt</p>",
                "<p>libérer : la perte de 18,2 % est en doute</p>",
            ),
            (
                "<p>in service; Benches: L26-1</p>",
                "<p>en service\u{202f}; Postes d’essai\u{a0}: L26-1</p>",
            ),
            (
                "<a aria-label=\"Benches\" href=\"Benches\">x</a>",
                "<a aria-label=\"Postes d’essai\" href=\"Benches\">x</a>",
            ),
            (
                "<body data-say-now=\"Benches\" data-now=\"Benches\">",
                "<body data-say-now=\"Postes d’essai\" data-now=\"Benches\">",
            ),
            ("<p>&amp; more</p>", "<p>&amp; &quot;plus&quot;</p>"),
            // What is nobody's to translate.
            ("<code>Benches</code>", "<code>Benches</code>"),
            (
                "<p translate=\"no\">Benches <b>18.2 %</b></p>",
                "<p translate=\"no\">Benches <b>18.2 %</b></p>",
            ),
            (
                "<textarea placeholder=\"Benches\">Benches</textarea>",
                "<textarea placeholder=\"Postes d’essai\">Benches</textarea>",
            ),
            (
                "<a class=\"code\" href=\"/\">Benches</a>",
                "<a class=\"code\" href=\"/\">Benches</a>",
            ),
            ("<td>18.2 %</td>", "<td>18,2 %</td>"),
            (
                "<script src=\"a\"></script><p>Benches</p>",
                "<script src=\"a\"></script><p>Postes d’essai</p>",
            ),
        ] {
            assert_eq!(french(english), expected);
        }
    }

    #[test]
    fn what_no_message_says_is_named() {
        let french = Catalogue::read(Language::French, PO).unwrap();
        let html =
            "<p>Benches of <b>old</b></p><p>S26-014 18.2 %</p><p>Made by <b>Ines</b> on 3</p>";
        let missing: Vec<_> = french.missing(html).into_iter().collect();
        assert_eq!(missing, ["Benches of", "Ines", "old"]);
    }

    proptest! {
        /// What is not said otherwise comes through byte for byte, whatever it is.
        #[test]
        fn a_page_that_nobody_says_otherwise_stays_as_it_is(
            html in "(<(p|b|a|svg|span|br|code|td)( class=\"[a-z<]{0,3}\")?>|</(p|b|a|svg|span|code|td)>|[a-z&;<> \"é]{0,8}){0,30}",
        ) {
            prop_assert_eq!(rewrite(&html, Language::English, &mut |text| text.to_owned()), html);
        }

        /// Elements are neither lost nor doubled by what is said.
        #[test]
        fn elements_stay_whole(words in "[a-z ]{0,12}", within in "[a-z]{1,8}") {
            let html = format!("<p>{words}<b>{within}</b>{words}</p>");
            let said = rewrite(&html, Language::English, &mut |text| {
                text.chars().map(|c| if Tag::of(c).is_some() { c } else { 'x' }).collect()
            });
            prop_assert_eq!(said.matches("<b>").count(), 1);
            prop_assert_eq!(said.matches("</b>").count(), 1);
        }
    }
}
