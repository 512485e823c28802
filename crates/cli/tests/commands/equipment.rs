//! Items: registered, and where they stand.

use crate::harness::Desk;

#[test]
fn what_is_wrong_with_an_item_is_said_by_its_option() {
    let desk = Desk::founded();
    desk.write("bad.toml", "tiers = []\n");
    let mut said = String::new();
    for line in [
        "item register --by AB MILL-1 --kind mill --name mill",
        "item register --by AB MILL-1 --kind apparatus --name mill",
        "item register --by AB MILL-1 --kind apparatus --name mill --apparatus bad.toml",
        "item register --by AB SIEVE-1 --kind sieve --name sieve",
        "item register --by AB SIEVE-1 --kind sieve --name sieve --opening 1,18,0",
        "item register --by AB 'JAR 1' --kind jar --name jar",
    ] {
        said.push_str(&format!("{line}\n  {}\n", desk.fails(2, line)));
    }
    insta::assert_snapshot!(said, @r#"
    item register --by AB MILL-1 --kind mill --name mill
      stonewear: --kind: “mill” is not a kind of item; write apparatus, jar, ball-charge, balance, oven, sieve, thermometer, stopwatch, tachometer, caliper, drum, bath
    item register --by AB MILL-1 --kind apparatus --name mill
      stonewear: --apparatus: how the apparatus is built is not described; describe its control, counter, tiers and doors
    item register --by AB MILL-1 --kind apparatus --name mill --apparatus bad.toml
      stonewear: bad.toml, line 1: the apparatus has no tier; write tiers = [{ name = "only", positions = 1 }]
    item register --by AB SIEVE-1 --kind sieve --name sieve
      stonewear: --opening: a number is missing
    item register --by AB SIEVE-1 --kind sieve --name sieve --opening 1,18,0
      stonewear: --opening: “1,18,0” is not a number; write digits with at most one decimal point, like 1500.2
    item register --by AB 'JAR 1' --kind jar --name jar
      stonewear: code: “JAR 1” cannot be used as a code; write up to 16 letters, digits, - or ., like JAR-3
    "#);
}

#[test]
fn an_item_that_was_not_checked_is_not_put_into_service() {
    let desk = Desk::founded();
    desk.done("item register --by AB JAR-1 --kind jar --name 'jar 1'");
    insta::assert_snapshot!(desk.fails(3, "item into-service --by AB JAR-1"), @r"stonewear: JAR-1 has not passed the jar inspection, bore 194 mm, height 170 mm; do this check first (jar-inspection)");
    insta::assert_snapshot!(desk.fails(3, "item register --by AB JAR-1 --kind jar --name 'jar 1'"), @r"stonewear: code: JAR-1 is already the jar “jar 1”; use another code");
    desk.done("item hold --by AB JAR-1 --reason 'dropped'");
    let standings = desk.json("show JAR-1")["standings"].clone();
    assert_eq!(standings[0]["value"]["standing"], "held");
    assert!(desk.done("show JAR-1").contains("reason: dropped\n"));
}

#[test]
fn an_unknown_code_is_met_with_its_neighbours() {
    let desk = Desk::founded();
    desk.done("item register --by AB JAR-1 --kind jar --name 'jar 1'");
    assert_eq!(
        desk.fails(2, "show JAR1"),
        "stonewear: nothing here has the code “JAR1”; near to it: JAR-1"
    );
    assert_eq!(
        desk.fails(2, "show quarry"),
        "stonewear: nothing here has the code “quarry”; `stonewear show` lists what is here"
    );
    assert!(desk.fails(2, "item hold --by AB JAR1 --reason x").contains("there is no item “JAR1”"));
}
