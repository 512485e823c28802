//! The pages of designed studies, in the demo laboratory.

use crate::markup;
use crate::site::{Answer, Site};
use axum::http::StatusCode;

/// The two studies of the demo: the positions, concluded; the qualification, in progress.
const POSITIONS: &str = "/studies/Y26-001";
const QUALIFICATION: &str = "/studies/Y26-002";

/// A 5 × 5 Latin square, five rocket propellants over batches and operators: D. C. Montgomery,
/// Design and Analysis of Experiments, example 4.3, tables 4.9 to 4.12 (from memory, unconfirmed).
const PROPELLANTS: &str = "batch,operator,propellant,rate\n\
    1,1,A,24\n1,2,B,20\n1,3,C,19\n1,4,D,24\n1,5,E,24\n\
    2,1,B,17\n2,2,C,24\n2,3,D,30\n2,4,E,27\n2,5,A,36\n\
    3,1,C,18\n3,2,D,38\n3,3,E,26\n3,4,A,27\n3,5,B,21\n\
    4,1,D,26\n4,2,E,31\n4,3,A,26\n4,4,B,23\n4,5,C,22\n\
    5,1,E,22\n5,2,A,30\n5,3,B,20\n5,4,C,29\n5,5,D,31\n";

fn seated(who: &str) -> Site {
    let mut site = Site::demo();
    site.seat = who.to_owned();
    site
}

fn good(answer: &Answer) {
    assert_eq!(answer.status, StatusCode::OK, "{}", answer.body);
    assert_eq!(markup::faults(&answer.body), Vec::<String>::new());
}

fn says(page: &Answer, all: &[&str]) {
    for words in all {
        assert!(page.text().contains(words), "{words}\n{}", page.text());
    }
}

#[test]
fn a_concluded_study_is_a_verdict_pictures_tables_a_csv_and_papers() {
    let site = seated("IK");
    assert!(site.get("/control").body.contains("href=\"/studies\""));
    let list = site.get("/studies");
    good(&list);
    says(&list, &["Latin square", "concluded", "16 of 16 runs", "3 of 6 runs"]);
    let page = site.get(POSITIONS);
    good(&page);
    says(
        &page,
        &[
            "No difference between the levels of position was found",
            "a smaller one may have stayed unseen",
            "position (upper-1, upper-2, lower-1 and lower-2)",
            "positions and jars are used as they come",
            "Two levels whose bars do not overlap differ.",
            "from bench notebook 4, pages 12 to 15",
            "Analysis of variance",
        ],
    );
    // A picture for each factor, and no form where nothing is left to do.
    assert_eq!(page.body.matches("picture means-chart").count(), 3, "{}", page.body);
    assert!(!markup::forms(&page.body).iter().any(|form| form.request().ends_with("-study")));
    let runs = site.get(&format!("{POSITIONS}/runs.csv"));
    assert!(runs.header("content-type").starts_with("text/csv"));
    let lines: Vec<&str> = runs.body.lines().collect();
    assert_eq!(lines[0], "Run,Position,Jar,Turning,Specimen,\"Loss, %\",Remark");
    assert_eq!(lines.len(), 17);
    let means = site.get(&format!("{POSITIONS}/means.csv"));
    assert_eq!(means.body.lines().count(), 13, "{}", means.body);
    // The mean in the file is that of the runs in the other file.
    let cells = |line: &str| line.split(',').map(str::to_owned).collect::<Vec<_>>();
    let of_jar: Vec<f64> = lines[1..]
        .iter()
        .map(|line| cells(line))
        .filter(|cells| cells[2] == "JAR-2")
        .map(|cells| cells[5].parse().unwrap())
        .collect();
    assert_eq!(of_jar.len(), 4);
    let mean = means.body.lines().map(cells).find(|cells| cells[1] == "JAR-2").unwrap();
    let said: f64 = mean[3].parse().unwrap();
    assert!((said - of_jar.iter().sum::<f64>() / 4.0).abs() < 0.0051, "{said} {of_jar:?}");
    for paper in ["plan.pdf", "report.pdf"] {
        let pdf = site.get(&format!("{POSITIONS}/{paper}"));
        assert!(pdf.body.starts_with("%PDF of Study Y26-001: are the four"), "{}", pdf.body);
    }
    for path in ["/studies/NONE", "/studies/NONE/plan.pdf", "/studies/Y26-001/other.csv"] {
        assert_eq!(site.get(path).status, StatusCode::NOT_FOUND, "{path}");
    }
}

