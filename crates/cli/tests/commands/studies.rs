//! `stonewear study`: planned or from a table, from its taking in to its papers.

use crate::harness::Desk;

/// A 5 × 5 Latin square, five rocket propellants over batches and operators: D. C. Montgomery,
/// Design and Analysis of Experiments, example 4.3 (from memory, unconfirmed).
const PROPELLANTS: &str = "batch,operator,propellant,rate\n\
    1,1,A,24\n1,2,B,20\n1,3,C,19\n1,4,D,24\n1,5,E,24\n\
    2,1,B,17\n2,2,C,24\n2,3,D,30\n2,4,E,27\n2,5,A,36\n\
    3,1,C,18\n3,2,D,38\n3,3,E,26\n3,4,A,27\n3,5,B,21\n\
    4,1,D,26\n4,2,E,31\n4,3,A,26\n4,4,B,23\n4,5,C,22\n\
    5,1,E,22\n5,2,A,30\n5,3,B,20\n5,4,C,29\n5,5,D,31\n";

#[test]
fn a_published_latin_square_is_taken_in_analysed_printed_and_concluded() {
    let desk = Desk::founded();
    desk.write("square.csv", PROPELLANTS);
    let plan = "study plan --by AB same --title 'five propellants' --file square.csv";
    let no_document = desk.fails(2, plan);
    assert!(no_document.contains("--document"), "{no_document}");
    let planned = desk.json(&format!(
        "{plan} --value-column rate --unit 'a rate' --document 'Montgomery, example 4.3'"
    ));
    let study = planned["facts"][0]["study"].as_str().unwrap().to_owned();

    let shown = desk.json(&format!("study show {study}"));
    let rows = shown["analysis"]["table"].as_array().unwrap();
    let propellant = rows.iter().find(|row| row["source"] == "propellant").unwrap();
    assert_eq!((propellant["freedom"].as_u64(), &propellant["f"]), (Some(4), &"7.734375".into()));
    let said = desk.done(&format!("study show {study}"));
    assert!(said.contains("The levels of propellant are not the same"), "{said}");

    let csv = desk.done(&format!("study csv {study}"));
    assert_eq!(csv.lines().count(), 26, "{csv}");
    assert!(desk.done(&format!("study csv {study} --means")).contains("propellant"));
    for plan in ["", "--plan"] {
        desk.done(&format!("study paper {study} {plan} --out study.pdf"));
        assert!(std::fs::read(desk.path().join("study.pdf")).unwrap().starts_with(b"%PDF-"));
    }

    desk.fails(3, &format!("study conclude --by CD {study} --remark 'they differ'"));
    desk.done(&format!("study conclude --by AB {study} --remark 'they differ'"));
    assert!(desk.done("study list").contains("concluded"));
    desk.fails(3, &format!("study conclude --by AB {study} --remark 'once more'"));
    assert!(desk.fails(2, "study show Y99-001").contains("there is no study"));
}
