//! `stonewear proficiency`: clean a round of paired samples and rate the laboratories.

use super::document::{Document, defined};
use super::file;
use super::table::{columns, figure, lines};
use crate::answer::{Answer, Failure};
use serde_json::Value;
use std::path::PathBuf;
use stonewear_stats::StatsError;
use stonewear_stats::proficiency::{CleanUp, Fate, clean_up, within_laboratory};

/// Clean a proficiency round of two samples and rate every laboratory.
///
/// Columns lab, x, y; a laboratory with one result missing is left out. Results outside 4.11 inner-75 %
/// ranges are invalid, those outside 2.35 of them outliers; the mean and standard deviation are of the
/// rest. Only the formulas of this clean-up are published, no worked figures.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Example (invented figures):\n\
\x20 printf 'lab,x,y\\nA,12.1,18.0\\nB,11.8,17.6\\nC,12.4,18.3\\nD,12.0,17.9\\nE,15.9,18.1\\n' > round.csv\n\
\x20 stonewear proficiency round.csv")]
pub(crate) struct Proficiency {
    /// CSV file with a header row; `-` reads standard input.
    file: PathBuf,
}

pub(crate) fn proficiency(command: &Proficiency) -> Result<Answer, Failure> {
    let table = file::table(&command.file)?;
    let fault = |error| file::fault(&command.file, &error);
    let laboratories = table.texts("lab").map_err(fault)?;
    let firsts = table.numbers_or_empty("x").map_err(fault)?;
    let seconds = table.numbers_or_empty("y").map_err(fault)?;
    let (mut kept, mut unpaired) = (Vec::new(), Vec::new());
    for (laboratory, pair) in laboratories.into_iter().zip(firsts.into_iter().zip(seconds)) {
        match pair {
            (Some(x), Some(y)) => kept.push((laboratory, x, y)),
            _ => unpaired.push(laboratory),
        }
    }
    let answer = || -> Result<Answer, StatsError> {
        let column =
            |pick: fn(&(String, f64, f64)) -> f64| kept.iter().map(pick).collect::<Vec<f64>>();
        let (x, y) = (clean_up(&column(|k| k.1))?, clean_up(&column(|k| k.2))?);
        // The differences within laboratories are taken over pairs that are used at both samples.
        let good: Vec<usize> = (0..kept.len())
            .filter(|&i| x.fates[i] == Fate::Used && y.fates[i] == Fate::Used)
            .collect();
        let of = |pick: fn(&(String, f64, f64)) -> f64| {
            good.iter().map(|&i| pick(&kept[i])).collect::<Vec<f64>>()
        };
        let within = within_laboratory(&of(|k| k.1), &of(|k| k.2))?;
        let names: Vec<&str> = kept.iter().map(|k| k.0.as_str()).collect();
        Ok(shown(&names, [&x, &y], &good, &within, &unpaired))
    };
    defined(answer(), &["x", "y", "laboratories"])
}

fn word(fate: Fate) -> &'static str {
    match fate {
        Fate::Used => "used",
        Fate::Invalid => "invalid",
        Fate::Outlier => "outlier",
    }
}

fn shown(
    names: &[&str],
    [x, y]: [&CleanUp; 2],
    good: &[usize],
    within: &[f64],
    unpaired: &[String],
) -> Answer {
    let within_of = |i: usize| good.iter().position(|g| *g == i).map(|place| within[place]);
    let laboratories: Vec<Value> = names
        .iter()
        .enumerate()
        .map(|(i, name)| {
            let document = Document::new()
                .put("lab", *name)
                .put("x", word(x.fates[i]))
                .put("y", word(y.fates[i]))
                .figure("z_x", &x.ratings[i])
                .figure("z_y", &y.ratings[i]);
            match within_of(i) {
                Some(value) => document.put("within_laboratory", value),
                None => document.missing("within_laboratory", "a result of the pair is left out"),
            }
            .value()
        })
        .collect();
    let sample = |c: &CleanUp| {
        Document::new()
            .figure("mean", &c.mean)
            .figure("standard_deviation", &c.standard_deviation)
            .put("used", c.fates.iter().filter(|f| **f == Fate::Used).count())
            .value()
    };
    let json = Document::new()
        .put("x", sample(x))
        .put("y", sample(y))
        .put("laboratories", laboratories)
        .put("unpaired", unpaired.to_vec())
        .value();
    let mut text = lines(&[
        ("mean of x", figure(&x.mean)),
        ("standard deviation of x", figure(&x.standard_deviation)),
        ("mean of y", figure(&y.mean)),
        ("standard deviation of y", figure(&y.standard_deviation)),
    ]);
    let rows: Vec<Vec<String>> = names
        .iter()
        .enumerate()
        .map(|(i, name)| {
            vec![
                (*name).to_owned(),
                figure(&x.ratings[i]),
                word(x.fates[i]).to_owned(),
                figure(&y.ratings[i]),
                word(y.fates[i]).to_owned(),
            ]
        })
        .collect();
    text.push('\n');
    text.push_str(&columns(&["laboratory", "z of x", "", "z of y", ""], &rows));
    for name in unpaired {
        text.push_str(&format!("{name} left out: one result of the pair is missing\n"));
    }
    Answer::new(text, json)
}
