//! The pages of the wear of a charge and of experiments, in the demo laboratory.

use crate::markup;
use crate::site::{Answer, Site};
use axum::http::StatusCode;

fn seated() -> Site {
    let mut site = Site::demo();
    site.seat = "IK".to_owned();
    site
}

fn good(answer: &Answer) {
    assert_eq!(answer.status, StatusCode::OK, "{}", answer.body);
    assert_eq!(markup::faults(&answer.body), Vec::<String>::new());
}

#[test]
fn the_wear_of_a_charge_is_a_picture_a_table_a_csv_and_a_paper() {
    let site = seated();
    let item = site.get("/equipment/BC-1");
    assert!(item.body.contains("href=\"/equipment/BC-1/wear\""));
    let page = site.get("/equipment/BC-1/wear");
    good(&page);
    for says in [
        "It loses 0.0",
        "it will fall below 4995 g after about ",
        "4995 to 5005 g: ASTM D6928",
        "2 balls added",
        "Rate rests on",
        "Balls below the nominal size",
        "crushed limestone 10/20",
        "Local codes and licensed practice come first.",
    ] {
        assert!(page.text().contains(says), "{says}\n{}", page.text());
    }
    assert!(
        page.body.contains("class=\"picture plot\"") && page.body.contains(">balls added</text>")
    );
    let csv = site.get("/equipment/BC-1/wear.csv");
    assert!(csv.header("content-type").starts_with("text/csv"));
    let lines: Vec<&str> = csv.body.lines().collect();
    assert_eq!(lines[0], "Revolutions,\"Mass, g\",Read,Day");
    assert!(lines[1].starts_with("0,5003.9,check C24-"), "{}", lines[1]);
    // Every reading of the picture stands in the table beside it and in the file.
    let points = page.body.matches("<circle").count() / 2;
    assert_eq!(lines.len() - 1, points);
    assert!(site.get("/equipment/BC-1/wear.pdf").body.starts_with("%PDF of Ball charge BC-1"));
    for path in ["/equipment/JAR-1/wear", "/equipment/NONE/wear.csv", "/equipment/JAR-1/wear.pdf"] {
        assert_eq!(site.get(path).status, StatusCode::NOT_FOUND, "{path}");
    }
    let jar = site.get("/equipment/JAR-1");
    assert!(jar.text().contains("since it is on record"), "{}", jar.text());
}

#[test]
fn balls_are_added_on_the_page_and_a_slip_stands_at_its_field() {
    let site = seated();
    let add = |after: &str| {
        site.post(
            "/equipment/BC-2/wear",
            &[
                ("request", "change-charge"),
                ("charge", "BC-2"),
                ("change", "added"),
                ("before_g", "4996.2"),
                ("after_g", after),
                ("balls", "2"),
                ("balance", "BAL-2"),
                ("reason", "worn"),
            ],
        )
    };
    let slip = add("4990");
    assert_eq!(slip.status, StatusCode::UNPROCESSABLE_ENTITY);
    let says = "With balls added the charge cannot weigh 4990 g after 4996.2 g.";
    assert!(slip.text().contains(says), "{}", slip.text());
    assert_eq!(add("5003.2").onward(), "/equipment/BC-2/wear");
    let page = site.get("/equipment/BC-2/wear");
    assert!(page.text().contains("2 balls added, 4996.2 g to 5003.2 g"), "{}", page.text());
}

#[test]
fn an_experiment_proposes_its_sensitivity_and_one_click_records_it() {
    let site = seated();
    assert!(site.get("/methods/astm-d6928@2010").body.contains("href=\"/experiments\""));
    let list = site.get("/experiments");
    good(&list);
    let path = markup::links(&list.body)
        .into_iter()
        .find(|link| link.starts_with("/experiments/X"))
        .unwrap();
    let page = site.get(&path);
    good(&page);
    assert!(page.text().contains("of itself per 1 % more revolutions"), "{}", page.text());
    let form = markup::forms(&page.body)
        .into_iter()
        .find(|form| form.request() == "record-sensitivity")
        .unwrap();
    let hidden: Vec<(&str, &str)> =
        form.hidden.iter().map(|(name, value)| (name.as_str(), value.as_str())).collect();
    let before = site.facts();
    site.post(&path, &hidden).onward();
    assert_eq!(site.facts(), before + 1);
    assert!(site.get(&path).text().contains("Doubts are worked out with it."));
    let method = site.get("/methods/astm-d6928@2010");
    assert!(method.text().contains("loss over revolutions, dolerite"), "{}", method.text());

    let code = path.trim_start_matches("/experiments/");
    assert_eq!(site.get(&format!("/find?q={code}")).header("location"), path);
    let csv = site.get(&format!("{path}/runs.csv"));
    assert_eq!(csv.body.lines().count(), 7, "{}", csv.body);
    let paper = site.get(&format!("{path}/sheet.pdf"));
    assert!(
        paper.body.starts_with(&format!("%PDF of Experiment {code}: loss over")),
        "{}",
        paper.body
    );
    // Its specimens say what they are.
    let specimen = csv.body.lines().nth(1).unwrap().split(',').nth(2).unwrap().to_owned();
    let page = site.get(&format!("/specimens/{specimen}"));
    assert!(page.text().contains("It gives no result of its sample."), "{}", page.text());
}

#[test]
fn a_plan_made_on_the_page_keeps_its_seed() {
    let site = seated();
    let new = "/experiments/new?method=astm-d6928@2010";
    let page = site.get(new);
    good(&page);
    let fields = [
        ("request", "plan-experiment"),
        ("title", "loss over charge"),
        ("condition", "charge"),
        ("method", "astm-d6928@2010"),
        ("grading", "19.0"),
        ("levels.0", "4900"),
        ("levels.1", "5100"),
        ("replicates", "2"),
        ("seed", "4711"),
    ];
    let slip: Vec<_> = fields.into_iter().filter(|(name, _)| *name != "levels.1").collect();
    let refused = site.post("/experiments/new", &slip);
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(refused.text().contains("Fewer than two levels are named."), "{}", refused.text());
    assert!(refused.body.contains("value=\"4711\""), "the seed stays as it was");
    let path = site.post("/experiments/new", &fields).onward().to_owned();
    let page = site.get(&path);
    good(&page);
    assert!(page.text().contains("in an order drawn from the seed 4711"), "{}", page.text());
    assert!(page.text().contains("Nothing is fitted yet"), "{}", page.text());
    assert_eq!(site.get("/experiments/new?method=astm-c127").status, StatusCode::NOT_FOUND);
}
