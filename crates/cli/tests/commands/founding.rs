//! Founding, people, and who may do what.

use crate::harness::Desk;

#[test]
fn a_laboratory_begins_with_its_founder() {
    let desk = Desk::founded();
    insta::assert_snapshot!(desk.told("show"), @r"
    Invented Laboratory: 2 people, 0 items, 0 methods in use, 0 checks, 0 samples, 0 runs, 0 results, 0 released (3 facts in the journal)
    [exit status 0]
    ");
    let again = "found --name X --address Y --founder AB --founder-name Z";
    insta::assert_snapshot!(desk.fails(3, again), @r"stonewear: this is already the laboratory “Invented Laboratory”; use another folder for another laboratory");
}

#[test]
fn every_missing_field_is_named_by_its_option() {
    let line = "found --name '' --address '' --founder 'A B' --founder-name ''";
    insta::assert_snapshot!(Desk::new().fails(2, line), @r"
    stonewear: --name: the name of the laboratory is missing; write it
    --address: the address is missing; write it
    --founder: “A B” cannot be used as initials; write two to four letters, like RVK
    --founder-name: your name is missing; write it
    ");
}

#[test]
fn a_mistyped_folder_does_not_become_a_laboratory() {
    let desk = Desk::new();
    for line in [
        "sample receive --dir typo --by AB --source Q --material M --nominal-maximum 19",
        "show --dir typo",
        "check list --dir typo",
        "paper --dir typo L26-001 --out r.pdf",
        "journal verify --dir typo",
        "journal export --dir typo",
    ] {
        let said = desk.fails(4, line);
        assert!(
            said.starts_with("stonewear: there is no laboratory in typo; found one"),
            "{line}: {said}"
        );
    }
    assert!(!desk.path().join("typo").exists());
}

#[test]
fn who_asks_must_be_known_and_must_have_the_right() {
    let desk = Desk::founded();
    let mut said = String::new();
    for (status, line) in [
        (2, "person add EF --name 'Eva Fell' --may test"),
        (2, "person add --by ZZ EF --name 'Eva Fell' --may test"),
        (3, "person add --by CD EF --name 'Eva Fell' --may test"),
        (2, "person add --by AB EF --name 'Eva Fell' --may test,fly"),
        (3, "person add --by AB CD --name 'Eva Fell' --may test"),
        (3, "person rights --by AB AB --may test --reason leaves"),
    ] {
        said.push_str(&format!("{line}\n  {}\n", desk.fails(status, line)));
    }
    insta::assert_snapshot!(said, @r"
    person add EF --name 'Eva Fell' --may test
      stonewear: --by: nobody is named as asking; say who you are: AB and CD
    person add --by ZZ EF --name 'Eva Fell' --may test
      stonewear: --by: nobody here has the initials ZZ; say who you are: AB and CD
    person add --by CD EF --name 'Eva Fell' --may test
      stonewear: --by: Cyd Dell may not manage people, equipment and methods; ask AB, or have the right granted
    person add --by AB EF --name 'Eva Fell' --may test,fly
      stonewear: --may: “fly” is not a right; write test, release or manage
    person add --by AB CD --name 'Eva Fell' --may test
      stonewear: code: CD are already the initials of Cyd Dell; use others
    person rights --by AB AB --may test --reason leaves
      stonewear: --may: Ada Brook is the only one who may manage; grant it to somebody else first
    ");
}

#[test]
fn small_letters_are_forgiven() {
    let desk = Desk::founded();
    desk.done("person add --by ab ef --name 'Eva Fell' --may test,release");
    let person = desk.json("show ef");
    assert_eq!(person["rights"], serde_json::json!(["test", "release"]));
}
