//! Entries of many tablets at once.

use crate::site::Site;
use axum::http::StatusCode;
use std::collections::BTreeSet;

fn sample<'a>(source: &'a str, key: &'a str) -> Vec<(&'a str, &'a str)> {
    vec![
        ("request", "receive-sample"),
        ("source", source),
        ("material", "crushed stone"),
        ("nominal_maximum_mm", "19.0"),
        ("_key", key),
    ]
}

#[test]
fn each_of_many_is_told_its_own_outcome_and_all_are_kept() {
    let site = Site::founded();
    let before = site.facts();
    let names: Vec<String> = (0..96).map(|number| format!("Quarry {number}")).collect();
    // Every sixth says no source, which is refused; every fifth is sent twice.
    let mut forms = Vec::new();
    for (number, name) in names.iter().enumerate() {
        let source = if number % 6 == 0 { "" } else { name.as_str() };
        forms.push(sample(source, name));
        if number % 5 == 0 {
            forms.push(sample(source, name));
        }
    }
    let answers = site.post_at_once("/samples/new", &forms);
    let mut codes = BTreeSet::new();
    for (form, answer) in forms.iter().zip(&answers) {
        if form[1].1.is_empty() {
            assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY);
            assert!(
                answer.text().contains("Where the material comes from is missing"),
                "{}",
                answer.text()
            );
        } else {
            let onward = answer.onward();
            // The page that a tablet is led to is that of its own sample.
            assert!(site.get(onward).text().contains(form[1].1), "{onward} is not {}", form[1].1);
            codes.insert(onward.to_owned());
        }
    }
    let kept = names.len() - names.len().div_ceil(6);
    assert_eq!(codes.len(), kept, "one sample for each key");
    assert_eq!(site.facts(), before + kept as u64);
    assert!(site.get("/journal?verify=now").text().contains("each hash and link as written"));
}
