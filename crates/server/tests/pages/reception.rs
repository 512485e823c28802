//! Reception, custody, finding by code, labels, and masses as a balance prints them.

use crate::site::Site;
use axum::http::StatusCode;

/// A founded laboratory with one sample; the sample's path.
fn with_a_sample() -> (Site, String) {
    let site = Site::founded();
    let received = site.post(
        "/samples/new",
        &[
            ("request", "receive-sample"),
            ("source", "Invented pit, face 2"),
            ("material", "crushed gravel"),
            ("nominal_maximum_mm", "19.0"),
            ("received_g", "25.4 kg"),
            ("bags", "2"),
            ("sampled_by", "Sam Pler"),
            ("place", "bay 4"),
        ],
    );
    let path = received.onward().split('?').next().unwrap().to_owned();
    (site, path)
}

#[test]
fn what_came_is_shown_with_who_took_it_and_who_has_it() {
    let (site, path) = with_a_sample();
    let page = site.get(&path);
    page.is_a_good_page();
    for says in ["25400 g (read as 25.4 kg), 2 bags", "Sam Pler", "bay 4"] {
        assert!(page.text().contains(says), "{says}: {}", page.text());
    }
}

#[test]
fn a_hand_over_is_recorded_and_one_of_nothing_is_refused() {
    let (site, path) = with_a_sample();
    let code = path.rsplit('/').next().unwrap();
    let over = |step: &str, to: &str, note: &str| {
        let request = ("request", "hand-over-sample");
        site.post(&path, &[request, ("sample", code), ("step", step), ("to", to), ("note", note)])
    };
    let refused = over("disposed", "", "");
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(refused.text().contains("Why and how it was disposed of is missing"));
    over("handed-over", "a carrier with a van", "");
    over("disposed", "", "nobody wants it back");
    let page = site.get(&path);
    page.is_a_good_page();
    assert!(page.text().contains("a carrier with a van"), "{}", page.text());
    let before = site.facts();
    assert!(over("stored", "somebody else", "").text().contains("was disposed of on"));
    assert_eq!(site.facts(), before, "nothing was recorded");
}

#[test]
fn a_code_leads_to_its_page_and_half_a_name_to_what_is_near() {
    let (site, path) = with_a_sample();
    let code = path.rsplit('/').next().unwrap().to_lowercase();
    let found = site.get(&format!("/find?q={code}"));
    assert_eq!((found.status, found.header("location")), (StatusCode::SEE_OTHER, path.as_str()));
    let near = site.get("/find?q=invented+pit");
    near.is_a_good_page();
    assert!(near.body.contains(&format!("href=\"{path}\"")), "{}", near.text());
    for nothing in ["/find", "/find?q=", "/find?q=%3Cscript%3E"] {
        let page = site.get(nothing);
        page.is_a_good_page();
        assert!(!page.body.contains("<script>"), "{nothing}");
    }
}

#[test]
fn labels_are_printed_for_codes_that_are_there() {
    let (site, path) = with_a_sample();
    let code = path.rsplit('/').next().unwrap();
    let labels = site.get(&format!("/labels.pdf?code={code}&code=ab"));
    assert_eq!((labels.status, labels.header("content-type")), (StatusCode::OK, "application/pdf"));
    assert_eq!(labels.body, format!("{code}\nAB"));
    for (query, status) in [
        ("", StatusCode::NOT_FOUND),
        ("?code=S99-999", StatusCode::NOT_FOUND),
        ("?code=AB&size=1x1", StatusCode::UNPROCESSABLE_ENTITY),
    ] {
        assert_eq!(site.get(&format!("/labels.pdf{query}")).status, status, "{query}");
    }
}
