//! A journal with a changed byte: read up to the damage, and nothing is added.

use crate::markup;
use crate::site::Site;
use axum::http::StatusCode;

const PLACE: i64 = 700;

#[test]
fn every_page_names_the_place_and_offers_no_form() {
    let site = Site::damaged(PLACE);
    for path in [
        "/",
        "/samples",
        "/samples/new",
        "/results",
        "/equipment",
        "/equipment/new?kind=apparatus",
        "/equipment/BAL-1",
        "/runs/new",
        "/methods",
        "/methods/astm-d6928",
        "/people",
        "/journal",
        "/nowhere",
    ] {
        let answer = site.get(path);
        answer.is_a_good_page();
        let text = answer.text();
        assert!(text.contains("Nothing can be recorded."), "{path}");
        assert!(text.contains(&format!("entry {PLACE}")), "{path} names the place: {text}");
        let forms = markup::forms(&answer.body);
        assert!(forms.is_empty(), "{path} offers {forms:?}");
    }
}

#[test]
fn what_is_sent_is_refused_in_words() {
    let site = Site::damaged(PLACE);
    let before = site.facts();
    let sent = [
        ("request", "receive-sample"),
        ("source", "Invented pit"),
        ("material", "crushed stone"),
        ("nominal_maximum_mm", "19.0"),
    ];
    let refused = site.post("/samples/new", &sent);
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    refused.is_a_good_page();
    let words = format!("nothing can be recorded: the journal is damaged: entry {PLACE}");
    assert!(refused.text().to_lowercase().contains(&words), "{}", refused.text());
    assert_eq!(site.facts(), before);
}

#[test]
fn what_comes_before_the_damage_can_be_read() {
    let site = Site::damaged(PLACE);
    assert_eq!(site.facts(), u64::try_from(PLACE).unwrap() - 1);
    let verified = site.get("/journal?verify=now");
    verified.is_a_good_page();
    assert!(verified.text().contains("broken"), "{}", verified.text());
}
