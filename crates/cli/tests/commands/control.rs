//! Reference aggregate, control charts and investigations by command.

use crate::harness::Desk;

fn demo() -> Desk {
    let desk = Desk::new();
    desk.done("demo --dir laboratory --found-only");
    desk
}

#[test]
fn the_status_says_where_every_chart_stands() {
    let desk = demo();
    let said = desk.done("control status");
    for part in ["RA-2 on MILL-1: in control", "RA-3 on MILL-1: in control", "one in 225 results"] {
        assert!(said.contains(part), "{part}: {said}");
    }
    let status = desk.json("control status");
    // The mill that was sold had its runs of the first lot, too.
    assert_eq!(status["charts"].as_array().unwrap().len(), 3);
    assert_eq!(status["open"], serde_json::json!([]));
    let chart = desk.json("control chart RA-2 MILL-1");
    assert_eq!(chart["state"], "in-control");
    let points = chart["chart"]["points"].as_array().unwrap();
    assert!(points.iter().any(|point| point["signals"][0]["rule"] == "1"), "{points:?}");
    assert!(points[0]["loss_percent"].is_string(), "losses are decimals");
    assert!(desk.fails(2, "control chart RA-2 MILL-9").contains("near to it: MILL-"));
    let steps = desk.json("control show N26-001");
    assert!(steps["investigation"]["closed"]["value"]["cause"].is_string());
    assert!(desk.done("control show N26-001").contains("finished: "));
}

#[test]
fn lots_are_listed_with_their_stock_and_when_they_run_out() {
    let desk = demo();
    let said = desk.done("reference list");
    assert!(said.contains("RA-3 third lot of greywacke") && said.contains("runs out on"), "{said}");
    let lot = desk.json("reference show RA-3");
    assert_eq!(lot["lot"]["took_over"][0]["value"]["replaces"], "RA-2");
    assert!(desk.fails(2, "reference show RA-8").contains("near to it: RA-"));
}

#[test]
fn past_results_are_taken_over_frozen_and_drawn() {
    let desk = demo();
    let register = "reference register RA-4 --by IK --name 'fourth lot' --source Karsholm \
                    --method astm-d6928 --grading 19.0 --stock '60 kg'";
    insta::assert_snapshot!(desk.done(register), @"registered lot RA-4, fourth lot, 60000 g");
    let mut table = "date,loss,operator\n".to_owned();
    for day in 1..=24 {
        let tenths = 140 + (day * 7) % 10;
        let by = if day % 2 == 0 { "DO" } else { "MQ" };
        table += &format!("2025-01-{day:02},{}.{},{by}\n", tenths / 10, tenths % 10);
    }
    desk.write("book.csv", &table);
    let import =
        "reference import RA-4 --apparatus MILL-1 --file book.csv --document 'old book' --by IK";
    insta::assert_snapshot!(desk.done(import), @"took over 24 results of lot RA-4 on MILL-1 as M26-001");
    assert!(desk.fails(3, import).contains("was taken over already as M26-001"));
    desk.write("bad.csv", "date,loss\n2025-02-01,14.2\nsoon,abc\n");
    let bad = "reference import RA-4 --apparatus MILL-1 --file bad.csv --document other --by IK";
    let said = desk.fails(2, bad);
    assert!(said.contains("--file: line 3: “soon” is not a day"), "{said}");

    let freeze = "control baseline RA-4 --apparatus MILL-1 --by IK --reason 'all of January'";
    let said = desk.done(freeze);
    assert!(said.starts_with("froze the baseline of RA-4 on MILL-1: centre 14.4"), "{said}");
    desk.done("control chart RA-4 MILL-1 --csv chart.csv --svg chart.svg --pdf chart.pdf");
    let read = |name: &str| std::fs::read(desk.path().join(name)).unwrap();
    assert_eq!(String::from_utf8(read("chart.csv")).unwrap().lines().count(), 25);
    assert!(read("chart.svg").starts_with(b"<svg") && read("chart.pdf").starts_with(b"%PDF"));
    let event = "control event MILL-1 moved --note 'to bay 3' --by DO";
    assert!(desk.done(event).starts_with("MILL-1 moved on "));
    let unknown = desk.fails(2, "control investigate L24-001 --by DO --reason x");
    assert!(unknown.contains("is no result of a lot of reference aggregate"), "{unknown}");
}
