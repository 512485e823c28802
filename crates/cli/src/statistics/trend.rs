//! `stonewear trend`: when does a trend meet its limit?

use super::document::{Document, defined};
use super::file;
use super::picture;
use super::table::{brief, figure, lines, short};
use crate::answer::{Answer, Failure};
use std::path::PathBuf;
use stonewear_picture::{Band, Curve, Level, Mark, Plot};
use stonewear_stats::regression::{
    Crossing, Design, Interval, Prediction, fit as least_squares, limit_crossing, straight_line,
};
use stonewear_stats::{StatsError, Undefined};

/// Fit a line and say when it meets a limit, with Fieller's interval.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Example (invented figures):\n\
\x20 printf 'x,y\\n0,5006.1\\n100,5002.2\\n200,4997.9\\n300,4993.6\\n' > charge.csv\n\
\x20 stonewear trend charge.csv --limit 4975")]
pub(crate) struct Trend {
    /// CSV file with a header row; `-` reads standard input.
    file: PathBuf,
    /// The limit, in the unit of y.
    #[arg(long, allow_negative_numbers = true)]
    limit: f64,
    /// Column of x.
    #[arg(long, value_name = "NAME", default_value = "x")]
    x: String,
    /// Column of y.
    #[arg(long, value_name = "NAME", default_value = "y")]
    y: String,
    /// Two-sided level of the interval; ask for 0.90 and use one end for a one-sided 95 %.
    #[arg(long, default_value_t = 0.95)]
    level: f64,
    /// Draw the points, the line with its bands and the crossing into this file.
    #[arg(long, value_name = "FILE")]
    svg: Option<PathBuf>,
}

pub(crate) fn trend(command: &Trend) -> Result<Answer, Failure> {
    let table = file::table(&command.file)?;
    let column =
        |name: &str| table.numbers(name).map_err(|error| file::fault(&command.file, &error));
    let (x, y) = (column(&command.x)?, column(&command.y)?);
    if let Some(path) = &command.svg {
        // Where there is no line the answer says why, and there is nothing to draw.
        if let Ok(plot) = drawn(&x, &y, command) {
            picture::write(|| plot.svg(), Some(path))?;
        }
    }
    let answer = || {
        let line = straight_line(&x, &y)?;
        let json = Document::new()
            .put("n", line.n)
            .put("slope", line.slope)
            .put("intercept", line.intercept)
            .put("level", command.level);
        let mut pairs = vec![("slope", short(line.slope)), ("intercept", short(line.intercept))];
        let found = match limit_crossing(&line, command.limit, command.level) {
            Ok(found) => found,
            Err(stonewear_stats::StatsError::Undefined(why)) => {
                pairs.push(("crossing", format!("not defined ({why})")));
                return Ok(Answer::new(lines(&pairs), json.missing("crossing", why).value()));
            }
            Err(wrong) => return Err(wrong),
        };
        let crossing = Document::new()
            .put("estimate", found.estimate)
            .figure("standard_error", &found.standard_error)
            .figure("g", &found.g);
        pairs.push(("meets the limit at", short(found.estimate)));
        pairs.push(("standard error", figure(&found.standard_error)));
        let unbounded = "the slope is not significant, so no finite interval exists";
        let (crossing, words) = match &found.crossing {
            Ok(Crossing::Between(ends)) => (
                crossing.put("kind", "between").put("lower", ends.lower).put("upper", ends.upper),
                format!("{} to {}", short(ends.lower), short(ends.upper)),
            ),
            Ok(Crossing::Outside(ends)) => (
                crossing
                    .put("kind", "outside")
                    .missing("lower", unbounded)
                    .missing("upper", unbounded)
                    .put("up_to", ends.lower)
                    .put("from", ends.upper),
                format!(
                    "not bounded: up to {} or from {}; {unbounded}",
                    short(ends.lower),
                    short(ends.upper)
                ),
            ),
            Ok(Crossing::Anywhere) => (
                crossing
                    .put("kind", "anywhere")
                    .missing("lower", unbounded)
                    .missing("upper", unbounded),
                format!("not bounded: {unbounded}"),
            ),
            Err(why) => (
                crossing.put("kind", "undefined").missing("lower", why).missing("upper", why),
                format!("not defined ({why})"),
            ),
        };
        pairs.push(("interval", words));
        Ok(Answer::new(lines(&pairs), json.put("crossing", crossing.value()).value()))
    };
    defined(answer(), &["slope", "intercept", "crossing"])
}

/// The points, the line as far as it matters, both bands, and the crossing with its interval.
fn drawn(x: &[f64], y: &[f64], command: &Trend) -> Result<Plot, StatsError> {
    let line = straight_line(x, y)?;
    let fit = least_squares(Design::polynomial(&command.x, x, 1, true)?, y)?;
    let crossing = limit_crossing(&line, command.limit, command.level).ok();
    let within = crossing.as_ref().and_then(|found| match found.crossing {
        Ok(Crossing::Between(ends)) => Some((ends.lower, ends.upper)),
        _ => None,
    });
    let (first, last) = picture::span(x.iter().copied()).unwrap_or((0.0, 1.0));
    let wide = last - first;
    // A crossing far away would press the points into a corner: then the line ends before it.
    let near = |x: f64| x > first - 4.0 * wide && x < last + 4.0 * wide;
    let marked = crossing.as_ref().filter(|found| near(found.estimate));
    let ends = within.filter(|(lower, upper)| near(*lower) && near(*upper));
    let reach = marked.map(|found| found.estimate).into_iter();
    let reach = reach.chain(ends.iter().flat_map(|(lower, upper)| [*lower, *upper]));
    let (low, high) = picture::span(reach.chain([first, last])).unwrap_or((first, last));
    let at = picture::steps(low, high, 80)
        .map(|x| Ok((x, fit.predict(&[x], command.level)?)))
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
        band(format!("the line ({level})"), |p| &p.confidence),
    ];
    let words = |estimate: f64| match ends {
        Some((lower, upper)) => {
            let (at, lower, upper) = (brief(estimate), brief(lower), brief(upper));
            format!("meets the limit at {at}, between {lower} and {upper}")
        }
        None => format!("meets the limit at {}; not bounded", brief(estimate)),
    };
    let marks: Vec<Mark> = marked
        .map(|found| Mark {
            name: words(found.estimate),
            x: found.estimate,
            y: command.limit,
            within: ends,
        })
        .into_iter()
        .collect();
    Ok(Plot {
        title: format!("{} over {}", command.y, command.x),
        description: marks.first().map_or_else(
            || format!("{} points with their line", x.len()),
            |mark| format!("{} points; their line {}", x.len(), mark.name),
        ),
        x_label: command.x.clone(),
        y_label: command.y.clone(),
        points: x.iter().copied().zip(y.iter().copied()).collect(),
        curves: vec![Curve {
            name: "line".to_owned(),
            points: at.iter().map(|(x, p)| (*x, p.value)).collect(),
        }],
        bands: bands.into_iter().filter(|band| !band.edges.is_empty()).collect(),
        levels: vec![Level { name: "limit".to_owned(), y: command.limit }],
        marks,
        cuts: Vec::new(),
    })
}
