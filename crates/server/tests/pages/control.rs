//! The pages of reference aggregate, charts and investigations.

use crate::site::Site;
use axum::http::StatusCode;

/// The demo with the lot RA-3 on MILL-1, and a technician at the bench.
fn at_the_bench() -> Site {
    let mut site = Site::demo();
    site.seat = "DO".to_owned();
    site
}

/// A run of the lot on the mill whose loss is far out: where the last form leads.
fn far_out(site: &Site) -> String {
    let received = [
        ("request", "receive-sample"),
        ("source", "our bin"),
        ("material", "reference aggregate"),
        ("nominal_maximum_mm", "19.0"),
        ("lot", "RA-3"),
    ];
    let sample = site.post("/samples/new", &received).onward().to_owned();
    assert!(site.get(&sample).text().contains("It is of lot RA-3"));
    let code = sample.rsplit('/').next().unwrap().to_owned();
    let begin = [
        ("request", "begin-specimen"),
        ("sample", code.as_str()),
        ("method", "astm-d6928"),
        ("grading", "19.0"),
        ("balance", "BAL-1"),
    ];
    let specimen = site.post(&sample, &begin).onward().to_owned();
    let code = specimen.rsplit('/').next().unwrap().to_owned();
    let fractions = [
        ("request", "weigh-fractions"),
        ("specimen", code.as_str()),
        ("masses_g.0", "375"),
        ("masses_g.1", "375"),
        ("masses_g.2", "750"),
    ];
    site.post(&specimen, &fractions).onward();
    let weigh = |request: &'static str, mass: &'static str| {
        [("request", request), ("specimen", code.as_str()), ("mass_g", mass), ("balance", "BAL-1")]
    };
    site.post(&specimen, &weigh("weigh-before", "1500")).onward();
    // The jar that turns as the demo opens is taken out first.
    let turning = site.get("/").body;
    let run = crate::markup::links(&turning)
        .into_iter()
        .find(|link| link.starts_with("/runs/R"))
        .expect("a run turns");
    let stop = |run: &str| {
        vec![
            ("request".to_owned(), "stop-run".to_owned()),
            ("run".to_owned(), run.rsplit('/').next().unwrap().to_owned()),
            ("revolutions".to_owned(), "10500".to_owned()),
            ("minutes".to_owned(), "105".to_owned()),
            // It began a moment ago by the clock of the test.
            ("deviation".to_owned(), "its beginning was entered late".to_owned()),
        ]
    };
    let send = |path: &str, fields: &[(String, String)]| {
        let fields: Vec<(&str, &str)> =
            fields.iter().map(|(name, value)| (name.as_str(), value.as_str())).collect();
        site.post(path, &fields)
    };
    send(&run, &stop(&run)).onward();
    let start = [
        ("request", "start-run"),
        ("apparatus", "MILL-1"),
        ("ended_by", "revolutions"),
        ("water_c", "20"),
        ("placements.0.tier", "upper"),
        ("placements.0.position", "1"),
        ("placements.0.specimen", code.as_str()),
        ("placements.0.jar", "JAR-1"),
        ("placements.0.charge", "BC-1"),
        ("placements.0.charge_g", "5000"),
        ("placements.0.water_l", "2.00"),
        ("placements.0.soaked_h", "1"),
    ];
    let run = site.post("/runs/new", &start).onward().to_owned();
    let mut stopped = stop(&run);
    stopped[2].1 = "12000".to_owned();
    stopped[3].1 = "120".to_owned();
    send(&run, &stopped).onward();
    site.post(&specimen, &weigh("weigh-after", "1200")).onward().to_owned()
}

#[test]
fn every_page_about_control_is_a_good_page() {
    let site = Site::demo();
    for path in [
        "/control",
        "/control/new",
        "/control/RA-2",
        "/control/RA-3",
        "/control/RA-2/MILL-1",
        "/control/RA-3/MILL-1",
        "/control/investigations/N26-001",
        "/policies/control-rules",
    ] {
        let page = site.get(path);
        assert_eq!(page.status, StatusCode::OK, "{path}");
        page.is_a_good_page();
    }
    for path in ["/control/RA-9", "/control/RA-2/JAR-9", "/control/investigations/N26-099"] {
        assert_eq!(site.get(path).status, StatusCode::NOT_FOUND, "{path}");
    }
    let overview = site.get("/control").text();
    for said in [
        "false alarms: one in 225 results",
        "Every 10 samples".to_lowercase().as_str(),
        "runs out on",
        "MILL-1: ",
        "in control",
        "N26-001",
    ] {
        assert!(overview.to_lowercase().contains(&said.to_lowercase()), "{said}: {overview}");
    }
}

