//! What the pages say of a result against its limit and the other losses of its sample, how
//! policies are decided there, and who may release.

use crate::site::Site;
use axum::http::StatusCode;

const POLICIES: [&str; 13] = [
    "decision-rule",
    "comparison",
    "uncertainty",
    "repeatability-limit",
    "results-differ",
    "release-by-another",
    "authorisation",
    "authorisation-months",
    "control-rules",
    "out-of-control",
    "reference-interval",
    "baseline-results",
    "overlap-results",
];

/// The codes of all results of the demo, newest first, with their pages' words.
fn results(site: &Site) -> Vec<(String, String)> {
    let links = crate::markup::links(&site.get("/results").body);
    let mut paths: Vec<String> =
        links.into_iter().filter(|link| link.starts_with("/results/L")).collect();
    paths.dedup();
    paths.into_iter().map(|path| (path.clone(), site.get(&path).text())).collect()
}

#[test]
fn every_policy_has_its_page_with_its_source_and_is_decided_there() {
    let site = Site::founded();
    site.get("/policies").is_a_good_page();
    for name in POLICIES {
        let page = site.get(&format!("/policies/{name}"));
        page.is_a_good_page();
        assert!(page.text().contains("not decided; the default holds"), "{name}");
        assert!(page.text().contains("Default: "), "{name}");
    }
    assert_eq!(site.get("/policies/mood").status, StatusCode::NOT_FOUND);

    let path = "/policies/decision-rule";
    let sent = [("request", "set-policy"), ("policy", "decision-rule"), ("value", "guarded")];
    let refused = site.post(path, &sent);
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    refused.is_a_good_page();
    assert!(refused.text().contains("The grounds for the decision is missing"));
    let decided = site.post(path, &[&sent[..], &[("reason", "agreed with our clients")]].concat());
    assert_eq!(decided.onward(), "/policies");
    let said = site.get("/policies").text();
    assert!(
        said.contains("agreed with our clients") && said.contains("Guarded: within the limit"),
        "{said}"
    );
    assert!(site.get(path).text().contains("Every decision"));
}

#[test]
fn a_result_says_how_it_was_judged_and_what_it_agrees_with() {
    let site = Site::demo();
    let pages = results(&site);
    let one = |words: &[&str]| {
        pages.iter().find(|(_, text)| words.iter().all(|word| text.contains(word)))
    };
    let guarded = one(&["conforms, within the guard band: at most", "Agreement with the other"]);
    let (_, guarded) = guarded.expect("a verdict within the guard band");
    for said in [
        "How it was judged",
        "guarded by the expanded uncertainty (k = 2)",
        "from memory, unconfirmed",
        "probability that the verdict is wrong: ",
        "By the rule that was in force when it was released.",
        "Kelsby Road Laboratory, 15.2 %",
        "agree",
    ] {
        assert!(guarded.contains(said), "{said}: {guarded}");
    }
    let (_, differs) = one(&["differ too much"]).expect("a pair that differs");
    assert!(differs.contains("Test another pair"), "{differs}");
    assert!(differs.contains("another pair is on its way"), "the reason stands there: {differs}");
    // What was released before the laboratory had decided anything is by simple acceptance.
    assert!(one(&["simple acceptance", "the laboratory states no uncertainty"]).is_some());
}

#[test]
fn who_tested_is_told_who_may_release_instead() {
    let mut site = Site::demo();
    let pages = results(&site);
    let (path, text) = pages
        .iter()
        .find(|(_, text)| text.contains("Release it with my name"))
        .expect("one waits for its release");
    assert!(text.contains("Who tested does not release here. May release: "), "{text}");
    // The technician who tested it may not; the engineer, who did not, may.
    let code = path.rsplit('/').next().unwrap();
    let release = [("request", "release-result"), ("result", code)];
    site.seat = "DO".to_owned();
    let refused = site.post(path, &release);
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    refused.is_a_good_page();
    assert!(refused.text().contains("Davit Osgrave may not release results"));
    site.seat = "TR".to_owned();
    assert_eq!(site.post(path, &release).onward(), path);
    assert!(site.get(path).text().contains("Released by"));
}

#[test]
fn another_laboratorys_loss_is_recorded_on_the_page_of_the_sample() {
    let site = Site::demo();
    let samples = crate::markup::links(&site.get("/samples").body);
    let path = samples.iter().find(|link| link.starts_with("/samples/S")).unwrap();
    let code = path.rsplit('/').next().unwrap();
    let sent = [
        ("request", "record-outside-result"),
        ("sample", code),
        ("method", "astm-d6928@2010"),
        ("laboratory", "Invented Outsiders"),
        ("document", "their report 9"),
        ("loss_percent", "abc"),
    ];
    let refused = site.post(path, &sent);
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    refused.is_a_good_page();
    assert!(refused.body.contains("value=\"Invented Outsiders\""), "what was typed stays");
    let mut right = sent;
    right[5].1 = "12.3";
    assert_eq!(site.post(path, &right).onward(), path);
    let text = site.get(path).text();
    assert!(text.contains("What other laboratories found") && text.contains("12.3"), "{text}");
}
