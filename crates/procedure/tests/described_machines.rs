//! The function check of described machines, step by step: what is asked, with which jars, and
//! what must be seen or read.

use insta::assert_snapshot;
use stonewear_procedure::{expect_in_words, function_check, read_apparatus, step_json};

/// Each step as `id [jars] expectation`.
fn check_of(description: &str) -> String {
    let described = read_apparatus("mill.toml", description).expect("a description");
    let line = |step: &stonewear_procedure::Step| {
        let jars = step_json(step)["jars"].as_str().unwrap_or("?").to_owned();
        let bench =
            if step.jars == stonewear_procedure::Jars::NotInvolved { ", bench" } else { "" };
        format!("{} [{jars}{bench}] {}", step.id, expect_in_words(&step.expect))
    };
    let steps = function_check(&described.apparatus).steps;
    steps.iter().map(line).collect::<Vec<_>>().join("\n")
}

#[test]
fn two_tiers_that_count_jar_lids_under_two_doors() {
    assert_snapshot!(check_of(r#"
        name = "jar mill in bay 2"
        control = ["time", "revolutions"]
        time_step = "1 min"
        counter_senses = "jar lid"
        mode_change = "power off and on"
        after_power_loss = "count lost"
        nominal_rpm = 100
        tiers = [{ name = "upper", positions = 1 }, { name = "lower", positions = 1 }]
        doors = [{ name = "lower", close = 1 }, { name = "upper", close = 2, latch = true }]
        interlock = true
    "#), @r#"
    machine-empty [out] no jar lies in the machine
    unpacked [out] everything is there and nothing is damaged
    level [out] the machine stands firm on all feet, level along and across the rollers
    power-supply [out] the supply is as the type plate asks, earthed and with ground-fault protection
    guard [out] every cover and door is there, tight and undamaged
    rollers-clean [out] no roller is oily, worn, cut or loose, and each turns freely
    sensor-clean [out] the sensor is clean and tight, and its cable is whole
    doors-close [out] every door closes without force in this order, and each latch holds when its door is pulled
    interlock-start-lower [out] the drive does not start while door “lower” is open
    interlock-start-upper [out] the drive does not start while door “upper” is open
    stop-by-hand [out] the drive starts when start is pressed and stops when stop is pressed
    interlock-stop-lower [out] the drive stops as soon as door “lower” opens, and does not start again by itself when it is closed
    interlock-stop-upper [out] the drive stops as soon as door “upper” opens, and does not start again by itself when it is closed
    rollers-upper [out] the driven rollers of tier “upper” turn evenly, without jerks, wobble or slip
    rollers-lower [out] the driven rollers of tier “lower” turn evenly, without jerks, wobble or slip
    noise [out] nothing knocks, grinds, squeals or rubs, and nothing gets hot
    empty-time [out] the drive stops by itself when 2 min have passed on the stopwatch
    count-empty-time [out] count shown after the empty run by time: exactly 0 turns
    mode-revolutions [out] the panel shows the control by revolutions, and the drive has not started
    empty-revolutions [out] the run does not end by itself: after 3 minutes the rollers still turn and the count is still 0; then the drive stops by hand
    count-empty-revolutions [out] count shown after the empty run by revolutions: exactly 0 turns
    power-returns [out] the rollers stand still until start is pressed
    power-mode [out] the panel shows which control it is in, and it has been brought back to the control by revolutions
    lid-marks [out, bench] every lid bears its mark, clean, whole and where the sensor passes it
    gaskets [out, bench] every seat is clean and every gasket lies in its groove, whole and soft
    charge [out, bench] the 2 jars hold equal masses of balls: each its own charge, or an even share
    water [out, bench] every jar is half full of tap water
    lids [out, bench] every lid lies flat and every knob is snug and not more
    watertight [out, bench] no jar shows a drop at its lid
    place-upper-1 [in] a jar lies straight on both rollers at position 1 of tier “upper”, with the marked lid to the sensor, and touches nothing else
    place-lower-1 [in] a jar lies straight on both rollers at position 1 of tier “lower”, with the marked lid to the sensor, and touches nothing else
    loaded-revolutions [in] the drive stops by itself at 200 turns
    count-loaded-revolutions [in] count shown after the run with jars by revolutions: 190 to 210 turns
    loaded-mode-time [in] the panel shows the control by time, and the drive has not started
    loaded-time [in] the drive stops by itself when 2 min have passed on the stopwatch
    count-loaded-time [in] count shown after the run with jars by time: 190 to 210 turns
    speed-upper-1 [in] turns in one minute of the jar at position 1 of tier “upper”: 95 to 105 turns in 1 min
    speed-lower-1 [in] turns in one minute of the jar at position 1 of tier “lower”: 95 to 105 turns in 1 min
    counter-against-count [in] counter less counted, over one minute: -1 to 1 turns
    power-count [in] count shown after the power has returned: exactly 0 turns
    take-jars-out [in] no jar lies in the machine any more
    no-leak [out, bench] tray, rollers and the outside of every jar are dry
    jars-emptied [out, bench] every ball is back in its charge, and jars, lids and balls are dry
    "#);
}

#[test]
fn one_tier_that_counts_its_shaft_under_one_door() {
    assert_snapshot!(check_of(r#"
        control = ["revolutions"]
        counter_senses = "roller"
        after_power_loss = "count kept"
        tiers = [{ name = "only", positions = 2 }]
        doors = [{ name = "hood", close = 1, latch = true }]
    "#), @r#"
    machine-empty [out] no jar lies in the machine
    unpacked [out] everything is there and nothing is damaged
    level [out] the machine stands firm on all feet, level along and across the rollers
    power-supply [out] the supply is as the type plate asks, earthed and with ground-fault protection
    guard [out] every cover and door is there, tight and undamaged
    rollers-clean [out] no roller is oily, worn, cut or loose, and each turns freely
    doors-close [out] the door closes without force, and its latch holds when it is pulled
    interlock-start-hood [out] the drive does not start while door “hood” is open
    stop-by-hand [out] the drive starts when start is pressed and stops when stop is pressed
    interlock-stop-hood [out] the drive stops as soon as door “hood” opens, and does not start again by itself when it is closed
    rollers-only [out] the driven rollers of tier “only” turn evenly, without jerks, wobble or slip
    noise [out] nothing knocks, grinds, squeals or rubs, and nothing gets hot
    empty-revolutions [out] the drive stops by itself at 200 turns
    count-empty-revolutions [out] count shown after the empty run by revolutions: 190 to 210 turns
    power-returns [out] the rollers stand still until start is pressed
    power-count [out] the count is the one shown before the interruption: it was kept
    gaskets [out, bench] every seat is clean and every gasket lies in its groove, whole and soft
    charge [out, bench] the 2 jars hold equal masses of balls: each its own charge, or an even share
    water [out, bench] every jar is half full of tap water
    lids [out, bench] every lid lies flat and every knob is snug and not more
    watertight [out, bench] no jar shows a drop at its lid
    place-only-1 [in] a jar lies straight on both rollers at position 1 of tier “only”, with the lid clear of the frame, and touches nothing else
    place-only-2 [in] a jar lies straight on both rollers at position 2 of tier “only”, with the lid clear of the frame, and touches nothing else
    loaded-revolutions [in] the drive stops by itself at 200 turns
    count-loaded-revolutions [in] count shown after the run with jars by revolutions: 190 to 210 turns
    speed-only-1 [in] turns in one minute of the jar at position 1 of tier “only”: 95 to 105 turns in 1 min
    speed-only-2 [in] turns in one minute of the jar at position 2 of tier “only”: 95 to 105 turns in 1 min
    counter-against-count [in] counter less counted, over one minute: -1 to 1 turns
    take-jars-out [in] no jar lies in the machine any more
    no-leak [out, bench] tray, rollers and the outside of every jar are dry
    jars-emptied [out, bench] every ball is back in its charge, and jars, lids and balls are dry
    "#);
}

#[test]
fn unusual_three_tiers_by_time_without_any_counter() {
    assert_snapshot!(check_of(r#"
        control = ["time"]
        time_step = "5 min"
        counter_senses = "nothing"
        tiers = [{ name = "top" }, { name = "middle" }, { name = "bottom" }]
        separate_stop = false
    "#), @r#"
    machine-empty [out] no jar lies in the machine
    unpacked [out] everything is there and nothing is damaged
    level [out] the machine stands firm on all feet, level along and across the rollers
    power-supply [out] the supply is as the type plate asks, earthed and with ground-fault protection
    guard [out] every cover and door is there, tight and undamaged
    rollers-clean [out] no roller is oily, worn, cut or loose, and each turns freely
    doors-close [out] the door closes without force, and does not open by itself
    interlock-start-guard [out] the drive does not start while door “guard” is open
    stop-by-hand [out] the drive starts when the button is pressed and stops when it is pressed once more
    interlock-stop-guard [out] the drive stops as soon as door “guard” opens, and does not start again by itself when it is closed
    rollers-top [out] the driven rollers of tier “top” turn evenly, without jerks, wobble or slip
    rollers-middle [out] the driven rollers of tier “middle” turn evenly, without jerks, wobble or slip
    rollers-bottom [out] the driven rollers of tier “bottom” turn evenly, without jerks, wobble or slip
    noise [out] nothing knocks, grinds, squeals or rubs, and nothing gets hot
    empty-time [out] the drive stops by itself when 5 min have passed on the stopwatch
    power-returns [out] the rollers stand still until start is pressed
    gaskets [out, bench] every seat is clean and every gasket lies in its groove, whole and soft
    charge [out, bench] the 3 jars hold equal masses of balls: each its own charge, or an even share
    water [out, bench] every jar is half full of tap water
    lids [out, bench] every lid lies flat and every knob is snug and not more
    watertight [out, bench] no jar shows a drop at its lid
    place-top-1 [in] a jar lies straight on both rollers at position 1 of tier “top”, with the lid clear of the frame, and touches nothing else
    place-middle-1 [in] a jar lies straight on both rollers at position 1 of tier “middle”, with the lid clear of the frame, and touches nothing else
    place-bottom-1 [in] a jar lies straight on both rollers at position 1 of tier “bottom”, with the lid clear of the frame, and touches nothing else
    loaded-time [in] the drive stops by itself when 5 min have passed on the stopwatch
    speed-top-1 [in] turns in one minute of the jar at position 1 of tier “top”: 95 to 105 turns in 1 min
    speed-middle-1 [in] turns in one minute of the jar at position 1 of tier “middle”: 95 to 105 turns in 1 min
    speed-bottom-1 [in] turns in one minute of the jar at position 1 of tier “bottom”: 95 to 105 turns in 1 min
    take-jars-out [in] no jar lies in the machine any more
    no-leak [out, bench] tray, rollers and the outside of every jar are dry
    jars-emptied [out, bench] every ball is back in its charge, and jars, lids and balls are dry
    "#);
}

#[test]
fn unusual_four_positions_without_door_or_interlock_that_keep_the_count() {
    assert_snapshot!(check_of(r#"
        control = ["revolutions", "time"]
        counter_senses = "jar lid"
        mode_change = "at the panel"
        after_power_loss = "count kept"
        tiers = [{ name = "bed", positions = 4 }]
        doors = []
        interlock = false
    "#), @r#"
    machine-empty [out] no jar lies in the machine
    unpacked [out] everything is there and nothing is damaged
    level [out] the machine stands firm on all feet, level along and across the rollers
    power-supply [out] the supply is as the type plate asks, earthed and with ground-fault protection
    guard [out] a guard that the local rules accept keeps everybody away from rollers and jars, and the person who answers for safety has agreed to it
    rollers-clean [out] no roller is oily, worn, cut or loose, and each turns freely
    sensor-clean [out] the sensor is clean and tight, and its cable is whole
    stop-by-hand [out] the drive starts when start is pressed and stops when stop is pressed
    rollers-bed [out] the driven rollers of tier “bed” turn evenly, without jerks, wobble or slip
    noise [out] nothing knocks, grinds, squeals or rubs, and nothing gets hot
    empty-revolutions [out] the run does not end by itself: after 3 minutes the rollers still turn and the count is still 0; then the drive stops by hand
    count-empty-revolutions [out] count shown after the empty run by revolutions: exactly 0 turns
    mode-time [out] the panel shows the control by time, and the drive has not started
    empty-time [out] the drive stops by itself when 2 min have passed on the stopwatch
    count-empty-time [out] count shown after the empty run by time: exactly 0 turns
    power-returns [out] the rollers stand still until start is pressed
    power-mode [out] the panel still shows the control by time
    lid-marks [out, bench] every lid bears its mark, clean, whole and where the sensor passes it
    gaskets [out, bench] every seat is clean and every gasket lies in its groove, whole and soft
    charge [out, bench] the 4 jars hold equal masses of balls: each its own charge, or an even share
    water [out, bench] every jar is half full of tap water
    lids [out, bench] every lid lies flat and every knob is snug and not more
    watertight [out, bench] no jar shows a drop at its lid
    place-bed-1 [in] a jar lies straight on both rollers at position 1 of tier “bed”, with the marked lid to the sensor, and touches nothing else
    place-bed-2 [in] a jar lies straight on both rollers at position 2 of tier “bed”, with the marked lid to the sensor, and touches nothing else
    place-bed-3 [in] a jar lies straight on both rollers at position 3 of tier “bed”, with the marked lid to the sensor, and touches nothing else
    place-bed-4 [in] a jar lies straight on both rollers at position 4 of tier “bed”, with the marked lid to the sensor, and touches nothing else
    loaded-time [in] the drive stops by itself when 2 min have passed on the stopwatch
    count-loaded-time [in] count shown after the run with jars by time: 190 to 210 turns
    loaded-mode-revolutions [in] the panel shows the control by revolutions, and the drive has not started
    loaded-revolutions [in] the drive stops by itself at 200 turns
    count-loaded-revolutions [in] count shown after the run with jars by revolutions: 190 to 210 turns
    speed-bed-1 [in] turns in one minute of the jar at position 1 of tier “bed”: 95 to 105 turns in 1 min
    speed-bed-2 [in] turns in one minute of the jar at position 2 of tier “bed”: 95 to 105 turns in 1 min
    speed-bed-3 [in] turns in one minute of the jar at position 3 of tier “bed”: 95 to 105 turns in 1 min
    speed-bed-4 [in] turns in one minute of the jar at position 4 of tier “bed”: 95 to 105 turns in 1 min
    counter-against-count [in] counter less counted, over one minute: -1 to 1 turns
    power-count [in] the count is the one shown before the interruption: it was kept
    take-jars-out [in] no jar lies in the machine any more
    no-leak [out, bench] tray, rollers and the outside of every jar are dry
    jars-emptied [out, bench] every ball is back in its charge, and jars, lids and balls are dry
    "#);
}

#[test]
fn unusual_slow_shaft_counter_with_doors_that_no_interlock_guards() {
    assert_snapshot!(check_of(r#"
        control = ["revolutions", "time"]
        time_step = "30 s"
        counter_senses = "roller"
        mode_change = "power off and on"
        nominal_rpm = 33
        tiers = [{ name = "1", positions = 1 }]
        doors = [{ name = "front" }, { name = "rear" }]
        interlock = false
    "#), @r#"
    machine-empty [out] no jar lies in the machine
    unpacked [out] everything is there and nothing is damaged
    level [out] the machine stands firm on all feet, level along and across the rollers
    power-supply [out] the supply is as the type plate asks, earthed and with ground-fault protection
    guard [out] every cover and door is there, tight and undamaged, and the person who answers for safety has agreed how the doors are kept closed while the drive turns
    rollers-clean [out] no roller is oily, worn, cut or loose, and each turns freely
    doors-close [out] every door closes without force in this order, and none opens by itself
    stop-by-hand [out] the drive starts when start is pressed and stops when stop is pressed
    rollers-1 [out] the driven rollers of tier “1” turn evenly, without jerks, wobble or slip
    noise [out] nothing knocks, grinds, squeals or rubs, and nothing gets hot
    empty-revolutions [out] the drive stops by itself at 66 turns
    count-empty-revolutions [out] count shown after the empty run by revolutions: 56 to 76 turns
    mode-time [out] the panel shows the control by time, and the drive has not started
    empty-time [out] the drive stops by itself when 120 s have passed on the stopwatch
    count-empty-time [out] count shown after the empty run by time: 56 to 76 turns
    power-returns [out] the rollers stand still until start is pressed
    power-count [out] count shown after the power has returned: exactly 0 turns
    power-mode [out] the panel shows which control it is in, and it has been brought back to the control by time
    gaskets [out, bench] every seat is clean and every gasket lies in its groove, whole and soft
    charge [out, bench] the jar holds one whole ball charge
    water [out, bench] every jar is half full of tap water
    lids [out, bench] every lid lies flat and every knob is snug and not more
    watertight [out, bench] no jar shows a drop at its lid
    place-1-1 [in] a jar lies straight on both rollers at position 1 of tier “1”, with the lid clear of the frame, and touches nothing else
    loaded-time [in] the drive stops by itself when 120 s have passed on the stopwatch
    count-loaded-time [in] count shown after the run with jars by time: 56 to 76 turns
    loaded-mode-revolutions [in] the panel shows the control by revolutions, and the drive has not started
    loaded-revolutions [in] the drive stops by itself at 66 turns
    count-loaded-revolutions [in] count shown after the run with jars by revolutions: 56 to 76 turns
    speed-1-1 [in] turns in one minute of the jar at position 1 of tier “1”: 28 to 38 turns in 1 min
    counter-against-count [in] counter less counted, over one minute: -1 to 1 turns
    take-jars-out [in] no jar lies in the machine any more
    no-leak [out, bench] tray, rollers and the outside of every jar are dry
    jars-emptied [out, bench] every ball is back in its charge, and jars, lids and balls are dry
    "#);
}

#[test]
fn a_step_in_json_has_the_keys_that_scripts_rely_on() {
    let described = read_apparatus("mill.toml", r#"counter_senses = "jar lid""#).unwrap();
    let check = function_check(&described.apparatus);
    let count = step_json(check.step("count-empty-revolutions").unwrap());
    insta::assert_snapshot!(serde_json::to_string_pretty(&count).unwrap(), @r#"
    {
      "back_to": "empty-revolutions",
      "caution": null,
      "expect": {
        "difference": null,
        "lower": "0",
        "observe": "number",
        "source": "derived: no lid passes the sensor",
        "unit": "turns",
        "upper": "0",
        "what": "count shown after the empty run by revolutions",
        "with": null,
        "words": "count shown after the empty run by revolutions: exactly 0 turns"
      },
      "id": "count-empty-revolutions",
      "instruction": "With the machine standing still, read the count that the panel shows.",
      "jars": "out",
      "on_bench": false,
      "on_failure": "An empty machine has no lid to count: look for a reflection or a magnet in front of the sensor, clean it and run again.",
      "position": null,
      "tier": null,
      "title": "Count after the empty run by revolutions",
      "why": "The count of the empty machine shows what the counter really senses: a shaft, a lid, or a reflection."
    }
    "#);
    let place = step_json(check.step("place-only-1").unwrap());
    insta::assert_snapshot!(serde_json::to_string_pretty(&place).unwrap(), @r#"
    {
      "back_to": null,
      "caution": {
        "source": "NIOSH 94-110 for lifting; 29 CFR 1910.147, from memory, unconfirmed; the mass is derived",
        "text": "The contents of a loaded jar weigh up to 8.5 kg (5.0 kg balls, 1.5 kg stone, 2.0 kg water), and the jar comes on top. Lift it with both hands, close to the body, with a straight back; a high tier needs a firm step or a second person. Power off while hands are between the rollers. Local codes and licensed practice come first."
      },
      "expect": {
        "observe": "seen",
        "what": "a jar lies straight on both rollers at position 1 of tier “only”, with the marked lid to the sensor, and touches nothing else",
        "words": "a jar lies straight on both rollers at position 1 of tier “only”, with the marked lid to the sensor, and touches nothing else"
      },
      "id": "place-only-1",
      "instruction": "With the power off, lay a jar on position 1 of tier “only”, with the marked lid to the sensor. Turn it once by hand.",
      "jars": "in",
      "on_bench": false,
      "on_failure": "Lift it off and lay it again; look for a jar that is too long, or a guide that is out of place.",
      "position": 1,
      "tier": "only",
      "title": "Jar in position 1 of tier “only”",
      "why": "A jar that does not lie free on both rollers turns unevenly or not at all."
    }
    "#);
}
