//! The companion tests by the pages there are: a reading is a field made from the method.

use crate::site::Site;
use axum::http::StatusCode;

const EXCUSE: (&str, &str) = ("deviation", "the balance is proved tomorrow");

/// Density on a laboratory that has a balance and nothing else: each page leads to the next reading.
#[test]
fn density_is_walked_by_the_specimen_page() {
    let site = Site::founded();
    site.post(
        "/equipment/new",
        &[
            ("request", "register-item"),
            ("code", "BAL-1"),
            ("kind", "balance"),
            ("name", "bench balance"),
        ],
    );
    let received = site.post(
        "/samples/new",
        &[
            ("request", "receive-sample"),
            ("source", "Invented pit, face 2"),
            ("material", "crushed stone"),
            ("nominal_maximum_mm", "19"),
        ],
    );
    let page = received.onward().to_owned();
    let sample = page.trim_start_matches("/samples/").to_owned();
    let begun = site.post(
        &page,
        &[
            ("request", "begin-specimen"),
            ("sample", &sample),
            ("method", "astm-c127"),
            ("grading", "whole"),
            ("balance", "BAL-1"),
            EXCUSE,
        ],
    );
    let page = begun.onward().to_owned();
    let specimen = page.trim_start_matches("/specimens/").to_owned();
    let mut last = None;
    for (name, value, with) in [
        ("soaked", "24", ""),
        ("saturated", "2000", "BAL-1"),
        ("in_water", "1260", "BAL-1"),
        ("dry", "1980", "BAL-1"),
    ] {
        let asked = site.get(&page);
        asked.is_a_good_page();
        assert!(asked.body.contains(&format!("name=\"reading\" value=\"{name}\"")), "{name}");
        let sent = |value| {
            site.post(
                &page,
                &[
                    ("request", "take-reading"),
                    ("specimen", &specimen),
                    ("reading", name),
                    ("values.0", value),
                    ("instrument", with),
                    EXCUSE,
                ],
            )
        };
        if name == "dry" {
            let refused = sent("2010");
            assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
            refused.is_a_good_page();
            assert!(refused.text().contains("more than 2000 g saturated"), "{}", refused.text());
        }
        last = Some(sent(value));
    }
    let result = last.unwrap().onward().to_owned();
    assert!(result.starts_with("/results/"), "{result}");
    let shown = site.get(&result);
    shown.is_a_good_page();
    for found in ["2.68", "2.70", "2.75", "Absorption", "1980 / (1980 − 1260)"] {
        assert!(shown.text().contains(found), "{found}: {}", shown.text());
    }
    site.get(&page).is_a_good_page();
}
