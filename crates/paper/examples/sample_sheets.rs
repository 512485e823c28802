//! Writes a sheet of an invented study, to be looked at: `cargo run --example sample_sheets`.

#![allow(clippy::print_stdout, reason = "an example says what it wrote")]

use stonewear_paper::{Press, Typesetter};
use stonewear_report::{Block, Cell, Column, JournalAnchor, Laboratory, Sheet, Table};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let columns = [
        Column::number("Run"),
        Column::text("Jar"),
        Column::text("Position"),
        Column::number("Loss, %"),
        Column::sentence("Seen"),
    ];
    let mut runs = Table::new("Order of the runs", columns);
    for run in 1..=12 {
        let jar = format!("J{}", run % 4 + 1);
        let cells = [run.to_string(), jar, format!("lower {}", run % 3 + 1)].map(Cell::from);
        runs = runs.row(cells.into_iter().chain([Cell::to_fill(), Cell::to_fill()]));
    }
    let strip = r##"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 760 60" font-family="IBM Plex Sans, sans-serif"><rect x="0" y="20" width="760" height="8" fill="#d3e3df"/><path d="M300 16l6 8l-6 8l-6-8Z" fill="#22292c"/><text x="300" y="52" font-size="14" text-anchor="middle" fill="#22292c">14.8 %</text></svg>"##;
    let sheet = Sheet {
        lead: "Twelve runs in an order drawn from seed 7. Write each loss beside its run.".into(),
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
        ..Sheet::new("Study Y26-001", "Are the four positions the same?")
    }
    .remark("Caution", "A full jar weighs some 8 kg: lift it with two hands, with the drive stopped and locked. Local rules come first.")
    .heading("What was asked")
    .text("Whether a loss depends on the position in which its jar lies, by more than 0.8 % loss, with a power of 0.9.")
    .pairs([("Method", "ASTM D6928, edition 2010"), ("Material", "crushed dolerite 10/20, S26-031"), ("Design", "Latin square of 4 jars, 4 positions, 4 days")])
    .table(runs)
    .heading("Before each run")
    .block(Block::List { numbered: true, points: vec!["Weigh the charge of the jar, dry.".into(), "Read the temperature of the water.".into()] })
    .picture(strip, "A strip with one value at 14.8 %.", "Where the last loss lies.");
    let path = std::env::temp_dir().join("stonewear-sheet.pdf");
    std::fs::write(&path, Press::new()?.sheet(&sheet)?)?;
    println!("{}", path.display());
    Ok(())
}
