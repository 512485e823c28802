//! Files that people write, right and wrong.

use insta::assert_snapshot;
use stonewear_procedure::apparatus::{Control, CounterSenses};
use stonewear_procedure::{read_apparatus, read_procedures};

fn refusal(description: &str) -> String {
    read_apparatus("mill.toml", description).expect_err("the description is wrong").to_string()
}

#[test]
fn a_description_that_says_everything_assumes_nothing() {
    let described = read_apparatus(
        "mill.toml",
        r#"
name = "jar mill in bay 2"
control = ["time", "revolutions"]
time_step = "1 min"
counter_senses = "jar lid"
mode_change = "power off and on"
after_power_loss = "count lost"
nominal_rpm = 100
tiers = [{ name = "upper", positions = 1 }, { name = "lower", positions = 1 }]
doors = [{ name = "lower", close = 1, latch = false }, { name = "upper", close = 2, latch = true }]
interlock = true
separate_stop = true
"#,
    )
    .unwrap();
    assert_eq!(described.defaults_used, Vec::<String>::new());
    let apparatus = described.apparatus;
    assert_eq!(apparatus.control, [Control::Time, Control::Revolutions]);
    assert_eq!(apparatus.counter_senses, CounterSenses::JarLid);
    assert_eq!(apparatus.positions(), 2);
    let order: Vec<&str> =
        apparatus.doors_as_closed().iter().map(|door| door.name.as_str()).collect();
    assert_eq!(order, ["lower", "upper"]);
}

