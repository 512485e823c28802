//! `stonewear anova`: which factor moves a result.

use super::document::{Document, defined};
use super::file;
use super::table::{columns, figure, short};
use crate::answer::{Answer, Failure};
use serde_json::Value;
use std::collections::{BTreeMap, HashSet};
use std::path::PathBuf;
use stonewear_stats::StatsError;
use stonewear_stats::anova::{
    self as stats, Component, Difference, Factor, Interactions, Table, tukey,
};

/// Analyse variance by one factor or several.
///
/// With repeated combinations the interactions of pairs are looked at; without, as in a Latin
/// square, what the factors do not explain is error.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Example (invented figures):\n\
\x20 printf 'technician,loss\\nA,14.8\\nA,15.0\\nB,15.4\\nB,15.3\\nC,14.9\\nC,15.1\\n' > loss.csv\n\
\x20 stonewear anova loss.csv --response loss --factor technician --random --pairs 0.95")]
pub(crate) struct Anova {
    /// CSV file with a header row; `-` reads standard input.
    file: PathBuf,
    /// Column of the response.
    #[arg(long, value_name = "NAME", default_value = "y")]
    response: String,
    /// Column of a factor; repeat it for several.
    #[arg(long, value_name = "NAME", required = true)]
    factor: Vec<String>,
    /// The levels are a random choice: give variance components.
    #[arg(long)]
    random: bool,
    /// The second factor's levels lie within the first's (batches within suppliers).
    #[arg(long)]
    nested: bool,
    /// Leave interactions out.
    #[arg(long)]
    no_interaction: bool,
    /// Compare all pairs of levels of one factor (Tukey) at this level.
    #[arg(long, value_name = "LEVEL")]
    pairs: Option<f64>,
}

/// Everything that an analysis gives.
struct Analysis {
    table: Table,
    components: Vec<Component>,
    differences: Vec<(String, String, Difference)>,
    balanced: Option<bool>,
}

pub(crate) fn anova(command: &Anova) -> Result<Answer, Failure> {
    let table = file::table(&command.file)?;
    let fault = |error| file::fault(&command.file, &error);
    let response = table.numbers(&command.response).map_err(fault)?;
    let levels = command
        .factor
        .iter()
        .map(|name| table.texts(name).map_err(fault))
        .collect::<Result<Vec<Vec<String>>, Failure>>()?;
    if command.nested && levels.len() != 2 {
        return Err(Failure::WrongInput("--nested needs two factors, the outer first".to_owned()));
    }
    if command.pairs.is_some() && levels.len() != 1 {
        return Err(Failure::WrongInput("--pairs goes with one factor".to_owned()));
    }
    let answer = || Ok(shown(&analyse(command, &response, &levels)?));
    defined(answer(), &["rows", "variance_components"])
}

fn analyse(
    command: &Anova,
    response: &[f64],
    levels: &[Vec<String>],
) -> Result<Analysis, StatsError> {
    let names = &command.factor;
    let mut analysis = Analysis {
        table: Table { rows: Vec::new() },
        components: Vec::new(),
        differences: Vec::new(),
        balanced: None,
    };
    if let [one] = levels {
        let (of_group, groups) = grouped(one, response);
        let found = stats::one_way(&groups)?;
        analysis.table = found.table;
        analysis.table.rows[0].source.clone_from(&names[0]);
        analysis.table.rows[1].source = "error".to_owned();
        if command.random {
            analysis.components = found.components;
            analysis.components[0].source.clone_from(&names[0]);
            analysis.components[1].source = "error".to_owned();
        }
        if let Some(level) = command.pairs {
            let name = |i: usize| of_group[i].clone();
            analysis.differences = tukey(&groups, level)?
                .into_iter()
                .map(|d| (name(d.first), name(d.second), d))
                .collect();
        }
        return Ok(analysis);
    }
    if command.nested {
        let (_, rows) = grouped(&levels[0], &(0..response.len()).collect::<Vec<usize>>());
        let data: Vec<Vec<Vec<f64>>> = rows
            .iter()
            .map(|rows| {
                let inner: Vec<String> = rows.iter().map(|&i| levels[1][i].clone()).collect();
                let values: Vec<f64> = rows.iter().map(|&i| response[i]).collect();
                grouped(&inner, &values).1
            })
            .collect();
        let found = stats::nested(&data, &names[0], &names[1])?;
        (analysis.table, analysis.components) = (found.table, found.components);
        return Ok(analysis);
    }
    let factors: Vec<Factor<'_>> =
        names.iter().zip(levels).map(|(name, levels)| Factor { name, levels }).collect();
    if command.random
        && let [one, two] = factors.as_slice()
    {
        let found = stats::random_crossed(response, &[one.clone(), two.clone()])?;
        (analysis.table, analysis.components) = (found.table, found.components);
        return Ok(analysis);
    }
    if command.random {
        return Err(StatsError::Layout("--random goes with one factor or two".to_owned()));
    }
    let combinations: HashSet<Vec<&String>> =
        (0..response.len()).map(|i| levels.iter().map(|l| &l[i]).collect()).collect();
    let repeated = combinations.len() < response.len() && !command.no_interaction;
    let interactions = if repeated { Interactions::Pairs } else { Interactions::None };
    let found = stats::factorial(response, &factors, interactions)?;
    analysis.table = found.table;
    analysis.balanced = Some(found.balanced);
    Ok(analysis)
}

