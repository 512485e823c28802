//! Corrections, interruptions and experiments by command, in the demo laboratory.

use crate::harness::Desk;

fn demo() -> (Desk, String) {
    let desk = Desk::new();
    desk.done("demo --dir laboratory --found-only");
    let next = desk.json("show");
    let run = next["next"].as_array().unwrap().iter().find_map(|one| one["run"].as_str());
    (desk, run.expect("the demo leaves a run turning").to_owned())
}

/// 4 310 revolutions, then 6 190 after the counter began again: 10 500 in all.
#[test]
fn an_interrupted_run_is_resumed_and_its_turnings_add_up() {
    let (desk, run) = demo();
    desk.done(&format!(
        "run interrupt --by MQ {run} --revolutions 4310 --minutes 43.1 --reason 'power cut'"
    ));
    let twice = desk.fails(
        3,
        &format!("run interrupt --by MQ {run} --revolutions 1 --minutes 1 --reason again"),
    );
    assert!(twice.contains("is already interrupted"), "{twice}");
    desk.done(&format!("run resume --by MQ {run}"));
    let stop = format!("run stop --by MQ {run} --minutes 61.9");
    let wrong = desk.fails(3, &format!("{stop} --revolutions 10500"));
    assert!(wrong.contains("--revolutions: the count is 14810 revolutions"), "{wrong}");
    // By the clock no minute has passed: this is asked about, and answered.
    let early = desk.fails(3, &format!("{stop} --revolutions 6190"));
    assert!(early.contains("began to turn 0 min ago"), "{early}");
    desk.done(&format!("{stop} --revolutions 6190 --deviation 'entered after the run'"));
}

#[test]
fn a_corrected_condition_makes_a_new_version_to_be_released_again() {
    let (desk, _) = demo();
    let shown = desk.json("show");
    let result = shown["results"]
        .as_array()
        .unwrap()
        .iter()
        .rev()
        .find(|one| one["released_by"].is_string() && one["method"] == "astm-d6928@2010")
        .unwrap()["result"]
        .as_str()
        .unwrap()
        .to_owned();
    let evidence = desk.json(&format!("evidence {result}"));
    let links = evidence["evidence"].as_array().unwrap();
    let code = |kind: &str| links.iter().find(|link| link["kind"] == kind).unwrap()["code"].clone();
    let (run, specimen) = (code("run"), code("specimen"));
    let (run, specimen) = (run.as_str().unwrap(), specimen.as_str().unwrap());
    let correct =
        format!("run correct --by MQ {run} --specimen {specimen} --water-temperature 21.5");
    let facts = desk.json(&format!("{correct} --reason 'read off the wrong scale'"));
    assert_eq!(facts["facts"][0]["kind"], "run-corrected");
    assert_eq!(facts["facts"][1]["kind"], "result-revised");
    let again = desk.fails(3, &format!("{correct} --reason 'the same'"));
    assert!(again.contains("nothing changes"), "{again}");
}

#[test]
fn an_experiment_sizes_the_doubt_about_a_charge() {
    let (desk, _) = demo();
    let effect = |desk: &Desk| {
        let answer = desk.json("doubt BC-1 mass --found 4900");
        answer["results"][0]["effect"].as_str().unwrap().to_owned()
    };
    assert_eq!(effect(&desk), "not-known");
    desk.done(
        "sensitivity record --by IK charge --method astm-d6928 --percent-of-loss 0.9 \
         --uncertainty 0.3 --experiment 'report X-4'",
    );
    assert_eq!(effect(&desk), "moves");
    assert_eq!(
        desk.done("sensitivity list"),
        "astm-d6928@2010: 0.9 ± 0.3 (k = 2) % of the loss per 1 % more charge (report X-4)\n"
    );
}

#[test]
fn a_check_that_was_not_passed_after_all_holds_its_item() {
    let (desk, _) = demo();
    let checks = desk.json("check list --of BAL-1");
    let check = checks["checks"][0]["check"].as_str().unwrap().to_owned();
    let said = desk.done(&format!(
        "check correct --by MQ {check} repeatability 1009 --less 1000 --reason 'digits were swapped'"
    ));
    for told in ["not as it must be", "not passed", "BAL-1 is held", "results in doubt: "] {
        assert!(said.contains(told), "{told}: {said}");
    }
}

#[test]
fn a_specimen_dries_to_constant_mass() {
    let (desk, _) = demo();
    let next = desk.json("show");
    let waiting = next["next"].as_array().unwrap().iter().find(|one| one["next"] == "start-run");
    let specimen = waiting.unwrap()["specimen"].as_str().unwrap().to_owned();
    let said =
        desk.done(&format!("weigh drying --by MQ {specimen} 1499.5 --balance BAL-1 --oven OVEN-1"));
    assert!(said.contains("one weighing does not show"), "{said}");
    assert!(desk.done(&format!("specimen soak --by MQ {specimen}")).contains("lies in its water"));
}
