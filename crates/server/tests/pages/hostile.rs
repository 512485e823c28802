//! Whatever is typed is shown as it was typed, and is never anything but text.

use crate::markup;
use crate::site::Site;
use axum::http::StatusCode;

const VALUES: [&str; 9] = [
    "<script>alert(1)</script>",
    "\"><img src=x onerror=alert(1)>",
    "' onfocus='alert(1)' autofocus='",
    "&lt;b&gt; &amp; &#x3c;",
    "</textarea></title><h1>",
    "Carrière de l’Été – 採石場 – محجر – каменоломня",
    "{{7*7}} ${7*7} %s %n",
    "javascript:alert(1)",
    "../../etc/passwd",
];

#[test]
fn hostile_texts_are_shown_escaped_wherever_they_come_back() {
    let site = Site::founded();
    for value in VALUES {
        // Refused: shown in the field again.
        let sent =
            [("request", "receive-sample"), ("source", value), ("nominal_maximum_mm", value)];
        let refused = site.post("/samples/new", &sent);
        assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
        refused.is_a_good_page();
        let tags = markup::read(&refused.body).unwrap();
        let source = tags.iter().find(|tag| tag.attribute("name") == Some("source")).unwrap();
        assert_eq!(source.attribute("value"), Some(value));
        // Recorded: shown on the sample's page and in the list.
        let sent = [
            ("request", "receive-sample"),
            ("source", value),
            ("material", value),
            ("client", value),
            ("project", value),
            ("condition", value),
            ("nominal_maximum_mm", "19.0"),
        ];
        let kept = site.post("/samples/new", &sent);
        let path = kept.onward().to_owned();
        for page in [path.as_str(), "/samples", "/"] {
            let answer = site.get(page);
            answer.is_a_good_page();
            assert!(!answer.body.contains("<img src=x") && !answer.body.contains("<script>"));
        }
        assert!(site.get(&path).text().contains(value), "{value}");
    }
}

/// A program that overflows its stack is gone with everybody who works in it.
#[test]
fn a_form_with_a_name_of_many_parts_is_refused_and_the_program_goes_on() {
    let site = Site::founded();
    let name = vec!["a"; 100_000].join(".");
    let refused = site.post("/samples/new", &[("request", "receive-sample"), (&name, "1")]);
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(refused.text().contains("more than 8 parts"));
    assert_eq!(site.get("/").status, StatusCode::OK);
    assert_eq!(site.facts(), 2);
}

#[test]
fn hostile_names_of_people_and_items_are_shown_escaped() {
    let site = Site::founded();
    for (number, value) in VALUES.into_iter().enumerate() {
        let code = format!("X{number}");
        let person = [("request", "add-person"), ("code", &code), ("name", value)];
        assert_eq!(site.post("/people", &person).status, StatusCode::SEE_OTHER, "{value}");
        let item =
            [("request", "register-item"), ("code", &code), ("kind", "jar"), ("name", value)];
        let kept = site.post("/equipment/new", &item);
        for page in [kept.onward(), "/people", "/who", "/equipment", "/"] {
            site.get(page).is_a_good_page();
        }
    }
}

#[test]
fn hostile_queries_are_only_words() {
    let site = Site::demo();
    for path in [
        "/equipment/new?kind=%22%3E%3Cscript%3E",
        "/runs/new?specimen=%3Cscript%3E&apparatus=%22",
        "/who?back=%22%3E%3Cscript%3Ealert(1)%3C/script%3E",
        "/samples?kept=%22%3E%3Cscript%3E",
        "/journal?verify=%3C",
        "/methods?%%%&=&=",
    ] {
        let answer = site.get(path);
        assert_eq!(answer.status, StatusCode::OK, "{path}");
        answer.is_a_good_page();
        assert!(!answer.body.contains("<script>"), "{path}");
    }
}

#[test]
fn a_text_beyond_measure_is_refused_in_words() {
    let site = Site::founded();
    let long = "ß".repeat(5_000);
    for field in ["source", "material", "client"] {
        let mut sent = vec![
            ("request", "receive-sample"),
            ("source", "a"),
            ("material", "b"),
            ("nominal_maximum_mm", "19.0"),
        ];
        sent.retain(|(name, _)| *name != field);
        sent.push((field, &long));
        let refused = site.post("/samples/new", &sent);
        assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY, "{field}");
        refused.is_a_good_page();
        assert!(refused.text().contains("The text is longer than"), "{field}");
    }
    let unprintable = [
        ("request", "receive-sample"),
        ("source", "a\u{7}b"),
        ("material", "c"),
        ("nominal_maximum_mm", "19"),
    ];
    let refused = site.post("/samples/new", &unprintable);
    assert!(refused.text().contains("characters that cannot be printed"), "{}", refused.text());
}