#[test]
fn a_chart_shows_its_limits_its_signal_and_a_table_and_goes_out_as_files() {
    let site = Site::demo();
    let page = site.get("/control/RA-2/MILL-1");
    let text = page.text();
    for said in [
        "the mean moving range of 25 results over 1.128",
        "out of control: beyond the action limit",
        "Action limits (3 s)",
        "MILL-1 held: reference result",
        "lot replaced",
    ] {
        assert!(text.contains(said), "{said}: {text}");
    }
    let table = site.get("/control/RA-2/MILL-1/chart.csv");
    assert_eq!(table.header("content-type"), "text/csv; charset=utf-8");
    let lines: Vec<&str> = table.body.lines().collect();
    assert!(lines[0].starts_with("date,result,loss_percent,operator,imported,role"));
    assert_eq!(lines.len() - 1, page.body.matches(" href=\"/results/L").count(), "a row a result");
    let paper = site.get("/control/RA-2/MILL-1/chart.pdf");
    assert_eq!(paper.header("content-type"), "application/pdf");
    assert!(paper.body.contains("Control chart RA-2 on MILL-1"), "{}", paper.body);
    for missing in ["/control/RA-9/MILL-1/chart.pdf", "/control/RA-2/MILL-9/chart.csv"] {
        assert_eq!(site.get(missing).status, StatusCode::NOT_FOUND, "{missing}");
    }
}

#[test]
fn a_result_that_is_out_leads_to_its_investigation_and_holds_the_mill() {
    let mut site = at_the_bench();
    let path = far_out(&site);
    assert!(path.starts_with("/control/investigations/N"), "{path}");
    let page = site.get(&path);
    page.is_a_good_page();
    let text = page.text();
    for said in [
        "20.00 %: beyond the action limit",
        "Mass of the ball charge: BC-1",
        "Begin the mass of the ball charge, 5000 g of BC-1",
        "keep the guard closed",
        "Only a result in control releases the apparatus",
    ] {
        assert!(text.contains(said), "{said}: {text}");
    }
    assert!(site.get("/equipment/MILL-1").text().contains("held"));
    let benches = site.get("/").text();
    assert!(benches.contains("it is held: 20.00 %: beyond the action limit"), "{benches}");

    let code = path.rsplit('/').next().unwrap();
    let finding = [
        ("request", "record-finding"),
        ("investigation", code),
        ("step", "water"),
        ("finding", ""),
        ("fault", "yes"),
    ];
    let refused = site.post(&path, &finding);
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    refused.is_a_good_page();
    assert!(refused.text().contains("What was found is missing"));
    let mut right = finding;
    right[3].1 = "2.5 L in place of 2.0 L";
    assert_eq!(site.post(&path, &right).onward(), path);
    let found = site.get(&path).text();
    assert!(found.contains("something was wrong") && found.contains("2.5 L in place of 2.0 L"));

    site.seat = "IK".to_owned();
    let close = [
        ("request", "close-investigation"),
        ("investigation", code),
        ("cause", "too much water"),
        ("done", "measure replaced"),
        ("past_results", "none since"),
    ];
    let refused = site.post(&path, &close);
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    refused.is_a_good_page();
    let said = refused.text();
    assert!(
        said.contains("Not gone through yet") && said.contains("No later reference result"),
        "{said}"
    );
    let release = [
        ("request", "change-standing"),
        ("item", "MILL-1"),
        ("standing", "in-service"),
        ("reason", "looks fine"),
    ];
    let refused = site.post("/equipment/MILL-1", &release);
    assert!(refused.text().contains("finish the investigation"), "{}", refused.text());
}

#[test]
fn a_table_with_bad_rows_is_refused_whole_and_keeps_what_was_pasted() {
    let site = Site::demo();
    let table = "date,loss\n2024-01-02,14.2\nsoon,14.3\n2024-01-04,abc\n";
    let sent = [
        ("request", "import-reference"),
        ("lot", "RA-2"),
        ("apparatus", "MILL-1"),
        ("document", "invented book"),
        ("table", table),
    ];
    let refused = site.post("/control/RA-2", &sent);
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    refused.is_a_good_page();
    let text = refused.text();
    assert!(
        text.contains("Line 3: “soon” is not a day") && text.contains("Line 4: loss"),
        "{text}"
    );
    assert!(refused.body.contains("2024-01-04,abc"), "what was pasted stays");
    assert!(!site.get("/control/RA-2/MILL-1").text().contains("taken over"));
    let mut right = sent;
    right[4].1 = "date,loss,operator\n2024-01-02,14.2,MQ\n";
    assert_eq!(site.post("/control/RA-2", &right).onward(), "/control/RA-2");
    assert!(site.get("/control/RA-2/MILL-1").text().contains("M26-001-1, taken over"));
}

#[test]
fn a_lot_is_registered_and_a_baseline_frozen_there() {
    let site = Site::demo();
    let sent = [
        ("request", "register-lot"),
        ("lot", "ra-4"),
        ("name", "fourth lot"),
        ("source", "Karsholm"),
        ("method", "astm-d6928@2010"),
        ("grading", "19.0"),
        ("stock_g", "60 kg"),
    ];
    assert_eq!(site.post("/control/new", &sent).onward(), "/control/RA-4");
    let page = site.get("/control/RA-4");
    page.is_a_good_page();
    assert!(page.text().contains("60000 g left, enough for 40 results"), "{}", page.text());
    let freeze = [
        ("request", "freeze-baseline"),
        ("lot", "RA-3"),
        ("apparatus", "MILL-1"),
        ("centre", "mean"),
        ("spread", "moving-range"),
        ("reason", "all there are"),
        ("excluded.0.point", ""),
        ("excluded.0.reason", ""),
    ];
    let path = "/control/RA-3/MILL-1";
    let frozen = site.post(path, &freeze);
    assert_eq!(frozen.onward(), path, "{}", frozen.text());
    assert!(site.get(path).text().contains("all there are"));
}
