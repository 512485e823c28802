//! Every page of the demo laboratory, and every refusal of its forms, in every language.

use crate::demo::{kinds_of_forms, walk};
use crate::markup;
use crate::site::Site;
use axum::http::StatusCode;
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use stonewear_language::{Catalogue, Language};
use stonewear_report::{Outcome, Verdict};

/// The languages that are said by a catalogue.
fn catalogues() -> impl Iterator<Item = &'static Catalogue> {
    Language::ALL.into_iter().filter_map(Language::catalogue)
}

/// Everything that can be read, with the page on which it was met first.
fn read_on_pages() -> BTreeMap<String, String> {
    let mut texts = BTreeMap::new();
    let mut read = |place: &str, html: String| {
        texts.entry(html).or_insert_with(|| place.to_owned());
    };
    let empty = Site::empty();
    read("/ of an empty folder", empty.get("/").body);
    read("/ of an empty folder", empty.post("/", &[("request", "found-laboratory")]).body);
    for (path, answer) in walk(&Site::founded()) {
        if answer.header("content-type").starts_with("text/html") {
            read(&format!("{path} of a new laboratory"), answer.body);
        }
    }
    let mut demo = Site::demo();
    for (place, html) in crate::accounts_said::what_is_said() {
        read(&place, html);
    }
    let more = [crate::passkeys::what_is_said(), crate::organisation::what_is_said()];
    for (place, html) in more.into_iter().flatten() {
        read(&place, html);
    }
    let pages = walk(&demo);
    for seat in ["IK", ""] {
        demo.seat = seat.to_owned();
        for ((request, _), (path, form)) in kinds_of_forms(&pages) {
            let hidden = form.hidden.iter().map(|(name, value)| (name.as_str(), value.as_str()));
            let empty = form.asked.iter().map(|name| (name.as_str(), ""));
            let sent: Vec<_> = hidden.chain(empty).filter(|(name, _)| *name != "_key").collect();
            let answer = demo.post(path.split('?').next().unwrap(), &sent);
            if answer.status == StatusCode::UNPROCESSABLE_ENTITY {
                read(&format!("{path}, {request} sent empty"), answer.body);
            }
        }
    }
    for (path, answer) in pages {
        let kind = answer.header("content-type").to_owned();
        if kind.starts_with("text/html") {
            read(&path, answer.body);
        } else if kind == "application/pdf" {
            // The texts of a paper stand below its first line.
            read(
                &path,
                answer.body.split_once('\n').map(|(_, texts)| texts.to_owned()).unwrap_or_default(),
            );
        }
    }
    let states =
        Verdict::ALL.map(Verdict::words).into_iter().chain(Outcome::ALL.map(Outcome::words));
    for words in states {
        read("a test report", format!("<p>{words}</p>"));
    }
    texts
}

/// What the people of the demo laboratory typed, and the names of its things: nobody's to translate.
fn typed_by_people() -> BTreeSet<String> {
    fn gather(value: &Value, into: &mut BTreeSet<String>) {
        match value {
            Value::String(text) => {
                into.insert(bare(text));
                // A page shows the parts of an address, and the lines of a note, by themselves.
                into.extend(text.split([',', '\n', ';', ':', '(', ')']).map(bare));
                into.extend(text.split(['.', ';', ':']).map(bare));
            }
            Value::Array(values) => values.iter().for_each(|value| gather(value, into)),
            Value::Object(fields) => {
                // The words of procedures and methods are ours, though they stand in the journal.
                let ours = ["procedure", "method", "words"];
                let theirs = fields.iter().filter(|(name, _)| !ours.contains(&name.as_str()));
                theirs.for_each(|(_, value)| gather(value, into));
            }
            _ => {}
        }
    }
    let mut typed = BTreeSet::from(["Ada Brook".to_owned(), "Invented laboratory".to_owned()]);
    for fact in Site::demo().journal() {
        gather(&fact, &mut typed);
    }
    typed
}

/// A text without the marks around it.
fn bare(text: &str) -> String {
    text.trim_matches(|c: char| !c.is_alphanumeric()).to_owned()
}

/// What a language lacks: each text with the page on which it was met first.
fn lacking(
    catalogue: &Catalogue,
    pages: &BTreeMap<String, String>,
    typed: &BTreeSet<String>,
) -> BTreeMap<String, String> {
    let mut lacking = BTreeMap::new();
    for (html, place) in pages {
        for text in catalogue.missing(html) {
            let is_theirs = |part: &str| typed.contains(&bare(part));
            // A table of a description is what is to be typed, not a sentence.
            let is_theirs = is_theirs(&text)
                || text.split(" – ").all(|part| part.split(", ").all(is_theirs))
                || text.split(". ").all(is_theirs)
                || text.starts_with("{ name = ");
            if !is_theirs {
                lacking.entry(text).or_insert_with(|| place.clone());
            }
        }
    }
    lacking
}

