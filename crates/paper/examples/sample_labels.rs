//! Writes labels of the example laboratory, to be looked at: `cargo run --example sample_labels`.

#![allow(clippy::print_stdout, reason = "an example says what it wrote")]

use stonewear_paper::{Press, Typesetter};
use stonewear_report::{Label, LabelSize, Labels};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let label = |code: &str, kind: &str, name: &str, lines: [&str; 2]| Label {
        code: code.into(),
        kind: kind.into(),
        name: name.into(),
        lines: lines.map(str::to_owned).to_vec(),
        scanned: code.into(),
    };
    let labels = vec![
        label(
            "S26-031",
            "Sample",
            "crushed dolerite 10/20",
            ["Brant & Ousel Surfacing", "Hollowmere Quarry, face 3"],
        ),
        label("JAR-3", "Jar", "jar 3", ["proved until 2027-02-01", ""]),
        label(
            "S26-031-12",
            "Specimen",
            "crushed dolerite 10/20",
            ["astm-d6928@2010, grading 19.0", "Brant & Ousel Surfacing"],
        ),
    ];
    let press = Press::new()?;
    let sizes = [("roll", LabelSize::default()), ("sheet", LabelSize::A4Sheet)];
    for (name, size) in sizes {
        let sheet = Labels {
            size,
            laboratory: "Alder Ford Materials Laboratory".into(),
            invented: true,
            language: "en".to_owned(),
            made_at: "2026-03-18T14:05:00Z".into(),
            labels: labels.clone(),
        };
        let file = std::env::temp_dir().join(format!("labels-{name}.pdf"));
        std::fs::write(&file, press.labels(&sheet)?)?;
        println!("{}", file.display());
    }
    Ok(())
}
