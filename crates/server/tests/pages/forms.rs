//! A form is recorded once, or comes back with what was typed and what is wrong beside it.

use crate::markup::{self, Tag};
use crate::site::{Answer, FOUNDING, Site};
use axum::http::StatusCode;

/// The field of this id, which must be there.
fn field(answer: &Answer, id: &str) -> Tag {
    let tags = markup::read(&answer.body).unwrap();
    let found = tags.into_iter().find(|tag| tag.attribute("id") == Some(id));
    found.unwrap_or_else(|| panic!("no field {id} in {}", answer.body))
}

#[test]
fn a_laboratory_is_founded_by_its_form_and_the_founder_sits_down() {
    let site = Site::empty();
    let first = site.get("/");
    first.is_a_good_page();
    assert_eq!(markup::forms(&first.body)[0].request(), "found-laboratory");
    let founded = site.post("/", &FOUNDING);
    assert_eq!(founded.onward(), "/");
    assert!(founded.header("set-cookie").starts_with("stonewear-person=AB; "));
    for rule in ["HttpOnly", "SameSite=Strict"] {
        assert!(founded.header("set-cookie").contains(rule));
    }
    assert!(site.get("/").text().contains("Invented laboratory"));
    assert_eq!(site.facts(), 2);
}

#[test]
fn until_it_is_founded_every_path_leads_to_the_founding_form() {
    let site = Site::empty();
    for path in ["/", "/samples", "/runs/new", "/journal"] {
        let answer = site.get(path);
        answer.is_a_good_page();
        assert_eq!(markup::forms(&answer.body)[0].request(), "found-laboratory", "{path}");
    }
}

#[test]
fn a_refused_form_keeps_what_was_typed_and_names_what_is_wrong_beside_it() {
    let site = Site::founded();
    let sent = [
        ("request", "receive-sample"),
        ("source", "Invented pit, face 2"),
        ("material", ""),
        ("nominal_maximum_mm", "1,500"),
        ("limit_percent", "18"),
    ];
    let refused = site.post("/samples/new", &sent);
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    refused.is_a_good_page();
    let source = field(&refused, "receive-sample-source");
    assert_eq!(source.attribute("value"), Some("Invented pit, face 2"));
    assert_eq!(source.attribute("aria-invalid"), None);
    let size = field(&refused, "receive-sample-nominal_maximum_mm");
    assert_eq!(size.attribute("value"), Some("1,500"));
    for wrong in ["material", "nominal_maximum_mm", "limit_document"] {
        let id = format!("receive-sample-{wrong}");
        assert_eq!(field(&refused, &id).attribute("aria-invalid"), Some("true"), "{wrong}");
        assert!(refused.body.contains(&format!("href=\"#{id}\"")), "{wrong} is in the summary");
    }
    let text = refused.text();
    assert!(text.contains("“1,500” can mean 1500 or 1,500; write 1500 or 1.500"), "{text}");
    assert_eq!(site.facts(), 2, "nothing was recorded");
}

#[test]
fn a_form_sent_twice_happens_once() {
    let site = Site::founded();
    let sent = [
        ("request", "receive-sample"),
        ("_key", "0b7c8f4e-5d0e-4a9d-8a8e-2f5a5a3f0001"),
        ("source", "Invented pit"),
        ("material", "crushed stone"),
        ("nominal_maximum_mm", "19.0"),
    ];
    let first = site.post("/samples/new", &sent);
    let again = site.post("/samples/new", &sent);
    assert_eq!(first.onward(), again.onward());
    assert_eq!(site.facts(), 3);
}

#[test]
fn judging_gives_the_words_of_the_refusal_and_records_nothing() {
    let site = Site::founded();
    let sent = [
        ("request", "receive-sample"),
        ("source", "Invented pit"),
        ("material", "crushed stone"),
        ("nominal_maximum_mm", "fourteen"),
    ];
    let judged = site.post("/judge?field=nominal_maximum_mm&unit=mm", &sent);
    assert_eq!(judged.status, StatusCode::OK);
    let words = "“fourteen” is not a number";
    assert!(judged.text().contains(words), "{}", judged.text());
    assert!(site.post("/samples/new", &sent).text().contains(words));
    let right = [sent[0], sent[1], sent[2], ("nominal_maximum_mm", "14")];
    let judged = site.post("/judge?field=nominal_maximum_mm&unit=mm", &right);
    assert!(judged.text().contains("read as 14 mm"), "{}", judged.text());
    assert_eq!(site.facts(), 2, "judging records nothing");
}

#[test]
fn judging_what_is_no_form_of_ours_is_refused() {
    let site = Site::founded();
    let judged = site.post("/judge?field=x", &[("request", "open-the-door")]);
    assert_eq!(judged.status, StatusCode::UNPROCESSABLE_ENTITY);
}

#[test]
fn who_may_not_is_led_to_say_who_is_at_the_bench() {
    let mut site = Site::founded();
    site.seat = String::new();
    let sent = [("request", "receive-sample"), ("source", "Invented pit")];
    let refused = site.post("/samples/new", &sent);
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    refused.is_a_good_page();
    let links = markup::links(&refused.body);
    assert!(links.contains("/who?back=/samples/new"), "{links:?}");
    let source = field(&refused, "receive-sample-source");
    assert_eq!(source.attribute("value"), Some("Invented pit"));
}

