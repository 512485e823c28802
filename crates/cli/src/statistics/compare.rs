//! `stonewear compare`: do two sets of results differ?

use super::document::{Document, defined};
use super::file::column_of;
use super::table::{figure, lines, short};
use crate::answer::{Answer, Failure};
use std::path::PathBuf;
use stonewear_stats::StatsError;
use stonewear_stats::comparison::{TTest, paired, verification};

/// Compare two sets of results: variances by F, means by t.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Example (invented figures):\n\
\x20 printf 'loss\\n14.8\\n15.1\\n14.6\\n14.9\\n' > producer.csv\n\
\x20 printf 'loss\\n15.4\\n15.2\\n15.9\\n' > agency.csv\n\
\x20 stonewear compare producer.csv agency.csv --alpha 0.01")]
pub(crate) struct Compare {
    /// First set: CSV file with a header row.
    a: PathBuf,
    /// Second set: CSV file with a header row.
    b: PathBuf,
    /// Name of the column in both files, where there are several.
    #[arg(long, value_name = "NAME")]
    column: Option<String>,
    /// Row by row the same materials: test the differences.
    #[arg(long)]
    paired: bool,
    /// Level of the tests.
    #[arg(long, default_value_t = 0.05)]
    alpha: f64,
}

const FIELDS: [&str; 5] = ["f", "f_p", "t", "t_degrees_of_freedom", "t_p"];

pub(crate) fn compare(command: &Compare) -> Result<Answer, Failure> {
    let a = column_of(&command.a, command.column.as_deref())?;
    let b = column_of(&command.b, command.column.as_deref())?;
    let answer = if command.paired {
        of_pairs(&a, &b, command.alpha)
    } else {
        of_sets(&a, &b, command.alpha)
    };
    defined(answer, &FIELDS)
}

fn with_test(document: Document, test: &TTest) -> Document {
    document
        .figure("t", &test.t)
        .put("t_degrees_of_freedom", test.freedom)
        .figure("t_p", &test.p)
        .put("t_critical", test.critical)
        .put("standard_error", test.standard_error)
}

fn of_pairs(a: &[f64], b: &[f64], alpha: f64) -> Result<Answer, StatsError> {
    let found = paired(a, b, alpha)?;
    let why = "pairs are compared through their differences, not through two variances";
    let json = with_test(
        Document::new()
            .put("pairs", found.n)
            .put("mean_a", found.means[0])
            .put("mean_b", found.means[1])
            .put("difference", found.difference)
            .put("standard_deviation", found.standard_deviation)
            .missing("f", why)
            .missing("f_p", why)
            .missing("equal_variances", why),
        &found.test,
    );
    let text = lines(&[
        ("pairs", found.n.to_string()),
        ("mean difference", short(found.difference)),
        ("standard deviation of differences", short(found.standard_deviation)),
        ("t", figure(&found.test.t)),
        ("p", figure(&found.test.p)),
        ("verdict", verdict(&found.test, alpha)),
    ]);
    Ok(Answer::new(text, json.put("alpha", alpha).value()))
}

fn of_sets(a: &[f64], b: &[f64], alpha: f64) -> Result<Answer, StatsError> {
    let found = verification(a, b, alpha)?;
    let chosen = found.chosen();
    let json = with_test(
        Document::new()
            .put("n_a", a.len())
            .put("n_b", b.len())
            .put("mean_a", found.means[0])
            .put("mean_b", found.means[1])
            .put("variance_a", found.variances[0])
            .put("variance_b", found.variances[1])
            .put("difference", found.difference())
            .figure("f", &found.f)
            .figure("f_p", &found.f_p)
            .put("f_critical", found.f_critical)
            .put("equal_variances", found.equal_variances),
        chosen,
    );
    let other = if found.equal_variances { &found.welch } else { &found.pooled };
    let kind = |equal: bool| if equal { "pooled variance" } else { "separate variances" };
    let json = json
        .put("t_test", kind(found.equal_variances))
        .put("other_t_test", kind(!found.equal_variances))
        .put("other", with_test(Document::new(), other).value())
        .put("alpha", alpha);
    let text = lines(&[
        ("mean of first", short(found.means[0])),
        ("mean of second", short(found.means[1])),
        ("difference", short(found.difference())),
        ("F", figure(&found.f)),
        ("p of F", figure(&found.f_p)),
        ("t with", kind(found.equal_variances).to_owned()),
        ("t", figure(&chosen.t)),
        ("degrees of freedom", short(chosen.freedom)),
        ("p of t", figure(&chosen.p)),
        ("verdict", verdict(chosen, alpha)),
    ]);
    Ok(Answer::new(text, json.value()))
}

fn verdict(test: &TTest, alpha: f64) -> String {
    match &test.p {
        Ok(p) if *p < alpha => "the means differ".to_owned(),
        Ok(_) => "no difference of the means is shown".to_owned(),
        Err(why) => format!("not defined ({why})"),
    }
}