/// With `UPDATE_LANGUAGES` set, what is lacking is added to the files with an empty translation.
fn add(language: Language, lacking: &BTreeMap<String, String>) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join(format!("../language/languages/{}.po", language.tag()));
    let mut po = std::fs::read_to_string(&path).unwrap();
    for (text, place) in lacking {
        let text = text.replace('\\', "\\\\").replace('"', "\\\"").replace('\n', "\\n");
        po.push_str(&format!("\n#. {place}\nmsgid \"{text}\"\nmsgstr \"\"\n"));
    }
    std::fs::write(path, po).unwrap();
}

#[test]
fn every_language_says_all_that_can_be_read() {
    let (pages, typed) = (read_on_pages(), typed_by_people());
    assert!(pages.len() > 500, "only {} pages were read", pages.len());
    let mut faults = Vec::new();
    for catalogue in catalogues() {
        let language = catalogue.language();
        let lacking = lacking(catalogue, &pages, &typed);
        if std::env::var_os("UPDATE_LANGUAGES").is_some() {
            add(language, &lacking);
        }
        faults.extend(
            lacking.iter().map(|(text, place)| format!("{}\t{text}\t{place}", language.tag())),
        );
    }
    assert!(faults.is_empty(), "{} texts:\n{}", faults.len(), faults.join("\n"));
}

/// What is said otherwise is as well formed as the page was, and every link, code and name stays.
#[test]
fn a_page_in_another_language_is_the_same_page() {
    let mut site = Site::demo();
    for path in
        ["/", "/samples", "/results", "/equipment/MILL-1", "/control", "/methods/astm-d6928@2010"]
    {
        site.language = String::new();
        let english = site.get(path);
        for catalogue in catalogues() {
            site.language = catalogue.language().tag().to_owned();
            let said = site.get(path);
            said.is_a_good_page();
            assert_eq!(said.header("content-language"), site.language);
            assert_eq!(markup::links(&said.body), markup::links(&english.body), "{path}");
            assert_ne!(said.text(), english.text(), "{path} is English still");
            let lang = format!("<html lang=\"{}\"", site.language);
            assert!(said.body.contains(&lang), "{path}");
        }
    }
}

#[test]
fn the_language_is_chosen_at_the_browser_or_follows_it() {
    let mut site = Site::demo();
    let chosen = site.post("/language", &[("language", "fr"), ("back", "/samples?open=yes")]);
    assert_eq!(chosen.header("location"), "/samples?open=yes");
    let cookie = chosen.header("set-cookie").to_owned();
    assert!(cookie.starts_with("stonewear-language=fr; "), "{cookie}");
    assert!(cookie.contains("HttpOnly") && cookie.contains("SameSite=Strict"), "{cookie}");
    // Another site is not led to, and a language that is not spoken changes nothing.
    let odd = site.post("/language", &[("language", "tlh"), ("back", "//elsewhere.example/")]);
    assert_eq!((odd.header("location"), odd.header("set-cookie")), ("/", ""));
    site.accepts = "de-AT, en;q=0.5".to_owned();
    assert_eq!(site.get("/").header("content-language"), "de");
    site.language = "en".to_owned();
    assert_eq!(site.get("/").header("content-language"), "en");
}

/// A point before three digits is nobody's to guess where points group thousands; what was typed
/// stays in its field.
#[test]
fn a_number_that_two_readers_read_in_two_ways_is_asked_about() {
    let mut site = Site::founded();
    let register = [
        ("request", "register-item"),
        ("kind", "sieve"),
        ("code", "SV-1"),
        ("name", "sieve 1"),
        ("opening_mm", "1.250"),
        ("_decimal.opening_mm", ""),
    ];
    site.language = "de".to_owned();
    let asked = site.post("/equipment/new", &register);
    assert_eq!(asked.status, StatusCode::UNPROCESSABLE_ENTITY);
    let text = asked.text();
    assert!(text.contains("1250") && text.contains("1,250"), "{text}");
    assert!(asked.body.contains("value=\"1.250\""), "{text}");
    site.language = "fr".to_owned();
    assert_eq!(site.post("/equipment/new", &register).status, StatusCode::SEE_OTHER);
}