#[test]
fn taking_a_seat_leads_back_to_our_own_pages_only() {
    let site = Site::founded();
    for (back, onward) in [
        ("/samples/new", "/samples/new"),
        ("//elsewhere.example/", "/"),
        ("https://elsewhere.example/", "/"),
        ("/\\elsewhere.example/", "/"),
        ("", "/"),
    ] {
        let answer = site.post("/who", &[("person", "AB"), ("back", back)]);
        assert_eq!(answer.onward(), onward, "{back}");
        assert!(answer.header("set-cookie").starts_with("stonewear-person=AB"));
    }
    let nobody = site.post("/who", &[("person", "ZZ"), ("back", "/")]);
    assert_eq!(nobody.header("set-cookie"), "", "nobody has these initials");
}

#[test]
fn a_reason_for_a_departure_is_kept_while_something_else_is_still_wrong() {
    let site = Site::demo();
    let sample = site.post(
        "/samples/new",
        &[
            ("request", "receive-sample"),
            ("source", "Invented pit"),
            ("material", "crushed stone"),
            ("nominal_maximum_mm", "19.0"),
        ],
    );
    let path = sample.onward().to_owned();
    let code = path.rsplit('/').next().unwrap();
    let mut sent = vec![
        ("request", "begin-specimen"),
        ("sample", code),
        ("method", "astm-d6928"),
        ("grading", "12.5"),
        ("balance", "BAL-1"),
    ];
    let asks = site.post(&path, &sent);
    asks.is_a_good_page();
    assert_eq!(field(&asks, "begin-specimen-deviation").name, "textarea");
    sent[4] = ("balance", "BAL-99");
    sent.push(("deviation", "the contract names this grading"));
    let refused = site.post(&path, &sent);
    refused.is_a_good_page();
    assert!(refused.text().contains("There is no balance “BAL-99”"), "{}", refused.text());
    assert!(refused.text().contains("the contract names this grading"), "the reason was typed");
}

#[test]
fn what_is_wrong_is_shown_even_where_the_form_is_no_longer_on_the_page() {
    let site = Site::demo();
    // Another tablet was faster: the step of this form is done, or its page has gone on.
    for (path, request) in [
        ("/samples", "weigh-before"),
        ("/", "stop-run"),
        ("/results", "release-result"),
        ("/equipment/BAL-1", "observe"),
    ] {
        let refused = site.post(path, &[("request", request)]);
        assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY, "{path}");
        refused.is_a_good_page();
        assert!(refused.text().contains("Nothing was recorded."), "{path}: {}", refused.text());
    }
}

#[test]
fn what_was_typed_for_a_step_that_is_done_is_not_offered_for_the_next() {
    let site = Site::demo();
    let checks = markup::links(&site.get("/").body);
    let path = checks.iter().find(|link| link.starts_with("/checks/")).expect("an open check");
    let check = path.rsplit('/').next().unwrap();
    let step = markup::forms(&site.get(path).body)[0].hidden.clone();
    let step = step.iter().find(|(name, _)| name == "step").unwrap().1.clone();
    let note = ("note", "a remark that was typed");
    for (step, is_kept) in [(step.as_str(), true), ("some-other-step", false)] {
        let sent =
            [("request", "observe"), ("check", check), ("step", step), ("seen", "maybe"), note];
        let refused = site.post(path, &sent);
        refused.is_a_good_page();
        assert!(refused.body.contains("data-problems"), "{step}");
        assert_eq!(refused.body.contains(note.1), is_kept, "{step}");
    }
}

#[test]
fn a_mass_with_limits_is_judged_and_one_without_is_only_read() {
    let site = Site::demo();
    let specimen = specimen(&site);
    let judged = |query: &str, sent: &[(&str, &str)]| {
        let sent = [sent, &[("specimen", specimen.as_str())]].concat();
        site.post(&format!("/judge?unit=g&{query}"), &sent)
    };
    // ASTM D6928 names no tolerance for a fraction, so nothing is praised.
    let fraction = [("request", "weigh-fractions"), ("masses_g.0", "391,5")];
    assert_eq!(judged("field=masses_g.0", &fraction).text(), "read as 391.5 g");
    let before = |mass| [("request", "weigh-before"), ("balance", "BAL-1"), ("mass_g", mass)];
    let limits = "field=mass_g&lower=1495&upper=1505";
    let inside = judged(limits, &before("1499,8"));
    assert!(inside.text().contains("as it must be") && inside.body.contains("<svg"));
    let outside = judged(limits, &before("1510"));
    assert!(outside.text().contains("the method wants 1495 to 1505 g"), "{}", outside.text());
    assert!(outside.body.contains("<svg"), "the strip shows how far off it is");
}

#[test]
fn a_fraction_without_a_tolerance_is_aimed_at_and_not_called_a_limit() {
    let site = Site::demo();
    let page = site.get(&format!("/specimens/{}", specimen(&site)));
    assert!(page.text().contains("aim at 375 g"), "{}", page.text());
    assert!(!page.text().contains("Allowed: 375 g"));
}

/// A specimen that was only just begun.
fn specimen(site: &Site) -> String {
    let sample = site.post(
        "/samples/new",
        &[
            ("request", "receive-sample"),
            ("source", "Invented pit"),
            ("material", "crushed stone"),
            ("nominal_maximum_mm", "19.0"),
        ],
    );
    let path = sample.onward().to_owned();
    let begun = site.post(
        &path,
        &[
            ("request", "begin-specimen"),
            ("sample", path.rsplit('/').next().unwrap()),
            ("method", "astm-d6928"),
            ("grading", "19.0"),
            ("balance", "BAL-1"),
        ],
    );
    begun.onward().rsplit('/').next().unwrap().to_owned()
}