#[test]
fn a_study_in_progress_says_what_is_next_and_stands_on_the_page_of_its_machine() {
    let site = seated("IK");
    let page = site.get(QUALIFICATION);
    good(&page);
    says(
        &page,
        &[
            "Does it find the reference value?",
            "do not stop because of it",
            "Next is run 4",
            "14.20 % loss, standard uncertainty 0.12 % loss",
            "these results can be the baseline of its control chart",
            "Make-up list",
            "Local codes and licensed practice come first.",
        ],
    );
    let machine = site.get("/equipment/MILL-1");
    good(&machine);
    for path in [POSITIONS, QUALIFICATION] {
        assert!(machine.body.contains(&format!("href=\"{path}\"")), "{path}");
    }
    assert!(!site.get("/equipment/BC-1").body.contains("href=\"/studies"));
    let runs = site.get(&format!("{QUALIFICATION}/runs.csv"));
    let specimen = runs.body.lines().nth(1).unwrap().split(',').nth(1).unwrap().to_owned();
    let page = site.get(&format!("/specimens/{specimen}"));
    says(&page, &["Run 1 of Y26-002"]);
    // Its run holds several jars: one correction form at a time, so that every field has its own id.
    let run =
        markup::links(&page.body).into_iter().find(|link| link.starts_with("/runs/R")).unwrap();
    let turned = site.get(&run);
    good(&turned);
    let correct = format!("{run}?correct={specimen}");
    assert!(turned.body.contains(&format!("{correct}#correction")), "{}", turned.body);
    let chosen = site.get(&correct);
    good(&chosen);
    assert!(markup::forms(&chosen.body).iter().any(|form| form.request() == "correct-run"));
    // A specimen has one run: taking it again is refused at its field.
    let again = site.post(
        QUALIFICATION,
        &[
            ("request", "assign-study-run"),
            ("study", "Y26-002"),
            ("run", "4"),
            ("specimen", &specimen),
        ],
    );
    assert_eq!(again.status, StatusCode::UNPROCESSABLE_ENTITY);
    says(&again, &["is the specimen of run 1 of Y26-002"]);
}

#[test]
fn a_conclusion_with_missing_runs_needs_a_reason_and_is_kept() {
    let site = seated("TR");
    let conclude = |deviation: &str| {
        site.post(
            QUALIFICATION,
            &[
                ("request", "conclude-study"),
                ("study", "Y26-002"),
                ("remark", "the mill stays held"),
                ("deviation", deviation),
            ],
        )
    };
    let refused = conclude("");
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    says(&refused, &["hese runs have no value: 4, 5 and 6", "Do it all the same"]);
    conclude("the sample is used up").onward();
    let page = site.get(QUALIFICATION);
    good(&page);
    says(&page, &["the mill stays held", "the sample is used up", "concluded"]);
    assert!(markup::forms(&page.body).iter().all(|form| form.request() != "conclude-study"));
}

#[test]
fn a_published_latin_square_comes_through_the_page() {
    let site = seated("IK");
    let new = "/studies/new?from=table";
    good(&site.get(new));
    let path = site
        .post(
            new,
            &[
                ("request", "plan-study"),
                ("title", "five propellants"),
                ("question", "same"),
                ("table", PROPELLANTS),
                ("unit", "units"),
                ("document", "Montgomery, example 4.3"),
            ],
        )
        .onward()
        .to_owned();
    let page = site.get(&path);
    good(&page);
    says(
        &page,
        &[
            "Latin square",
            "The levels of propellant are not the same (p = 0.0025)",
            "No difference between the levels of batch was found",
            "propellant433082.57.73440.0025",
            "Whether their order was left to chance is not known here.",
        ],
    );
    assert!(!page.text().contains("Give a run its specimen"));
    let means = site.get(&format!("{path}/means.csv"));
    assert!(means.body.contains("propellant,A,5,28.6,"), "{}", means.body);
}

