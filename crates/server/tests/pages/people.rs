//! The page of a person, what falls due, and the calendar.

use crate::site::Site;
use axum::http::StatusCode;

#[test]
fn a_person_is_authorised_and_suspended_on_their_page() {
    let site = Site::founded();
    let list = site.get("/people");
    let path = crate::markup::links(&list.body)
        .into_iter()
        .find(|link| link.starts_with("/people/"))
        .expect("the list leads to each person");
    let code = path.trim_start_matches("/people/").to_owned();
    assert_eq!(site.get("/people/NOBODY").status, StatusCode::NOT_FOUND);
    site.post("/methods/astm-d6928", &[("request", "adopt-method"), ("method", "astm-d6928")]);
    let page = site.get(&path);
    page.is_a_good_page();
    assert!(page.text().contains("Nobody has authorised them for anything yet"));
    let sent = [
        ("request", "grant-authorisation"),
        ("person", code.as_str()),
        ("method", "astm-d6928"),
        ("activities.0", "make-up"),
        ("activities.3", "release"),
    ];
    let refused = site.post(&path, &sent);
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    refused.is_a_good_page();
    assert!(refused.text().contains("Nothing says on what evidence"));
    let until = [("training", "record 7"), ("until", "2999-12-31")];
    let granted = site.post(&path, &[&sent[..], &until[..]].concat());
    assert_eq!(granted.onward(), path);
    let page = site.get(&path);
    page.is_a_good_page();
    let said = page.text();
    assert!(said.contains("in force until 2999-12-31") && said.contains("record 7"), "{said}");
    assert!(site.get("/methods/astm-d6928").text().contains("Who is authorised today"));

    let due = site.get("/due");
    due.is_a_good_page();
    assert!(due.text().contains("authorisation for make-up and release by"), "{}", due.text());
    let calendar = site.get("/due.ics");
    assert_eq!(calendar.header("content-type"), "text/calendar; charset=utf-8");
    assert!(calendar.body.contains("DTSTART;VALUE=DATE:29991231\r\n"), "{}", calendar.body);

    let change = [
        ("request", "change-authorisation"),
        ("authorisation", "A26-001"),
        ("standing", "suspended"),
        ("reason", "away"),
    ];
    let code = said.split("Authorised for").nth(1).and_then(|rest| rest.trim().get(..7));
    let code = code.expect("the code of the authorisation").to_owned();
    let mut change = change;
    change[1].1 = &code;
    site.post(&path, &change);
    assert!(site.get(&path).text().contains("suspended on"));
    assert!(!site.get("/due").text().contains("authorisation for make-up"));
}

#[test]
fn the_demo_laboratory_has_a_due_list_and_a_page_for_each_person() {
    let site = Site::demo();
    for path in ["/due", "/", "/due?person=IK"] {
        site.get(path).is_a_good_page();
    }
    assert!(site.get("/due").text().contains("function check"));
    for code in ["IK", "DO", "MQ", "TR"] {
        site.get(&format!("/people/{code}")).is_a_good_page();
    }
}

#[test]
fn duplicates_are_a_sentence_a_picture_a_table_a_paper() {
    let site = Site::demo();
    let page = site.get("/duplicates");
    page.is_a_good_page();
    let text = page.text();
    assert!(text.contains("Standard deviation within a person"), "{text}");
    assert!(page.body.contains("Ranges of the pairs of DO by ASTM D6928-10"), "{text}");
    let own = site.get("/people/DO");
    own.is_a_good_page();
    assert!(own.body.contains("Ranges of the pairs of DO by ASTM D6928-10"));
    let pairs = site.get("/duplicates/pairs.csv");
    assert!(pairs.header("content-type").starts_with("text/csv"));
    let head = pairs.body.lines().next().unwrap();
    assert!(head.ends_with("range_percent,range_deviations,far"), "{head}");
    assert!(pairs.body.lines().count() > 2, "{}", pairs.body);
    let paper = site.get("/duplicates/report.pdf");
    assert!(paper.body.starts_with("%PDF of Duplicates: How far people repeat"), "{}", paper.body);
    assert_eq!(site.get("/duplicates/other.csv").status, axum::http::StatusCode::NOT_FOUND);
}

#[test]
fn the_demo_authorises_its_people_on_what_they_were_seen_to_do() {
    let site = Site::demo();
    let text = site.get("/people/MQ").text();
    assert!(text.contains("in force until 2026-12-11"), "{text}");
    assert!(text.contains("Witnessed: S26-"), "{text}");
    let due = site.get("/due").text();
    assert!(due.contains("MQ") && due.contains("2026-12-11"), "{due}");
}