#[test]
fn what_was_assumed_is_named_as_the_file_would_write_it() {
    let assumed = |text| read_apparatus("mill.toml", text).unwrap().defaults_used.join("\n");
    assert_snapshot!(assumed(""), @r#"
    name = "jar mill"
    counter_senses = "roller"
    control = ["revolutions"]
    time_step = "1 min"
    mode_change = "at the panel"
    after_power_loss = "count lost"
    nominal_rpm = 100
    tiers = [{ name = "only", positions = 1 }]
    doors = [{ name = "guard", close = 1, latch = false }]
    interlock = true
    separate_stop = true
    "#);
    // Without a counter only time can end a run, and without a door there is no interlock.
    assert_snapshot!(assumed("counter_senses = \"nothing\"\ndoors = []"), @r#"
    name = "jar mill"
    control = ["time"]
    time_step = "1 min"
    mode_change = "at the panel"
    after_power_loss = "count lost"
    nominal_rpm = 100
    tiers = [{ name = "only", positions = 1 }]
    interlock = false
    separate_stop = true
    "#);
    assert_snapshot!(assumed("control = [\"time\"]\ntiers = [{}, { name = \"low\" }]\ndoors = [{}, {}]"), @r#"
    name = "jar mill"
    counter_senses = "nothing"
    time_step = "1 min"
    mode_change = "at the panel"
    after_power_loss = "count lost"
    nominal_rpm = 100
    tier 1: name = "tier 1"
    tier “tier 1”: positions = 1
    tier “low”: positions = 1
    door 1: name = "door 1"
    door “door 1”: close = 1
    door “door 1”: latch = false
    door 2: name = "door 2"
    door “door 2”: close = 2
    door “door 2”: latch = false
    interlock = true
    separate_stop = true
    "#);
}

#[test]
fn an_assumed_description_can_be_written_down_and_read_again() {
    for text in ["", "control = [\"time\"]", "doors = []"] {
        let first = read_apparatus("mill.toml", text).unwrap();
        let written = format!("{text}\n{}", first.defaults_used.join("\n"));
        let second = read_apparatus("mill.toml", &written).unwrap();
        assert_eq!(second.apparatus, first.apparatus);
        assert_eq!(second.defaults_used, Vec::<String>::new(), "{written}");
    }
}

#[test]
fn unknown_keys_and_values_are_refused_with_what_would_be_right() {
    assert_snapshot!(refusal("speed = 100\n\ncontrol = [\"turns\"]\ninterlock = \"yes\"\nnominal_rpm = \"fast\"\ntiers = [{ name = \"upper\", slots = 1 }]\n"), @r#"
    mill.toml, line 1: “speed” is not a key of the file; write one of name, control, time_step, counter_senses, mode_change, after_power_loss, nominal_rpm, tiers, doors, interlock, separate_stop
    mill.toml, line 3: “turns” is not a value of “control”; write "time" or "revolutions"
    mill.toml, line 4: “interlock” is a text; write true or false
    mill.toml, line 5: “nominal_rpm” cannot be read; “fast” is not a number; write digits with at most one decimal point, like 1500.2
    mill.toml, line 6: “slots” is not a key of tier 1; write one of name, positions
    "#);
    assert_snapshot!(refusal("name = \"mill\"\ncontrol = [\"time\"\n"), @r#"mill.toml, line 2: unclosed array, expected `]`; write it as TOML: `key = value`"#);
    assert_snapshot!(refusal("nominal_rpm = 0x64\ntiers = 2\ndoors = [\"front\"]"), @r#"
    mill.toml, line 1: “nominal_rpm” is a number in an unusual form or place; write a number, such as 100 or 9.5
    mill.toml, line 2: “tiers” is a number in an unusual form or place; write a list in square brackets
    mill.toml, line 3: “door 1” is a text; write a table, such as { name = "upper" }
    "#);
}

#[test]
fn contradictions_are_reported_together_with_their_lines() {
    assert_snapshot!(refusal(r#"name = " "
control = ["time", "revolutions", "time"]
time_step = "a while"
counter_senses = "nothing"
nominal_rpm = 0
tiers = [
  { name = "upper", positions = 0 },
  { name = "Upper", positions = 1 },
]
doors = [
  { name = "front", close = 1 },
  { name = "rear", close = 1 },
  { name = "??", close = 0 },
]
"#), @r#"
mill.toml, line 1: the apparatus has no name; write what people call it
mill.toml, line 2: control names one way twice; write each way to end a run once
mill.toml, line 3: time_step is “a while”: it is not a number and a unit; write it like "1 min", "30 s" or "0.1 h"
mill.toml, line 4: a run is to end by revolutions, but the counter senses nothing; write control = ["time"], or counter_senses = "jar lid" or "roller"
mill.toml, line 5: nominal_rpm is 0; write the speed of a jar in revolutions per minute, 6 to 300; the methods ask for 100
mill.toml, line 7: tier “upper” has 0 positions; write how many jars lie on it, 1 to 24
mill.toml, line 8: two tiers are called “Upper”; give each its own name
mill.toml, line 12: two doors are closed as number 1; number the doors from 1 in the order in which they are closed
mill.toml, line 13: door 3 has no name with a letter or a digit; write what people call it
mill.toml, line 13: door “??” is closed as number 0; number the doors from 1 in the order in which they are closed
"#);
    assert_snapshot!(refusal("control = []\ntiers = []\ndoors = []\ninterlock = true\nnominal_rpm = 1e3"), @r#"mill.toml, line 5: “nominal_rpm” cannot be read; “1e3” is not a number; write digits with at most one decimal point, like 1500.2"#);
    assert_snapshot!(refusal("control = []\ntiers = []\ndoors = []\ninterlock = true\nnominal_rpm = 3000"), @r#"
    mill.toml, line 1: nothing can make a run end; write control = ["time"], ["revolutions"] or both
    mill.toml, line 2: the apparatus has no tier; write tiers = [{ name = "only", positions = 1 }]
    mill.toml, line 4: there is an interlock, but no door that could stop the drive; describe the doors, or write interlock = false
    mill.toml, line 5: nominal_rpm is 3000; write the speed of a jar in revolutions per minute, 6 to 300; the methods ask for 100
    "#);
}

#[test]
fn a_procedure_and_its_variants_are_read_exactly() {
    let text = r#"
id = "drop-check"
title = "drop check"
for = "stopwatch"
proves = ["drop"]
interval_months = { value = 3, source = "own record", confidence = "practice" }

[[step]]
id = "height"
title = "Height"
instruction = "Read the height."
expect = { observe = "number", what = "height", unit = "mm", limits = { lower = 9.50, upper = "10.5" }, source = "own", with = "caliper" }
on_failure = "Read again."

[[variant]]
id = "drop-check-low"
title = "low drop check"
step = [{ id = "height", limits = { upper = 2 }, source = "own, low" }]
"#;
    let procedures = read_procedures("drop-check.toml", text).unwrap();
    assert_eq!(procedures.len(), 2);
    insta::assert_snapshot!(serde_json::to_string(&procedures[0]).unwrap(), @r#"{"id":"drop-check","title":"drop check","for":"stopwatch","proves":["drop"],"needed_for_service":false,"interval_months":{"value":3,"source":"own record","confidence":"practice"},"step":[{"id":"height","title":"Height","instruction":"Read the height.","jars":"not-involved","expect":{"observe":"number","what":"height","unit":"mm","limits":{"lower":"9.50","upper":"10.5"},"source":"own","with":"caliper"},"on_failure":"Read again."}]}"#);
    let low = &procedures[1];
    assert_eq!(low.stands_for.as_deref(), Some("drop-check"));
    let changed = serde_json::to_value(&low.steps[0].expect).unwrap();
    assert_eq!(changed["limits"], serde_json::json!({ "upper": "2" }));
    assert_eq!(changed["source"], "own, low");
    assert_eq!(changed["what"], "height", "what is not changed stays");
}

#[test]
fn a_broken_procedure_is_refused_with_all_its_faults() {
    let refusal = |text| read_procedures("own.toml", text).unwrap_err().to_string();
    assert_snapshot!(refusal(r#"
id = "own"
title = "own"
for = "jars"
proves = ["x"]
interval_months = { value = 3 }
due = 4

[[step]]
id = "a"
title = "A"
instruction = ""
expect = { observe = "weighed", what = "x" }
on_failure = "Again."

[[step]]
title = "B"
instruction = "Do it."
expect = { observe = "number", what = "x", limits = { least = 3 } }
on_failure = "Again."

[[variant]]
id = "own-2"
title = "own 2"
"#), @r#"
own.toml, line 4: “jars” is not a value of “for”; write "apparatus" or "jar" or "ball-charge" or "balance" or "oven" or "sieve" or "thermometer" or "stopwatch" or "tachometer" or "caliper" or "drum" or "bath"
own.toml, line 6: interval_months has no “source”; write source = "…"
own.toml, line 6: interval_months has no “confidence”; write confidence = "seen", "memory", "practice" or "derived"
own.toml, line 7: “due” is not a key of the file; write one of id, title, for, proves, needed_for_service, interval_months, sources, step, variant
own.toml, line 12: “instruction” is empty; say it in words
own.toml, line 13: “weighed” is not a value of “observe”; write "seen" or "number"
own.toml, line 16: step 2 has no “id”; write id = "…"
own.toml, line 19: “least” is not a key of limits; write one of lower, upper
"#);
    assert_snapshot!(refusal(r#"
id = "own check"
title = "own"
for = "jar"
proves = []

[[step]]
id = "a"
title = "A"
instruction = "Run it."
jars = "in"
expect = { observe = "seen", what = "x" }
on_failure = "Again."
back_to = "b"

[[step]]
id = "a"
title = "B"
instruction = "Run it empty."
jars = "out"
expect = { observe = "number", what = "x", limits = { lower = 3, upper = 2 } }
on_failure = "Again."
"#), @r#"
own.toml, line 1: “own check” is not a name for a procedure; write letters, digits and hyphens, like charge-mass
own.toml, line 1: the procedure proves nothing; write proves = ["mass"] or another attribute
own.toml, line 7: the step “a” goes back to “b”, which is no step before it; write one of a
own.toml, line 7: the step “a” has jars in the machine and no caution; write caution = { text = "…", source = "…" }
own.toml, line 16: two steps are called “a”; give each step its own id
own.toml, line 16: “x” must be at least 3 and at most 2; write the smaller one as lower
own.toml, line 16: the limits of “x” have no source; name the document, or write `common practice, no published source`
own.toml, line 16: the step “a” comes while jars still lie in the machine; put a step “take-jars-out” with jars = "in" before it
"#);
    assert_snapshot!(refusal("id = \"own\"\ntitle = \"own\"\nfor = \"jar\"\nproves = [\"x\"]\n[[step]]\nid = \"a\"\ntitle = \"A\"\ninstruction = \"See.\"\nexpect = { observe = \"seen\", what = \"x\" }\non_failure = \"Again.\"\n[[variant]]\nid = \"b\"\ntitle = \"B\"\nstep = [{ id = \"a\", source = \"own\" }]\n"), @r#"own.toml, line 14: the variant changes “a”, which is no step in which a number is read; write one of a"#);
}

/// A difference is of two readings of its step, or from one earlier step that read the same unit.
#[test]
fn a_difference_says_what_it_is_between() {
    let file = |difference: &str| {
        format!(
            r#"
id = "own"
title = "own"
for = "jar"
proves = ["seal"]
[[step]]
id = "before"
title = "Before"
instruction = "Weigh it."
expect = {{ observe = "number", what = "mass before", unit = "g" }}
on_failure = "Again."
[[step]]
id = "wide"
title = "Wide"
instruction = "Measure it."
expect = {{ observe = "number", what = "width", unit = "mm" }}
on_failure = "Again."
[[step]]
id = "after"
title = "After"
instruction = "Weigh it."
expect = {{ observe = "number", what = "mass lost", unit = "g", difference = {difference} }}
on_failure = "Again."
"#
        )
    };
    for (difference, says) in [
        (r#"{ read = "after", from = "before" }"#, ""),
        (r#"{ read = "first", less = "second" }"#, ""),
        (
            r#"{ read = "after", from = "before", less = "x" }"#,
            "own.toml, line 22: the difference is taken between two readings here and from an earlier step; write less",
        ),
        (r#"{ read = "after" }"#, "own.toml, line 22: difference has no “less”; write less"),
        (r#"{ less = "after" }"#, "own.toml, line 22: difference has no “read”; write read"),
        (
            r#"{ read = "after", from = "wide" }"#,
            "takes its difference from “wide”, which is no step before it that reads a number in “g”; write one of before",
        ),
        (r#"{ read = "after", from = "after" }"#, "which is no step before it that reads"),
    ] {
        match read_procedures("own.toml", &file(difference)) {
            Ok(_) => assert!(says.is_empty(), "{difference} was taken"),
            Err(faults) => {
                let said = faults.to_string();
                assert!(!says.is_empty() && said.contains(says), "{difference}: {said}");
            }
        }
    }
}
