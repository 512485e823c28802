//! `stonewear fit`: least squares, with bands.

use super::document::{Document, defined};
use super::file;
use super::picture;
use super::table::{columns, figure, lines, short};
use crate::answer::{Answer, Failure};
use serde_json::Value;
use std::path::PathBuf;
use stonewear_picture::{Band, Curve, Plot};
use stonewear_stats::regression::{
    Design, Fit, Interval, Prediction, deming, fit as least_squares,
};
use stonewear_stats::{StatsError, Undefined};

/// Fit a line, a polynomial or several predictors by least squares.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Example (invented figures):\n\
\x20 printf 'x,y\\n0,5006.1\\n100,5002.2\\n200,4997.9\\n300,4993.6\\n' > charge.csv\n\
\x20 stonewear fit charge.csv --at 400")]
pub(crate) struct FitLine {
    /// CSV file with a header row; `-` reads standard input.
    file: PathBuf,
    /// Column of the response.
    #[arg(long, value_name = "NAME", default_value = "y")]
    y: String,
    /// Column of a predictor; repeat it for several.
    #[arg(long, value_name = "NAME", default_values = ["x"])]
    x: Vec<String>,
    /// Degree of the polynomial in one predictor.
    #[arg(long, default_value_t = 1)]
    degree: usize,
    /// Force the fit through the origin.
    #[arg(long)]
    no_intercept: bool,
    /// Place to predict at: one number, or one a predictor with commas between; repeatable.
    #[arg(long, value_name = "X0", allow_negative_numbers = true)]
    at: Vec<String>,
    /// Level of the intervals.
    #[arg(long, default_value_t = 0.95)]
    level: f64,
    /// Both columns carry error: fit a Deming line, given the variance of the errors of y over that of
    /// x; 1 is orthogonal regression.
    #[arg(long, value_name = "RATIO", conflicts_with_all = ["degree", "no_intercept", "at"])]
    deming: Option<f64>,
    /// Draw the points, the fit and its bands into this file (one predictor).
    #[arg(long, value_name = "FILE")]
    svg: Option<PathBuf>,
}

const FIELDS: [&str; 4] =
    ["coefficients", "residual_standard_deviation", "r_squared", "predictions"];

pub(crate) fn fit(command: &FitLine) -> Result<Answer, Failure> {
    let table = file::table(&command.file)?;
    let column =
        |name: &String| table.numbers(name).map_err(|error| file::fault(&command.file, &error));
    let y = column(&command.y)?;
    let predictors = command.x.iter().map(column).collect::<Result<Vec<Vec<f64>>, Failure>>()?;
    let places =
        command.at.iter().map(|at| place(at)).collect::<Result<Vec<Vec<f64>>, Failure>>()?;
    if command.degree != 1 && predictors.len() > 1 {
        let message = "--degree goes with one --x; several predictors enter as they are";
        return Err(Failure::WrongInput(message.to_owned()));
    }
    if command.svg.is_some() && (predictors.len() > 1 || command.deming.is_some()) {
        let message = "--svg draws a fit in one --x, without --deming";
        return Err(Failure::WrongInput(message.to_owned()));
    }
    if let Some(ratio) = command.deming {
        let [x] = predictors.as_slice() else {
            return Err(Failure::WrongInput("--deming goes with one --x".to_owned()));
        };
        return defined(of_deming(x, &y, ratio, command.level), &FIELDS);
    }
    let found = || -> Result<Fit, StatsError> {
        let design = if predictors.len() == 1 {
            let (name, values) = (&command.x[0], &predictors[0]);
            Design::polynomial(name, values, command.degree, !command.no_intercept)?
        } else {
            let named: Vec<(&str, &[f64])> = command
                .x
                .iter()
                .zip(&predictors)
                .map(|(name, values)| (name.as_str(), values.as_slice()))
                .collect();
            Design::predictors(&named, !command.no_intercept)?
        };
        least_squares(design, &y)
    };
    let found = found();
    if let (Ok(found), Some(_)) = (&found, &command.svg) {
        let drawn = drawn(found, &predictors[0], &y, command).map_err(Failure::wrong_input)?;
        picture::write(|| drawn.svg(), command.svg.as_deref())?;
    }
    let answer = || -> Result<Answer, StatsError> {
        let found = found?;
        let predictions = places
            .iter()
            .map(|at| Ok((at, found.predict(at, command.level)?)))
            .collect::<Result<Vec<(&Vec<f64>, Prediction)>, StatsError>>()?;
        let coefficients: Vec<Value> = found
            .coefficients
            .iter()
            .map(|c| {
                Document::new()
                    .put("name", c.name.as_str())
                    .figure("estimate", &c.estimate)
                    .figure("standard_error", &c.standard_error)
                    .value()
            })
            .collect();
        let json = Document::new()
            .put("n", found.n)
            .put("coefficients", coefficients)
            .put("degrees_of_freedom", found.degrees_of_freedom)
            .figure("residual_standard_deviation", &found.residual_standard_deviation)
            .figure("r_squared", &found.r_squared)
            .put("regression_sum_of_squares", found.regression_sum_of_squares)
            .put("residual_sum_of_squares", found.residual_sum_of_squares)
            .put("level", command.level)
            .put(
                "predictions",
                predictions.iter().map(|(at, p)| prediction(at, p)).collect::<Vec<_>>(),
            )
            .value();
        let rows: Vec<Vec<String>> = found
            .coefficients
            .iter()
            .map(|c| vec![c.name.clone(), figure(&c.estimate), figure(&c.standard_error)])
            .collect();
        let mut text = columns(&["coefficient", "estimate", "standard error"], &rows);
        text.push('\n');
        text.push_str(&lines(&[
            ("residual standard deviation", figure(&found.residual_standard_deviation)),
            ("degrees of freedom", found.degrees_of_freedom.to_string()),
            ("R squared", figure(&found.r_squared)),
        ]));
        if !predictions.is_empty() {
            let ends = |i: &Result<stonewear_stats::regression::Interval, _>| match i {
                Ok(i) => format!("{} to {}", short(i.lower), short(i.upper)),
                Err(why) => format!("not defined ({why})"),
            };
            let rows: Vec<Vec<String>> = predictions
                .iter()
                .map(|(at, p)| {
                    let at: Vec<String> = at.iter().map(|v| short(*v)).collect();
                    vec![at.join(", "), short(p.value), ends(&p.confidence), ends(&p.prediction)]
                })
                .collect();
            text.push('\n');
            text.push_str(&columns(&["at", "value", "mean lies in", "one result lies in"], &rows));
        }
        Ok(Answer::new(text, json))
    };
    defined(answer(), &FIELDS)
}

