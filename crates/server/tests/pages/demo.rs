//! The whole demo laboratory, walked from its first page along every link, and every form of it
//! sent empty.

use crate::markup::{self, Form};
use crate::site::{Answer, Site};
use axum::http::StatusCode;
use std::collections::{BTreeMap, BTreeSet, VecDeque};

/// Every page that can be reached, breadth first.
pub(crate) fn walk(site: &Site) -> BTreeMap<String, Answer> {
    let mut found = BTreeMap::new();
    let mut seen = BTreeSet::from(["/".to_owned()]);
    let mut open = VecDeque::from(["/".to_owned()]);
    while let Some(path) = open.pop_front() {
        let answer = site.get(&path);
        if answer.header("content-type").starts_with("text/html") {
            for link in markup::links(&answer.body) {
                if seen.insert(link.clone()) {
                    open.push_back(link);
                }
            }
        }
        found.insert(path, answer);
    }
    found
}

#[test]
fn every_page_that_a_link_leads_to_is_there_and_is_well_formed() {
    let site = Site::demo();
    let pages = walk(&site);
    let mut faults = Vec::new();
    for (path, answer) in &pages {
        if answer.status != StatusCode::OK {
            faults.push(format!("{path}: {}", answer.status));
        } else if answer.header("content-type").starts_with("text/html") {
            faults.extend(
                markup::faults(&answer.body).into_iter().map(|fault| format!("{path}: {fault}")),
            );
        }
    }
    assert!(faults.is_empty(), "{} pages:\n{}", pages.len(), faults.join("\n"));
    // Every kind of page was met, so the walk did not end at the door.
    for kind in [
        "/samples/S",
        "/specimens/S",
        "/runs/R",
        "/results/L",
        "/equipment/",
        "/checks/C",
        "/methods/",
    ] {
        let many = pages.keys().filter(|path| path.starts_with(kind)).count();
        assert!(many >= 2, "{many} pages below {kind}");
    }
    assert!(pages.keys().any(|path| path.ends_with("/report.pdf")));
}

/// One form of each kind, with the page that it stands on: many pages carry the same form.
pub(crate) fn kinds_of_forms(
    pages: &BTreeMap<String, Answer>,
) -> BTreeMap<(String, Vec<String>), (String, Form)> {
    let mut kinds: BTreeMap<(String, Vec<String>), (String, Form)> = BTreeMap::new();
    for (path, answer) in pages {
        if answer.header("content-type").starts_with("text/html") {
            for form in markup::forms(&answer.body) {
                let kind = (form.request().to_owned(), form.asked.clone());
                kinds.entry(kind).or_insert((path.clone(), form));
            }
        }
    }
    kinds
}

#[test]
fn every_form_that_is_sent_empty_comes_back_with_its_problems_at_its_fields() {
    let mut site = Site::demo();
    let pages = walk(&site);
    let kinds = kinds_of_forms(&pages);
    assert!(kinds.len() > 15, "{:?}", kinds.keys());
    let mut refusals = 0;
    for seat in ["IK", ""] {
        site.seat = seat.to_owned();
        for ((request, _), (path, form)) in &kinds {
            let hidden = form.hidden.iter().map(|(name, value)| (name.as_str(), value.as_str()));
            let empty = form.asked.iter().map(|name| (name.as_str(), ""));
            let sent: Vec<_> = hidden.chain(empty).filter(|(name, _)| *name != "_key").collect();
            let answer = site.post(path.split('?').next().unwrap(), &sent);
            if answer.status == StatusCode::SEE_OTHER {
                continue;
            }
            refusals += 1;
            assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY, "{request} at {path}");
            let faults = markup::faults(&answer.body);
            assert!(faults.is_empty(), "{request} at {path}: {faults:#?}");
            assert!(answer.body.contains("data-problems"), "{request} at {path} says nothing");
            is_marked_where_the_summary_points(&answer, &format!("{request} at {path}"));
        }
    }
    assert!(refusals > 15, "only {refusals} forms were refused");
}

/// What a problem in the summary leads to says itself that something is wrong with it.
fn is_marked_where_the_summary_points(answer: &Answer, what: &str) {
    let tags = markup::read(&answer.body).unwrap();
    let points: Vec<&str> = tags
        .iter()
        .filter_map(|tag| tag.attribute("href")?.strip_prefix('#'))
        .filter(|id| *id != "main")
        .collect();
    for id in points {
        let target = tags.iter().find(|tag| tag.attribute("id") == Some(id)).unwrap();
        let says = target.attribute("aria-invalid") == Some("true")
            || target.has_class("refused")
            || target.has_class("field");
        assert!(says, "{what}: {id} does not say that it is wrong");
    }
}

/// A jar mill is never called ready for a test of the drum, nor the drum for one in jars.
#[test]
fn a_machine_is_ready_only_for_what_it_runs() {
    let benches = Site::demo().get("/").text();
    let of = |machine: &str, until: &str| {
        let (_, rest) = benches.split_once(machine).unwrap();
        rest.split(until).next().unwrap().to_owned()
    };
    let mill = of("jar mill in bay 1", "MILL-2");
    assert!(mill.contains("ready for ASTM D6928"), "{mill}");
    assert!(!mill.contains("C131") && !mill.contains("C88") && !mill.contains("C127"), "{mill}");
    let drum = of("abrasion drum in bay 3", "Asked of");
    assert!(drum.contains("ready for ASTM C131"), "{drum}");
    assert!(!drum.contains("D6928"), "{drum}");
}
