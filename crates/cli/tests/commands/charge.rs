//! Wear of charges and experiments by command, in the demo laboratory.

use crate::harness::Desk;

fn demo() -> Desk {
    let desk = Desk::new();
    desk.done("demo --dir laboratory --found-only");
    desk
}

#[test]
fn a_charge_is_listed_shown_changed_and_printed() {
    let desk = demo();
    let listed = desk.run("charge list");
    assert!(listed.stdout.contains("BC-1: it will fall below 4995 g"), "{}", listed.stdout);
    let near = listed.stdout.contains("(look at it now)");
    assert_eq!(listed.status, i32::from(near), "exit status 1 when one is near");

    let shown = desk.json("charge show bc-1 --svg wear.svg --csv wear.csv");
    assert_eq!(shown["changes"][0]["value"]["balls"], 2);
    let interval = &shown["wear"]["interval"];
    let rate = shown["wear"]["rate_g_per_1000"].as_f64().unwrap();
    assert!(interval[0].as_f64().unwrap() < rate && rate < interval[1].as_f64().unwrap());
    assert!(shown["forecast"]["day"].is_string(), "{}", shown["forecast"]);
    let svg = std::fs::read_to_string(desk.path().join("wear.svg")).unwrap();
    assert!(svg.starts_with("<svg ") && svg.contains(">balls added</text>"));
    let csv = std::fs::read_to_string(desk.path().join("wear.csv")).unwrap();
    assert_eq!(csv.lines().count(), shown["readings"].as_array().unwrap().len() + 1);

    let change = "charge change --by DO BC-2 added --before 4996 --balance BAL-2 --reason worn";
    let slip = desk.fails(3, &format!("{change} --after 4990"));
    assert!(slip.contains("--after: with balls added the charge cannot weigh 4990 g"), "{slip}");
    let wrong = desk.fails(2, "charge change --by DO BC-2 lost --before 1 --after 2 --reason worn");
    assert!(wrong.contains("change: “lost” does not say what was done"), "{wrong}");
    let said = desk.done(&format!("{change} --after 5003 --balls 2"));
    assert_eq!(said.trim(), "BC-2: 2 balls added, 4996 g to 5003 g");
    desk.done("charge paper BC-2 --out wear.pdf");
    assert!(std::fs::read(desk.path().join("wear.pdf")).unwrap().starts_with(b"%PDF"));
    let unknown = desk.fails(2, "charge show BC-9");
    assert!(unknown.contains("near to it: BC-1"), "{unknown}");
    let jars = desk.json("charge jars");
    assert!(jars["jars"][0]["runs"].as_u64().unwrap() > 3, "{jars}");
}

#[test]
fn an_experiment_is_planned_imported_shown_and_adopted() {
    let desk = demo();
    let listed = desk.json("experiment list");
    let code = listed["experiments"][0]["code"].as_str().unwrap().to_owned();
    let shown = desk.json(&format!("experiment show {code} --svg losses.svg"));
    assert_eq!(shown["losses"].as_array().unwrap().len(), 6);
    let proposed = shown["analysis"]["sensitivity"]["recorded_as"]["percent_of_loss"].clone();
    let adopted = desk.json(&format!("experiment adopt --by IK {code}"));
    assert_eq!(adopted["facts"][0]["kind"], "sensitivity-recorded");
    assert_eq!(adopted["facts"][0]["percent_of_loss"], proposed);
    desk.done(&format!("experiment paper {code} --out plan.pdf"));

    let plan = "experiment plan --by IK charge --method astm-d6928 --grading 19.0 --title charge";
    let planned = desk.json(&format!("{plan} --level 4900 --level 5100 --seed 5"));
    let again = desk.json(&format!("{plan} --level 4900 --level 5100 --seed 5"));
    assert_eq!(planned["facts"][0]["runs"], again["facts"][0]["runs"]);
    assert_eq!(planned["facts"][0]["seed"], 5);
    let drawn = desk.json(&format!("{plan} --level 4900 --level 5100"));
    assert!(drawn["facts"][0]["seed"].is_u64(), "{drawn}");
    let beside = desk.fails(3, &format!("{plan} --level 5050 --level 5100"));
    assert!(beside.contains("--level: the 5000 g of the method lie outside"), "{beside}");
    let once = desk.fails(2, &format!("{plan} --level 4900"));
    assert!(once.contains("--level: fewer than two levels are named"), "{once}");

    desk.write("runs.csv", "level,loss\n9000,11.2\n9000,x\n12000,14.9\n15000,18.7\n");
    let import = "experiment import --by IK revolutions --method astm-d6928 --grading 19.0 \
                  --title old --file runs.csv --source 'notebook 4'";
    let faults = desk.fails(2, import);
    assert!(faults.contains("--file: line 3, column loss"), "{faults}");
    desk.write("runs.csv", "level,loss\n9000,11.2\n9000,11.0\n12000,14.9\n15000,18.7\n");
    let imported = desk.fact(import, "experiment");
    let left = desk.done(&format!("experiment leave-out --by IK {imported} 2 --reason spilt"));
    assert_eq!(left.trim(), format!("run 2 of {imported} is left out of the fit"));
    let unfit = desk.fails(
        3,
        &format!(
            "experiment adopt --by IK {}",
            planned["facts"][0]["experiment"].as_str().unwrap()
        ),
    );
    assert!(unfit.contains("a line needs at least 3 losses; there are 0"), "{unfit}");
}