#[test]
fn a_plan_made_on_the_page_keeps_its_seed_and_stops_at_what_is_wrong() {
    let site = seated("IK");
    let page = site.get("/studies/new?question=reference&item=MILL-1");
    good(&page);
    assert!(page.body.contains("value=\"MILL-1\""));
    let sample = site.get("/samples").body;
    let sample = markup::links(&sample)
        .into_iter()
        .find_map(|link| link.strip_prefix("/samples/S").map(|code| format!("S{code}")))
        .unwrap();
    let fields = [
        ("request", "plan-study"),
        ("title", "two operators"),
        ("question", "same"),
        ("method", "astm-d6928"),
        ("sample", sample.as_str()),
        ("factors.0.name", "operator"),
        ("factors.0.levels", "DO, MQ"),
        ("difference", "1"),
        ("deviation", "0.4"),
        ("deviation_source", "invented"),
        ("seed", "4711"),
    ];
    let slip: Vec<_> = fields
        .into_iter()
        .map(|(name, value)| if value == "DO, MQ" { (name, "DO, XX") } else { (name, value) })
        .collect();
    let refused = site.post("/studies/new", &slip);
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    says(&refused, &["obody here has the initials “XX”"]);
    assert!(refused.body.contains("value=\"4711\""), "the seed stays as it was");
    let path = site.post("/studies/new", &fields).onward().to_owned();
    let page = site.get(&path);
    good(&page);
    says(&page, &["from the seed 4711", "Next is run 1", "No run has a value yet"]);
    let plan = site.get(&format!("{path}/plan.pdf"));
    assert!(plan.body.starts_with("%PDF of Study"), "{}", plan.body);
    assert_eq!(site.get(&format!("{path}/means.csv")).status, StatusCode::NOT_FOUND);
}

/// What a field of a page shows before anybody types.
fn value_of<'t>(tags: &'t [markup::Tag], name: &str) -> &'t str {
    let field = tags.iter().find(|tag| tag.attribute("name") == Some(name));
    field.unwrap_or_else(|| panic!("{name}")).attribute("value").unwrap_or_default()
}

#[test]
fn a_qualification_begins_with_the_value_of_a_lot_and_ends_in_the_baseline_of_its_chart() {
    let site = seated("IK");
    let lot = [
        ("request", "register-lot"),
        ("lot", "RM-1"),
        ("name", "reference stone with a certificate, invented"),
        ("source", "invented provider"),
        ("method", "astm-d6928"),
        ("grading", "19.0"),
        ("stock_g", "20 kg"),
        ("assigned_percent", "14.7"),
        ("expanded_percent", "0.3"),
        ("document", "certificate 12, invented"),
    ];
    let page = site.post("/control/new", &lot).onward().to_owned();
    let plan = "/studies/new?question=reference&lot=RM-1";
    assert!(markup::links(&site.get(&page).body).contains(plan));
    // The machine's own page proposes the newest lot that has a value.
    let of_machine = "/studies/new?question=reference&item=MILL-1&lot=RM-1";
    assert!(markup::links(&site.get("/equipment/MILL-1").body).contains(of_machine));
    let body = site.get(of_machine).body;
    let tags = markup::read(&body).unwrap();
    for (field, wanted) in [
        ("reference_value", "14.7"),
        ("reference_uncertainty", "0.15"),
        ("reference_source", "certificate 12, invented"),
        ("item", "MILL-1"),
    ] {
        assert_eq!(value_of(&tags, field), wanted, "{field}");
    }

    // The runs of the qualification are named in the form of the baseline, from first to last, once
    // its sample is known to be of the lot.
    let study = site.get(QUALIFICATION).body;
    assert!(markup::links(&study).iter().all(|link| !link.contains("study=Y26-002")));
    let sample = study.split("S26-").nth(1).map(|rest| format!("S26-{}", &rest[..3])).unwrap();
    let link = [("request", "link-sample"), ("sample", sample.as_str()), ("lot", "RM-1")];
    site.post(&format!("/samples/{sample}"), &link).onward();
    let study = site.get(QUALIFICATION);
    let freeze = markup::links(&study.body)
        .into_iter()
        .find(|link| link.starts_with("/control/") && link.contains("study=Y26-002"))
        .expect("a way to the baseline");
    let results: Vec<String> = markup::links(&study.body)
        .into_iter()
        .filter(|link| link.starts_with("/results/L"))
        .collect();
    let chart = site.get(&freeze);
    good(&chart);
    let tags = markup::read(&chart.body).unwrap();
    let ends = [value_of(&tags, "first"), value_of(&tags, "last")];
    for end in ends {
        assert!(results.contains(&format!("/results/{end}")), "{end}: {results:?}");
    }
    assert_ne!(ends[0], ends[1]);
    assert_eq!(value_of(&tags, "reason"), "the runs of the qualification Y26-002");
}
