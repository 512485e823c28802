//! `stonewear person authorise` and its companions, `stonewear duplicates`, `stonewear due`.

use crate::harness::Desk;

#[test]
fn an_authorisation_is_granted_shown_suspended_and_due_before_it_runs_out() {
    let desk = Desk::founded();
    desk.done("method adopt --by AB astm-d6928");
    let grant = "person authorise --by AB CD --method astm-d6928 --for make-up,run";
    let no_evidence = desk.fails(3, grant);
    assert!(no_evidence.contains("nothing says on what evidence"), "{no_evidence}");
    let no_right = desk.fails(
        3,
        "person authorise --by AB CD --method astm-d6928 --for release --training 'record 7'",
    );
    assert!(no_right.contains("Cyd Dell has not the right to"), "{no_right}");
    desk.fails(
        3,
        "person authorise --by CD CD --method astm-d6928 --for run --training 'record 7'",
    );

    let granted = desk.json(&format!("{grant} --training 'record 7' --until 2099-11-30"));
    let code = granted["facts"][0]["authorisation"].as_str().unwrap().to_owned();
    assert_eq!(granted["facts"][0]["until"], "2099-11-30");

    let due = desk.json("due --until 2099-12-31");
    let about = due.to_string();
    assert!(about.contains(&code) && about.contains("2099-11-30"), "{about}");
    desk.done("due --ics due.ics --base http://bench:7007");
    let calendar = std::fs::read_to_string(desk.path().join("due.ics")).unwrap();
    assert!(calendar.starts_with("BEGIN:VCALENDAR\r\n"), "{calendar}");
    assert!(calendar.contains(&code), "{calendar}");
    let nobody = desk.fails(2, "due --person ZZ");
    assert!(nobody.contains("nobody here has the initials"), "{nobody}");

    desk.done(&format!("person suspend --by AB {code} --reason 'away for a year'"));
    assert!(desk.done("person show CD").contains("suspended"));
    assert!(!desk.json("due --until 2099-12-31").to_string().contains(&code));
}

#[test]
fn duplicates_of_nobody_are_said_and_printed() {
    let desk = Desk::founded();
    assert_eq!(desk.json("duplicates")["duplicates"], serde_json::json!([]));
    let unknown = desk.fails(2, "duplicates --method astm-d6928");
    assert!(unknown.contains("nothing was tested by “astm-d6928”"), "{unknown}");
    desk.done("duplicates --out duplicates.pdf");
    assert!(std::fs::read(desk.path().join("duplicates.pdf")).unwrap().starts_with(b"%PDF-"));
    assert!(desk.done("duplicates --csv").starts_with("method,person,sample,"));
}
