//! `stonewear procedure function-check`.

use crate::harness::Desk;

const MILL: &str = "name = \"jar mill in bay 2\"\ncontrol = [\"time\", \"revolutions\"]\n\
                    counter_senses = \"jar lid\"\nmode_change = \"power off and on\"\n";

#[test]
fn jars_come_in_after_everything_that_an_empty_machine_must_show() {
    let desk = Desk::new();
    desk.write("mill.toml", MILL);
    let check = desk.json("procedure function-check --apparatus mill.toml");
    let steps = check["steps"].as_array().unwrap();
    for step in steps {
        for key in ["id", "title", "jars", "tier", "position", "expect", "caution", "on_failure"] {
            assert!(step.get(key).is_some(), "{key} in {step}");
        }
    }
    let place = |id: &str| steps.iter().position(|step| step["id"] == id).unwrap();
    let first_in = steps.iter().position(|step| step["jars"] == "in").unwrap();
    // A counter on the jar lid counts nothing without jars: a run by revolutions then never ends.
    assert!(place("empty-revolutions") < first_in);
    assert!(place("interlock-start-guard") < first_in);
    assert!(place("take-jars-out") > first_in);
    // What was not described is named.
    let defaults = check["defaults_used"].as_array().unwrap();
    assert!(defaults.iter().any(|key| key.as_str().unwrap().starts_with("interlock")));
}

#[test]
fn a_wrong_description_names_the_line_and_what_would_be_right() {
    let desk = Desk::new();
    desk.write("mill.toml", "name = \"mill\"\ncounter_senses = \"lid\"\ncolour = \"grey\"\n");
    insta::assert_snapshot!(desk.fails(2, "procedure function-check --apparatus mill.toml"), @r#"
    stonewear: mill.toml, line 2: “lid” is not a value of “counter_senses”; write "jar lid" or "roller" or "nothing"
    mill.toml, line 3: “colour” is not a key of the file; write one of name, control, time_step, counter_senses, mode_change, after_power_loss, nominal_rpm, tiers, doors, interlock, separate_stop
    "#);
    insta::assert_snapshot!(desk.fails(4, "procedure function-check --apparatus none.toml"), @r"stonewear: none.toml cannot be read: No such file or directory (os error 2)");
}
