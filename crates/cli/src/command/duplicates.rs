//! `stonewear duplicates`: how far people repeat, from pairs among the laboratory's own results.

use crate::answer::{Answer, Failure};
use crate::arguments::Folder;
use serde_json::json;
use stonewear_runtime::LaboratoryView;
use stonewear_stats::table::row;

/// Show the duplicates of each person by each method: pairs, spread, and whether people differ.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Example:\n\
\x20 stonewear duplicates --method astm-d6928\n\
\x20 stonewear duplicates --csv > pairs.csv")]
pub(crate) struct Duplicates {
    #[command(flatten)]
    folder: Folder,
    /// Only this method.
    #[arg(long, value_name = "METHOD")]
    method: Option<String>,
    /// The pairs as a table with commas.
    #[arg(long)]
    csv: bool,
}

pub(crate) fn run(duplicates: &Duplicates) -> Result<Answer, Failure> {
    let view = LaboratoryView::open(&duplicates.folder.dir)?;
    let lab = view.lab();
    let mut all = lab.duplicates();
    if let Some(typed) = &duplicates.method {
        all.retain(|one| one.method.answers_to(typed.trim()));
        if all.is_empty() {
            let message =
                format!("nothing was tested by “{typed}”; `stonewear show` lists methods");
            return Err(Failure::WrongInput(message));
        }
    }
    let mut text = String::new();
    if duplicates.csv {
        let head = "method person sample one other weighed_at mean_percent range_percent";
        text.push_str(&row(head.split(' ')));
    }
    for of_method in &all {
        if !duplicates.csv {
            let spread = |value: Option<f64>| {
                value.map_or_else(|| "not known".to_owned(), |value| format!("{value:.2} % loss"))
            };
            text.push_str(&format!(
                "{}: standard deviation within a person {}, between people {} ({} shared samples); \
                 {} specimens in several hands count for nobody\n",
                of_method.method,
                spread(of_method.within_percent),
                spread(of_method.between_percent),
                of_method.shared_samples,
                of_method.several_hands
            ));
        }
        for person in &of_method.people {
            if !duplicates.csv {
                text.push_str(&format!("  {}: {}\n", person.person, person.words.join(" ")));
            }
            for pair in person.pairs.iter().filter(|_| duplicates.csv) {
                text.push_str(&row([
                    of_method.method.to_string(),
                    person.person.to_string(),
                    pair.sample.to_string(),
                    pair.one.to_string(),
                    pair.other.to_string(),
                    pair.at.to_string(),
                    format!("{:.3}", pair.mean_percent),
                    format!("{:.3}", pair.range_percent),
                ]));
            }
        }
    }
    Ok(Answer::new(text, json!({ "duplicates": all })))
}
