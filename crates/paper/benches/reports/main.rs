//! How fast test reports are typeset: `cargo bench -p stonewear-paper`. With a folder as argument
//! the same reports are also written there as HTML, for another typesetter; see `bench/papers`.

#![allow(clippy::unwrap_used, clippy::print_stdout, reason = "a benchmark prints, and may stop")]

mod page;

use std::path::Path;
use std::time::Instant;
use stonewear_paper::{Press, Typesetter};
use stonewear_report::{Origin, TestReport};

/// Reports of different content, as a laboratory prints them in one go.
fn reports(count: usize) -> Vec<TestReport> {
    let origin =
        Origin { laboratory: "ab".repeat(32), position: 41, page: "http://bench:7007".into() };
    (1..=count)
        .map(|number| {
            let mut report = TestReport::example();
            report.number = format!("R-2026-{number:04}");
            report.sample.code = format!("S-2026-{number:04}");
            report.loss.value = format!("{}.{}", 10 + number % 7, number % 10);
            report.marked(&origin)
        })
        .collect()
}

fn main() {
    let quick = std::env::args().any(|argument| argument == "--test");
    let folder = std::env::args().skip(1).find(|argument| !argument.starts_with("--"));
    let reports = reports(if quick { 2 } else { 500 });
    let press = Press::new().unwrap();
    let begun = Instant::now();
    press.test_report(&reports[0]).unwrap();
    println!("first report, cold: {:.1} ms", begun.elapsed().as_secs_f64() * 1000.0);

    let mut warm: Vec<f64> = reports
        .iter()
        .take(40)
        .map(|report| {
            let begun = Instant::now();
            press.test_report(report).unwrap();
            begun.elapsed().as_secs_f64() * 1000.0
        })
        .collect();
    warm.sort_by(f64::total_cmp);
    println!("one report, warm: {:.1} ms median", warm[warm.len() / 2]);

    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    let begun = Instant::now();
    std::thread::scope(|scope| {
        for part in reports.chunks(reports.len().div_ceil(cores)) {
            let press = &press;
            scope.spawn(move || {
                for report in part {
                    press.test_report(report).unwrap();
                }
            });
        }
    });
    let seconds = begun.elapsed().as_secs_f64();
    println!(
        "{} reports on {cores} cores: {seconds:.2} s, {:.1} a second",
        reports.len(),
        reports.len() as f64 / seconds
    );
    if let Some(folder) = folder {
        let fonts = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../assets/fonts");
        for report in reports.iter().take(12) {
            let path = Path::new(&folder).join(format!("{}.html", report.number));
            std::fs::write(path, page::page(report, &fonts)).unwrap();
        }
    }
}
