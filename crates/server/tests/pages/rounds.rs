//! Rounds between laboratories and proficiency on the page: planned, filled, printed, refused.

use crate::site::Site;
use axum::http::StatusCode;

const ROUND: [(&str, &str); 8] = [
    ("request", "plan-round"),
    ("title", "Spring round"),
    ("method", "as we do it"),
    ("materials", "A; granite; 0,6\nB"),
    ("replicates", "2"),
    ("participants", "Invented One; Ann\nInvented Two\nInvented Three"),
    ("closes_on", "2099-06-30"),
    ("seed", "11"),
];

/// A site with a round; its code, and those of its participants in the order of the page.
fn with_a_round() -> (Site, String, Vec<String>) {
    let site = Site::founded();
    let path = site.post("/rounds/new", &ROUND).onward().to_owned();
    let page = site.get(&path);
    let codes = page
        .body
        .split("/form-")
        .skip(1)
        .filter_map(|rest| rest.split_once(".csv").map(|(code, _)| code.to_owned()))
        .collect();
    (site, path, codes)
}

fn take_in(site: &Site, path: &str, table: &str) -> crate::site::Answer {
    let round = path.rsplit('/').next().unwrap();
    site.post(path, &[("request", "take-in-results"), ("round", round), ("table", table)])
}

#[test]
fn a_round_goes_from_its_plan_to_its_reports() {
    let (site, path, codes) = with_a_round();
    assert_eq!(codes.len(), 3);
    let form = site.get(&format!("{path}/form-{}.csv", codes[0]));
    assert_eq!(form.status, StatusCode::OK);
    // The form that was written is the file that is read, once it is filled in.
    let mut table = String::new();
    for (code, value) in codes.iter().zip(["10.1", "10.4", "12.9"]) {
        let form = site.get(&format!("{path}/form-{code}.csv")).body;
        let filled = form.lines().filter(|line| line.starts_with(code.as_str()));
        table += &filled.map(|line| format!("{line}{value}\n")).collect::<String>();
    }
    let table = format!("code,material,replicate,value\n{table}");
    assert_eq!(take_in(&site, &path, &table).onward(), path);
    let page = site.get(&path);
    page.is_a_good_page();
    assert!(page.text().contains("12 of 12 results have come"), "{}", page.text());
    for file in ["report.pdf", "instructions.pdf", "results.csv", "results.json"] {
        assert_eq!(site.get(&format!("{path}/{file}")).status, StatusCode::OK, "{file}");
    }
    let own = &codes[1];
    for file in ["report", "instructions"] {
        let paper = site.get(&format!("{path}/{file}-{own}.pdf"));
        assert!(paper.body.starts_with("%PDF of Round B"), "{}", paper.body);
        assert!(paper.header("content-disposition").contains(own.as_str()));
    }
    let json = site.get(&format!("{path}/results-{own}.json"));
    assert!(json.body.contains(own.as_str()) && !json.body.contains(&codes[0]), "{}", json.body);
    for missing in ["report-XX-99.pdf", "report.docx", "form.csv", "x"] {
        let answer = site.get(&format!("{path}/{missing}"));
        assert_eq!(answer.status, StatusCode::NOT_FOUND, "{missing}");
    }
    let round = path.rsplit('/').next().unwrap();
    site.post(&path, &[("request", "close-round"), ("round", round), ("remark", "Thanks")])
        .onward();
    let closed = site.get(&path);
    closed.is_a_good_page();
    assert!(!closed.body.contains("take-in-results"), "a closed round takes nothing");
    site.get("/rounds").is_a_good_page();
}

#[test]
fn a_bad_file_is_shown_again_with_its_lines() {
    let (site, path, codes) = with_a_round();
    let table = format!("code,material,replicate,value\n{},A,1,ten\nXX-99,A,1,10\n", codes[0]);
    let refused = take_in(&site, &path, &table);
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    refused.is_a_good_page();
    assert!(refused.text().to_lowercase().contains("line 2: "), "{}", refused.text());
    assert!(refused.text().contains("line 3: nobody takes part"), "{}", refused.text());
    assert!(refused.body.contains("XX-99,A,1,10"), "what was typed stays");
    assert!(site.get(&path).text().contains("0 of 12 results"));
    let mut plan = ROUND.to_vec();
    plan[6].1 = "soon";
    let refused = site.post("/rounds/new", &plan);
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    refused.is_a_good_page();
}

#[test]
fn a_questionable_score_is_shown_until_it_is_closed() {
    let site = Site::founded();
    site.get("/proficiency").is_a_good_page();
    let table = "round,date,material,value,assigned,sigma_pt\n1,2020-03-01,A,14.7,14.0,0.3\n";
    let taken = [
        ("request", "take-in-scores"),
        ("provider", "Invented Rounds"),
        ("method", "as we do it"),
        ("table", table),
    ];
    site.post("/proficiency", &taken).onward();
    let page = site.get("/proficiency");
    page.is_a_good_page();
    assert!(page.text().contains("Waiting for somebody"), "{}", page.text());
    let code = page.body.split("href=\"#P").nth(1).unwrap().split('"').next().unwrap();
    let code = format!("P{code}");
    let act = [
        ("request", "act-on-score"),
        ("score", code.as_str()),
        ("cause", "torn sieve"),
        ("action", "new sieve"),
    ];
    site.post("/proficiency", &act).onward();
    let close =
        [("request", "close-score"), ("score", code.as_str()), ("finding", "the next was good")];
    site.post("/proficiency", &close).onward();
    let page = site.get("/proficiency");
    page.is_a_good_page();
    assert!(!page.text().contains("Waiting for somebody"));
    assert!(page.text().contains("torn sieve") && page.text().contains("the next was good"));
    assert!(site.get("/proficiency/scores.csv").body.contains("questionable"));
    assert!(site.get("/proficiency/scores.pdf").body.starts_with("%PDF of Proficiency"));
    assert_eq!(site.get("/proficiency/other.pdf").status, StatusCode::NOT_FOUND);
}
