//! The companion tests by command: worked out without a laboratory, and walked in one.

use crate::harness::Desk;

/// By hand: 1980 / 740 = 2.6757, 2000 / 740 = 2.7027, 1980 / 720 = 2.75, 100 × 20 / 1980 = 1.0101.
#[test]
fn densities_are_worked_out_from_their_readings() {
    let desk = Desk::new();
    let answer = desk.json(
        "work-out astm-c127 --reading soaked=24 --reading saturated=2000 --reading in_water=1260 --reading dry=1980",
    );
    let values = answer["values"].as_array().unwrap();
    let rounded: Vec<&str> = values.iter().map(|one| one["value"].as_str().unwrap()).collect();
    assert_eq!(rounded, ["2.68", "2.70", "2.75", "1.0"]);
    assert_eq!(values[0]["unrounded"], "2.675675675675675675675675");
    assert_eq!(values[3]["unit"], "%");
    assert_eq!(values[0]["sources"]["formula"]["confidence"], "memory");
    assert!(values[2]["formula"][1].as_str().unwrap().contains("1980 / (1980 − 1260) = 2.75"));
}

/// By hand: (40 × 5 + 57 × 10 + 3 × 10) / 100 = 8; 100 × 1250 / 5000 = 25, 250 / 1250 = 0.20.
#[test]
fn soundness_and_the_drum_are_worked_out() {
    let desk = Desk::new();
    let sound = "work-out astm-c88-sodium --reading gravity=1.16 --reading immersion=17 \
         --reading drained=15 --reading cycles=5 --reading grading_percent.1=0 \
         --reading grading_percent.2=40 --reading grading_percent.3=57 \
         --reading grading_percent.4=3 --reading fraction.2=1500 --reading fraction.3=1000 \
         --reading kept.2=1425 --reading kept.3=900";
    assert_eq!(desk.json(sound)["values"][0]["value"], "8.0");
    let drum =
        "work-out astm-c131 --reading before=5000 --reading kept_early=4750 --reading after=3750";
    let answer = desk.json(drum);
    assert_eq!(answer["values"][0]["value"], "25");
    assert_eq!(answer["values"][1]["value"], "0.20");
    // The loss of a run is the same by the command that every run has.
    assert_eq!(desk.json("loss astm-c131 --before 5000 --after 3750")["loss_percent"], "25");
    assert_eq!(desk.json("loss en-1097-2 --before 5000 --after 4120")["loss_percent"], "18");
}

#[test]
fn what_is_wrong_is_said() {
    let desk = Desk::new();
    let said = |line: &str| desk.run(line).stderr;
    assert!(
        said("work-out astm-c127 --reading dry=1980")
            .contains("still missing: soaked, saturated, in_water")
    );
    assert!(said("work-out astm-c127 --reading dry").contains("write, say, before=5000"));
    assert!(
        said("work-out astm-c127 --reading wet=1")
            .contains("ASTM C127 reads soaked, saturated, in_water, dry")
    );
    assert!(
        said("work-out astm-c131 --grading E --reading before=1")
            .contains("has the gradings A, B, C, D")
    );
    assert!(said("loss astm-c127 --before 1 --after 1").contains("gives no loss"));
    assert!(
        said("loss astm-c88-sodium --before 1 --after 1")
            .contains("from the readings of each size")
    );
    let short = "work-out astm-c127 --reading soaked=2 --reading saturated=2000 --reading in_water=1260 --reading dry=1980";
    assert!(said(short).contains("time under water: 2 h is outside the 24 ± 4 of the method"));
    let answer = desk.json(&format!("{short} --even-so 'a trial'"));
    assert_eq!(answer["even_so"], "a trial");
}

/// A whole walk in an empty laboratory: the least that density needs is a balance.
#[test]
fn density_is_walked_by_command() {
    let desk = Desk::founded();
    desk.done("item register --by AB BAL-1 --kind balance --name 'bench balance'");
    let receive = "sample receive --by CD --source 'Invented quarry' --material 'crushed stone' \
         --nominal-maximum 19";
    let sample = desk.fact(receive, "sample");
    let excuse = "--deviation 'the balance is proved tomorrow'";
    desk.done(&format!(
        "specimen begin --by CD {sample} --method astm-c127 --balance BAL-1 {excuse}"
    ));
    let specimen = format!("{sample}-1");
    desk.done(&format!("reading --by CD {specimen} soaked 24"));
    for (name, value) in [("saturated", "2000"), ("in_water", "1260")] {
        desk.done(&format!("reading --by CD {specimen} {name} {value} --with BAL-1 {excuse}"));
    }
    let said = desk.run(&format!("reading --by CD {specimen} dry 2010 --with BAL-1 {excuse}"));
    assert!(said.stderr.contains("more than 2000 g saturated"), "{}", said.stderr);
    let said = desk.run(&format!("reading --by CD {specimen} dry 1980 --with BAL-1 {excuse}"));
    assert!(said.stdout.contains("absorption 1.0 %"), "{}{}", said.stdout, said.stderr);
}
