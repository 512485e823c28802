//! Writes sample papers to look at: `cargo run -p stonewear-paper --example sample_reports -- DIR`.

#[path = "../tests/samples/mod.rs"]
mod samples;

use std::error::Error;
use std::path::PathBuf;
use stonewear_paper::{Press, Typesetter};

fn main() -> Result<(), Box<dyn Error>> {
    let folder = PathBuf::from(std::env::args().nth(1).ok_or("name a folder to write into")?);
    std::fs::create_dir_all(&folder)?;
    let press = Press::new()?;
    for (name, report) in samples::all() {
        std::fs::write(folder.join(format!("{name}.pdf")), press.test_report(&report)?)?;
    }
    Ok(())
}
