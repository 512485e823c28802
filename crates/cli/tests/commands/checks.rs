//! Guided checks, step by step.

use crate::harness::{Desk, redacted};

fn with_balance() -> (Desk, String) {
    let desk = Desk::founded();
    desk.done("item register --by AB BAL-1 --kind balance --name 'bench balance'");
    let check = desk.fact("check start --by CD BAL-1 balance-check", "check");
    (desk, check)
}

#[test]
fn a_check_says_what_its_next_step_asks() {
    let (desk, check) = with_balance();
    desk.done(&format!("check observe --by CD {check} stands yes"));
    insta::assert_snapshot!(desk.told(&format!("check show {check}")), @r"
    CYY-001: balance check with 1000 g and 5000 g of BAL-1, step 2 of 5
    zero: Returns to zero
      Set it to zero, load it with about 5000 g, take the load off and read.
      Caution: Set masses down gently and keep fingers and feet clear of a falling one. Local codes and licensed practice come first. (common practice, no published source)
      wanted: reading without load: -0.1 to 0.1 g
      if it is not so: Clean under the pan, level it, and try again; if zero still drifts, hold the balance and have it serviced.
      answer with: stonewear check observe CYY-001 zero NUMBER
    [TIME] CD   stands: yes
    [exit status 0]
    ");
    let shown = desk.json(&format!("check show {check}"));
    assert_eq!(shown["state"], "open");
    assert_eq!(shown["next"]["id"], "zero");
    assert_eq!(shown["next"]["expect"]["upper"], "0.1");
    assert_eq!(shown["observations"].as_array().unwrap().len(), 1);
}

#[test]
fn a_failed_step_says_what_to_do_and_stays_in_the_record() {
    let (desk, check) = with_balance();
    desk.done(&format!("check observe --by CD {check} stands yes"));
    insta::assert_snapshot!(desk.told(&format!("check observe --by CD {check} zero -0.3")), @r"
    zero: not as it must be. Clean under the pan, level it, and try again; if zero still drifts, hold the balance and have it serviced.
    next is zero: Returns to zero
    [exit status 0]
    ");
    for (step, seen) in [
        ("zero", "0.0"),
        ("mass-1000", "1000.1"),
        ("mass-5000", "4999.8"),
        ("repeatability", "1000.1 --less 1000.0"),
    ] {
        desk.done(&format!("check observe --by CD {check} {step} {seen}"));
    }
    let ended = desk.json(&format!("check show {check}"));
    assert_eq!((ended["state"].as_str(), ended["next"].is_null()), (Some("passed"), true));
    assert_eq!(ended["observations"].as_array().unwrap().len(), 6);
    assert_eq!(desk.done("item into-service --by AB BAL-1"), "BAL-1 is in service\n");
}

#[test]
fn what_cannot_be_observed_is_refused() {
    let (desk, check) = with_balance();
    let mut said = String::new();
    for (status, rest) in [
        (3, format!("observe --by CD {check} zero 0")),
        (3, format!("observe --by CD {check} nothing yes")),
        (2, format!("observe --by CD {check} stands maybe")),
        (2, "observe --by CD C-1 stands yes".to_owned()),
        (2, "show C-1".to_owned()),
        (2, "start --by CD BAL-1 function-check".to_owned()),
        (3, "start --by CD BAL-1 balance-check".to_owned()),
        (2, "start --by CD BAL-9 balance-check".to_owned()),
        (2, format!("give-up --by CD {check} --reason ''")),
    ] {
        let shown = redacted(desk.path(), &rest);
        said.push_str(&format!("{shown}\n  {}\n", desk.fails(status, &format!("check {rest}"))));
    }
    insta::assert_snapshot!(said, @r"
    observe --by CD CYY-001 zero 0
      stonewear: step: the step “zero” is not next; first comes “stands”: Stands well
    observe --by CD CYY-001 nothing yes
      stonewear: step: balance check with 1000 g and 5000 g has no step “nothing”; the next step is “stands”
    observe --by CD CYY-001 stands maybe
      stonewear: seen: “maybe” does not say whether it is so: it stands firm and level, out of draught and heat, and is warm; answer yes or no
    observe --by CD C-1 stands yes
      stonewear: check: there is no check “C-1”; look under the item
    show C-1
      stonewear: there is no check “C-1”; `stonewear show` lists what is here
    start --by CD BAL-1 function-check
      stonewear: procedure: there is no procedure “function-check” for a balance; known: balance-check
    start --by CD BAL-1 balance-check
      stonewear: procedure: CYY-001 of BAL-1 is not finished; go on with it, or give it up with a reason
    start --by CD BAL-9 balance-check
      stonewear: item: there is no item “BAL-9”; known: BAL-1
    give-up --by CD CYY-001 --reason ''
      stonewear: --reason: the reason is missing; write it
    ");
}

#[test]
fn a_check_that_is_given_up_holds_the_item() {
    let (desk, check) = with_balance();
    desk.done(&format!("check give-up --by CD {check} --reason 'does not come to rest'"));
    insta::assert_snapshot!(desk.told("check list"), @r"
    CYY-001   BAL-1            balance-check          not passed ([TIME], CD): does not come to rest
    [exit status 0]
    ");
    assert_eq!(desk.done("check list --open"), "no such checks\n");
    assert_eq!(desk.json("check list --of bal-1")["checks"].as_array().unwrap().len(), 1);
    assert!(desk.fails(2, "check list --of BAL1").contains("near to it: BAL-1"));
    assert!(desk.done("show").contains("bench balance, held"));
}
