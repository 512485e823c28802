//! Sheets as a reader gets them: words in their order, room to write, drawings that are seen.

#![allow(clippy::unwrap_used, reason = "a helper of a test may fail as a test does")]

mod reading;

use reading::{text_of, through};
use stonewear_paper::{Press, TypesetError, Typesetter};
use stonewear_report::{Block, Cell, Column, JournalAnchor, Laboratory, Sheet, Table};

/// A dark square, as pictures are drawn: no picture of ours would be so plain, so its dots are
/// easy to count.
const SQUARE: &str = r##"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 100 20"><rect x="0" y="0" width="100" height="20" fill="#000000"/></svg>"##;

fn study() -> Sheet {
    let columns = [Column::number("Run"), Column::text("Jar"), Column::number("Loss, %")];
    let runs = Table::new("Order of the runs", columns)
        .row(["1".into(), "J3".into(), Cell::to_fill()])
        .row(["2".into(), "J1 & <J2>".into(), Cell::from("14.8")]);
    Sheet {
        lead: "Twelve runs, in an order drawn from seed 7.".into(),
        laboratory: Laboratory {
            name: "Alder Ford Materials Laboratory".into(),
            address: vec!["4 Weir Lane".into(), "Alder Ford".into()],
            place_of_work: None,
            ..Laboratory::default()
        },
        invented: true,
        made_at: "2026-03-18T14:05:00Z".into(),
        made_by: "Ada Brook".into(),
        journal: Some(JournalAnchor { position: 41, head: "ab".repeat(32) }),
        ..Sheet::new("Study Y26-001", "Are the positions the same?")
    }
    .remark("Caution", "Jars of 8 kg: lift with two hands")
    .heading("What was asked")
    .text("#set *nothing* here is _read_ as $markup$.")
    .pairs([("Method", "ASTM D6928"), ("Left out", "")])
    .table(runs)
    .block(Block::List { numbered: true, points: vec!["Dry.".into(), "Weigh.".into()] })
    .picture(SQUARE, "A dark bar.", "Bar of the example.")
}

fn print(sheet: &Sheet) -> Vec<u8> {
    Press::new().unwrap().sheet(sheet).unwrap()
}

#[test]
fn a_sheet_says_its_parts_in_their_order() {
    insta::assert_snapshot!(text_of(&print(&study())), @r"
    Invented data: demonstration laboratory
    Alder Ford Materials Laboratory
    4 Weir Lane, Alder Ford
    Study Y26-001
    Are the positions the same?
    Twelve runs, in an order drawn from seed 7.
    Caution Jars of 8 kg: lift with two hands
    What was asked
    #set *nothing* here is _read_ as $markup$.
    Method ASTM D6928
    Order of the runs
    Run Jar Loss, %
    1 J3
    2 J1 & <J2> 14.8
    1. Dry.
    2. Weigh.
    Bar of the example.
    By Ada Brook · Made 2026-03-18 14:05:00 UTC · Journal at fact 41, abababababababababababababababababababababababababababababababab
    Study Y26-001 · Alder Ford Materials Laboratory Page 1 of 1
    ");
}

/// What is to be written by hand has a line, and height for a pen; a blank cell has none.
#[test]
fn room_to_write_is_drawn() {
    let blank = study().table(Table::new("x", [Column::text("y")]).row([Cell::Blank]));
    let to_fill = study().table(Table::new("x", [Column::text("y")]).row([Cell::to_fill()]));
    let dark = |sheet: &Sheet| {
        let page =
            through("pdftoppm", &["-gray", "-r", "72", "-f", "1", "-l", "1", "-"], &print(sheet));
        page.iter().filter(|dot| **dot < 160).count()
    };
    assert!(dark(&to_fill) > dark(&blank) + 20);
}

#[test]
fn a_drawing_is_on_the_page() {
    let page = through("pdftoppm", &["-gray", "-r", "36", "-"], &print(&study()));
    // 174 mm × 34.8 mm at 36 dots an inch.
    let dark = page.iter().filter(|dot| **dot < 40).count();
    assert!((247 * 48..247 * 54).contains(&dark), "{dark} dark dots");
}

#[test]
fn the_same_sheet_gives_the_same_bytes() {
    assert_eq!(print(&study()), print(&study()));
    let later = Sheet { made_at: "2026-03-18T14:05:01Z".into(), ..study() };
    assert_ne!(print(&study()), print(&later));
}

#[test]
fn a_table_that_does_not_fit_its_head_is_named() {
    let columns = [Column::text("a"), Column::text("b")];
    let wrong = study().table(Table::new("Masses", columns).row(["1".into()]));
    let said = Press::new().unwrap().sheet(&wrong).unwrap_err();
    let expected = "row 1 of the table “Masses” has 1 cells, its head has 2";
    assert_eq!(said, TypesetError::Layout(expected.into()));
}

#[test]
fn a_drawing_without_words_is_refused() {
    let said = Press::new().unwrap().sheet(&study().picture(SQUARE, " ", "")).unwrap_err();
    assert!(said.to_string().contains("no words for those who do not see it"), "{said}");
}

/// A long table goes on over pages and repeats its head on each.
#[test]
fn a_long_table_repeats_its_head() {
    let table = (1..=120).fold(
        Table::new("Runs", [Column::number("Run"), Column::sentence("What was seen")]),
        |table, run| table.row([run.to_string().into(), "as it must be".into()]),
    );
    let text = text_of(&print(&study().table(table)));
    let pages = text.lines().filter(|line| line.contains("Page ")).count();
    assert!(pages >= 3, "{pages}");
    assert_eq!(text.matches("What was seen").count(), pages, "{text}");
}