/// The points, the fitted curve and both bands.
fn drawn(found: &Fit, x: &[f64], y: &[f64], command: &FitLine) -> Result<Plot, StatsError> {
    let (low, high) = picture::span(x.iter().copied()).unwrap_or((0.0, 1.0));
    let at = picture::steps(low, high, 80)
        .map(|x| Ok((x, found.predict(&[x], command.level)?)))
        .collect::<Result<Vec<(f64, Prediction)>, StatsError>>()?;
    let band = |name: String, pick: fn(&Prediction) -> &Result<Interval, Undefined>| Band {
        name,
        edges: at
            .iter()
            .filter_map(|(x, p)| pick(p).as_ref().ok().map(|i| (*x, i.lower, i.upper)))
            .collect(),
    };
    let level = picture::percent(command.level);
    let bands = [
        band(format!("one result ({level})"), |p| &p.prediction),
        band(format!("the mean ({level})"), |p| &p.confidence),
    ];
    Ok(Plot {
        title: format!("{} over {}", command.y, command.x[0]),
        description: format!("{} points with the fitted curve and its bands", x.len()),
        x_label: command.x[0].clone(),
        y_label: command.y.clone(),
        points: x.iter().copied().zip(y.iter().copied()).collect(),
        curves: vec![Curve {
            name: "fit".to_owned(),
            points: at.iter().map(|(x, p)| (*x, p.value)).collect(),
        }],
        // With no degree of freedom left there is no band, and its name would promise one.
        bands: bands.into_iter().filter(|band| !band.edges.is_empty()).collect(),
        ..Plot::default()
    })
}

fn place(text: &str) -> Result<Vec<f64>, Failure> {
    text.split(',')
        .map(|part| {
            part.trim().parse().map_err(|_| {
                Failure::WrongInput(format!("--at {text}: {part:?} is not a number such as 12.3"))
            })
        })
        .collect()
}

fn prediction(at: &[f64], found: &Prediction) -> Value {
    let document = match at {
        [one] => Document::new().put("at", *one),
        several => Document::new().put("at", several.to_vec()),
    };
    document
        .put("value", found.value)
        .figure("standard_error", &found.standard_error)
        .interval("confidence", &found.confidence)
        .interval("prediction", &found.prediction)
        .value()
}

fn of_deming(x: &[f64], y: &[f64], ratio: f64, level: f64) -> Result<Answer, StatsError> {
    let found = deming(x, y, ratio, level)?;
    let rows = [
        ("intercept", found.intercept, &found.intercept_standard_error, &found.intercept_interval),
        ("slope", found.slope, &found.slope_standard_error, &found.slope_interval),
    ];
    let coefficients: Vec<Value> = rows
        .iter()
        .map(|(name, estimate, error, interval)| {
            Document::new()
                .put("name", *name)
                .put("estimate", *estimate)
                .figure("standard_error", error)
                .interval("interval", interval)
                .value()
        })
        .collect();
    let why = "a Deming line has no residual in one direction";
    let json = Document::new()
        .put("n", x.len())
        .put("error_variance_ratio", ratio)
        .put("coefficients", coefficients)
        .missing("residual_standard_deviation", why)
        .missing("r_squared", why)
        .put("level", level)
        .value();
    let rows: Vec<Vec<String>> = rows
        .iter()
        .map(|(name, estimate, error, interval)| {
            let ends = interval.as_ref().map_or_else(
                |why| format!("not defined ({why})"),
                |i| format!("{} to {}", short(i.lower), short(i.upper)),
            );
            vec![(*name).to_owned(), short(*estimate), figure(error), ends]
        })
        .collect();
    let text = columns(&["coefficient", "estimate", "standard error", "interval"], &rows);
    Ok(Answer::new(text, json))
}
