//! `stonewear methods`.

use crate::harness::Desk;

#[test]
fn the_list_holds_every_method_that_the_laboratory_may_need() {
    let answer = Desk::new().json("methods");
    let ids: Vec<&str> = answer["methods"]
        .as_array()
        .unwrap()
        .iter()
        .map(|method| method["id"].as_str().unwrap())
        .collect();
    for id in [
        "astm-d6928",
        "aashto-t327",
        "astm-d7428",
        "en-1097-1",
        "en-1097-1-ballast",
        "ls-618",
        "ls-619",
    ] {
        assert!(ids.contains(&id), "{id} is missing from {ids:?}");
    }
}

#[test]
fn every_number_of_a_method_says_how_sure_it_is() {
    let desk = Desk::new();
    let method = desk.json("methods astm-d6928@2010");
    let mass = &method["grading"][0]["fraction"][0]["mass_g"]["nominal"];
    assert!(mass["source"].is_string() && mass["confidence"].is_string(), "{mass}");
    let text = desk.done("methods astm-d6928");
    assert!(text.starts_with("astm-d6928@2010 · ASTM D6928"), "{text}");
    assert!(text.contains("from memory, unconfirmed"), "{text}");
}

#[test]
fn an_unknown_method_is_met_with_its_neighbours() {
    let said = Desk::new().fails(2, "methods ls-61");
    assert!(said.contains("there is no method “ls-61”; near to it: ls-61"), "{said}");
}