/// Values by level, levels in the order they first appear.
fn grouped<T: Copy>(levels: &[String], values: &[T]) -> (Vec<String>, Vec<Vec<T>>) {
    let mut places = BTreeMap::new();
    let (mut names, mut groups): (Vec<String>, Vec<Vec<T>>) = (Vec::new(), Vec::new());
    for (level, value) in levels.iter().zip(values) {
        let place = *places.entry(level).or_insert_with(|| {
            names.push(level.clone());
            groups.push(Vec::new());
            groups.len() - 1
        });
        groups[place].push(*value);
    }
    (names, groups)
}

fn shown(analysis: &Analysis) -> Answer {
    let rows: Vec<Value> = analysis
        .table
        .rows
        .iter()
        .map(|row| {
            Document::new()
                .put("source", row.source.as_str())
                .put("degrees_of_freedom", row.degrees_of_freedom)
                .put("sum_of_squares", row.sum_of_squares)
                .figure("mean_square", &row.mean_square)
                .figure("f", &row.f)
                .figure("p", &row.p)
                .value()
        })
        .collect();
    let components: Vec<Value> = analysis
        .components
        .iter()
        .map(|c| {
            let document = Document::new().put("source", c.source.as_str());
            document.figure("variance", &c.variance).put("set_to_zero", c.truncated).value()
        })
        .collect();
    let differences: Vec<Value> = analysis
        .differences
        .iter()
        .map(|(first, second, d)| {
            Document::new()
                .put("first", first.as_str())
                .put("second", second.as_str())
                .put("difference", d.difference)
                .interval("interval", &d.interval)
                .figure("p", &d.p)
                .value()
        })
        .collect();
    let mut json = Document::new().put("rows", rows).put("variance_components", components);
    if !differences.is_empty() {
        json = json.put("pairs", differences);
    }
    if let Some(balanced) = analysis.balanced {
        json = json.put("balanced", balanced);
    }
    Answer::new(words(analysis), json.value())
}

fn words(analysis: &Analysis) -> String {
    let or_nothing = |f: &stonewear_stats::Figure| f.as_ref().map_or(String::new(), |v| short(*v));
    let rows: Vec<Vec<String>> = analysis
        .table
        .rows
        .iter()
        .map(|row| {
            vec![
                row.source.clone(),
                row.degrees_of_freedom.to_string(),
                short(row.sum_of_squares),
                or_nothing(&row.mean_square),
                or_nothing(&row.f),
                or_nothing(&row.p),
            ]
        })
        .collect();
    let header = ["source", "degrees of freedom", "sum of squares", "mean square", "F", "p"];
    let mut text = columns(&header, &rows);
    if analysis.balanced == Some(false) {
        text.push_str(
            "\nThe layout is not balanced: each source is tested after those above it, so their order \
             matters.\n",
        );
    }
    if !analysis.components.is_empty() {
        let rows: Vec<Vec<String>> = analysis
            .components
            .iter()
            .map(|c| {
                let note = if c.truncated { "came out below zero" } else { "" };
                vec![c.source.clone(), figure(&c.variance), note.to_owned()]
            })
            .collect();
        text.push('\n');
        text.push_str(&columns(&["variance component", "variance", ""], &rows));
    }
    if !analysis.differences.is_empty() {
        let rows: Vec<Vec<String>> = analysis
            .differences
            .iter()
            .map(|(first, second, d)| {
                let interval = d.interval.as_ref().map_or_else(
                    |why| format!("not defined ({why})"),
                    |i| format!("{} to {}", short(i.lower), short(i.upper)),
                );
                vec![format!("{second} - {first}"), short(d.difference), interval, figure(&d.p)]
            })
            .collect();
        text.push('\n');
        text.push_str(&columns(&["pair", "difference", "interval", "p"], &rows));
    }
    text
}
