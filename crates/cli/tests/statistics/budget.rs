//! The budget of a loss, as a quality manager asks for it.

use crate::desk::{Desk, near, number};
use serde_json::Value;

const LINE: &str = "budget astm-d6928 --before 1500 --after 1278 --trials 100000";
const HISTORY: &str = "kind,first,second\nreference,12.1,\nreference,11.7,\nreference,12.5,\n\
                       reference,12.0,\nduplicate,14.8,15.1\nduplicate,11.0,10.8\n";

fn json(desk: &Desk, line: &str) -> Value {
    let said = desk.run(&format!("{line} --json"));
    assert_eq!((said.status, said.stderr.as_str()), (0, ""), "{line}");
    serde_json::from_str(&said.stdout).unwrap()
}

#[test]
fn without_inputs_only_what_is_published_counts_and_the_rest_is_not_known() {
    let desk = Desk::new();
    let found = json(&desk, LINE);
    let sources = found["bottom_up"]["contributions"].as_array().unwrap();
    let names: Vec<&str> = sources.iter().map(|s| s["source"].as_str().unwrap()).collect();
    assert_eq!(names, ["revolutions", "drying", "balance"]);
    for source in sources {
        assert!(source["basis"][0]["confidence"].is_string(), "{source}");
    }
    let unknown: Vec<&str> = found["not_known"]
        .as_array()
        .unwrap()
        .iter()
        .map(|s| s["source"].as_str().unwrap())
        .collect();
    assert_eq!(unknown, ["sieving", "charge", "temperature", "sampling"]);
    assert!(found["top_down"].is_null() && found["undefined"]["top_down"].is_string());
    // 100 of 12 000 revolutions are 0.83 % of the loss: 0.1233 % at 14.8 %, rectangular.
    let given = json(&desk, &format!("{LINE} --grading 19.0"));
    let revolutions = &given["bottom_up"]["contributions"][0];
    near(revolutions, "uncertainty", 14.8 * 100.0 / 12_000.0 / 3f64.sqrt(), 1e-9);
}

#[test]
fn both_ways_stand_side_by_side() {
    let desk = Desk::new();
    desk.write("inputs.toml", include_str!("../../src/statistics/budget/example.toml"));
    desk.write("history.csv", HISTORY);
    let line = format!(
        "{LINE} --inputs inputs.toml --history history.csv --assigned 12.0 --assigned-u 0.1 --svg c.svg"
    );
    let found = json(&desk, &line);
    near(&found, "bottom_up/first_order/value", 14.8, 1e-9);
    // By hand from the example: balance, sieving, charge, sampling, and the two of the method.
    let balance = 0.2 * (100.0 / 1500.0f64).hypot(100.0 * 1278.0 / 1500.0f64.powi(2));
    let drying = 0.0005 / 3f64.sqrt() * 100.0 * 1278.0 / 1500.0 * 2f64.sqrt();
    let parts = [
        balance,
        0.2 / 6f64.sqrt(),
        0.002 * 5.0 / 3f64.sqrt(),
        0.25,
        drying,
        14.8 * 100.0 / 9_500.0 / 3f64.sqrt(),
    ];
    let u = parts.iter().map(|p| p * p).sum::<f64>().sqrt();
    near(&found, "bottom_up/first_order/standard_uncertainty", u, 1e-6);
    near(&found, "bottom_up/monte_carlo/standard_deviation", u, 0.01);
    assert_eq!(found["bottom_up"]["contributions"][0]["source"], "sampling");
    // The method's balance gives way to the laboratory's.
    let balances = found["bottom_up"]["contributions"].as_array().unwrap();
    let balance = balances.iter().find(|c| c["source"] == "balance").unwrap();
    assert_eq!(balance["basis"].as_array().unwrap().len(), 1);
    near(&found, "top_down/bias", 0.075, 1e-9);
    near(&found, "top_down/repeatability", (0.13f64 / 4.0).sqrt(), 1e-9);
    assert!(number(&found, "top_down/expanded") > number(&found, "top_down/standard_uncertainty"));
    assert_eq!(found["not_known"][0]["source"], "temperature");
    let svg = std::fs::read_to_string(desk.path().join("c.svg")).unwrap();
    assert!(svg.starts_with("<svg") && svg.contains("temperature: not known"), "{svg}");
    let text = desk.run(&line).stdout;
    for word in ["steps, first order", "own results", "not known", "given by the laboratory"] {
        assert!(text.contains(word), "{word} in {text}");
    }
}

#[test]
fn faults_say_where_and_what() {
    let desk = Desk::new();
    desk.write("inputs.toml", "[[contributions]]\nsource = \"charge\"\nacts_on = \"moon\"\n");
    desk.write("history.csv", "kind,first,second\nreference,12.1,\nblank,1,2\n");
    let fault = |line: &str| {
        let said = desk.run(line);
        assert_eq!((said.status, said.stdout.as_str()), (2, ""), "{line}");
        said.stderr
    };
    let message = fault(&format!("{LINE} --inputs inputs.toml"));
    assert!(message.contains("inputs.toml") && message.contains("line 3"), "{message}");
    let message = fault(&format!("{LINE} --history history.csv --assigned 12"));
    assert!(message.contains("history.csv: line 3, column kind: \"blank\""), "{message}");
    desk.write("history.csv", HISTORY);
    assert!(fault(&format!("{LINE} --history history.csv")).contains("--assigned"));
    assert!(fault(&format!("{LINE} --grading 77")).contains("19.0"));
    assert!(fault("budget astm-d6928 --before 1278 --after 1500").contains("more"));
    assert_eq!(desk.run(&format!("{LINE} --inputs nowhere.toml")).status, 4);
}
