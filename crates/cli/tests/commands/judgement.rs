//! Policies, judgement, agreement and outside results by command.

use crate::harness::Desk;
use serde_json::Value;

/// The demo, and its results as `result show --json` gives them.
fn demo() -> (Desk, Vec<Value>) {
    let desk = Desk::new();
    desk.done("demo --dir laboratory --found-only");
    let overview = desk.json("show");
    let codes = overview["results"].as_array().unwrap().iter().rev().take(24);
    let shown = codes
        .map(|result| desk.json(&format!("result show {}", result["result"].as_str().unwrap())))
        .collect();
    (desk, shown)
}

#[test]
fn policies_are_listed_with_their_defaults_and_set_with_a_reason() {
    let desk = Desk::founded();
    let listed = desk.json("policy list");
    let policies = listed["policies"].as_array().unwrap();
    assert_eq!(policies.len(), 13);
    for policy in policies {
        assert_eq!(policy["value"], policy["default"], "{policy}");
        assert!(policy["decided"].is_null() && policy["source"] != "", "{policy}");
    }
    let set = "policy set --by AB decision-rule guarded --reason 'agreed'";
    insta::assert_snapshot!(desk.done(set), @"decision-rule is guarded from now on: guarded: within the limit by the expanded uncertainty conforms");
    insta::assert_snapshot!(desk.fails(3, set), @"stonewear: value: decision-rule is already guarded; nothing needs to be done");
    insta::assert_snapshot!(desk.fails(2, "policy set --by AB decision-rule lenient --reason x"), @"stonewear: value: “lenient” is not a value of decision-rule; write simple or guarded or guarded-conditional");
    insta::assert_snapshot!(desk.fails(2, "policy set --by AB mood good --reason x"), @"stonewear: policy: “mood” is not a policy; known: decision-rule, comparison, uncertainty, repeatability-limit, results-differ, release-by-another, authorisation, authorisation-months, control-rules, out-of-control, reference-interval, baseline-results and overlap-results");
    assert!(desk.fails(3, "policy set --by CD uncertainty 0.4 --reason x").contains("may not"));
    let listed = desk.json("policy list");
    let decided = &listed["policies"][0]["decided"];
    assert_eq!((&decided["by"], &decided["value"]["reason"]), (&"AB".into(), &"agreed".into()));
}

#[test]
fn a_result_shows_its_verdict_its_risk_and_its_pairs() {
    let (desk, shown) = demo();
    let in_guard_band = |result: &&Value| {
        result["judgement"]["verdict"] == "conforms-in-guard-band"
            && result["agreement"]["pairs"].as_array().is_some_and(|pairs| pairs.len() == 2)
    };
    let guarded = shown.iter().find(in_guard_band).expect("a verdict in the guard band");
    let wrong = guarded["probability_wrong"].as_f64().expect("a number");
    assert!(wrong > 0.0 && wrong < 0.5, "{wrong}");
    assert_eq!(guarded["undefined"], serde_json::json!({}));
    assert!(guarded["expanded_uncertainty"].is_string(), "decimals are strings");
    assert_eq!(guarded["versions"][0]["release"]["by"], "TR");
    let code = guarded["result"].as_str().unwrap();
    let said = desk.done(&format!("result show {code} --strict"));
    for part in
        ["conforms, within the guard band: required at most 17 %", "Kelsby Road", "(15.2 %)"]
    {
        assert!(said.contains(part), "{part}: {said}");
    }

    let differs = shown.iter().find(|result| {
        let pairs = result["agreement"]["pairs"].as_array().unwrap();
        pairs.iter().any(|pair| pair["verdict"] == "no")
    });
    let differs = differs.expect("a pair that differs");
    let deviation = &differs["versions"][0]["release"]["value"]["deviations"][0]["value"];
    assert_eq!(deviation["rule"], "results-differ", "{differs}");

    let fails = shown.iter().find(|result| {
        result["judgement"].is_null() || result["judgement"]["verdict"] == "does-not-conform"
    });
    if let Some(fails) = fails {
        let line = format!("result show {} --strict", fails["result"].as_str().unwrap());
        assert_eq!(desk.run(&line).status, 1);
    }
    assert!(desk.fails(2, "result show L1").starts_with("stonewear: there is no result “L1”"));
}

#[test]
fn what_another_laboratory_found_is_recorded_and_compared() {
    let (desk, shown) = demo();
    let result = shown.iter().find(|result| result["loss_percent"].is_string()).unwrap();
    let sample = result["sample"].as_str().unwrap();
    let outside = format!(
        "sample outside --by MQ {sample} --method astm-d6928 --other-laboratory Outsiders --document 'report 9'"
    );
    assert!(desk.fails(2, &format!("{outside} --loss 101")).contains("--loss: a loss of 101 %"));
    let said = desk.done(&format!("{outside} --loss 12.5"));
    assert_eq!(said, format!("Outsiders found 12.5 % of {sample}\n"));
    let again = desk.fails(3, &format!("{outside} --loss 12.6"));
    assert!(again.starts_with("stonewear: --reason: report 9 of Outsiders is already"), "{again}");
    let shown = desk.json(&format!("result show {}", result["result"].as_str().unwrap()));
    let pairs = shown["agreement"]["pairs"].as_array().unwrap();
    assert!(pairs.iter().any(|pair| pair["other"] == "Outsiders" && pair["of"] == "laboratories"));
}

/// A mass is replaced after the release: the next version says what it stands in place of.
#[test]
fn a_released_result_that_is_revised_says_what_it_replaces() {
    let (desk, shown) = demo();
    let result = shown.iter().find(|result| result["released"] == true).unwrap();
    let (code, specimen) =
        (result["result"].as_str().unwrap(), result["specimens"][0].as_str().unwrap());
    let kept = desk.json(&format!("show {specimen}"))["after"][0]["value"].clone();
    let mass: f64 = kept["mass_g"].as_str().unwrap().parse().unwrap();
    desk.done(&format!(
        "weigh after --by MQ {specimen} {} --balance BAL-1 --reason 'wrong line' --deviation 'the demo is old'",
        mass - 15.0
    ));
    let revised = desk.json(&format!("result show {code}"));
    assert_eq!((&revised["version"], &revised["released"]), (&2.into(), &false.into()));
    assert_eq!(revised["replaces"], format!("{code}/1"));
    assert!(revised["may_release"].as_array().unwrap().contains(&"TR".into()));
    let said = desk.done(&format!("result show {code}"));
    assert!(said.contains("(wrong line), not released\n"), "{said}");
    desk.done(&format!("release --by TR {code} --deviation 'as the first was'"));
    let released = desk.done(&format!("result show {code}"));
    assert!(released.contains(&format!("as report {code}/2")), "{released}");
}
