//! The laboratory's own long-run data beside the model: top-down beside bottom-up.

use super::super::document::Document;
use super::super::file;
use super::super::table::{figure, lines};
use crate::answer::Failure;
use std::path::PathBuf;
use stonewear_stats::StatsError;
use stonewear_stats::uncertainty::{TopDown, top_down};

#[derive(Debug, clap::Args)]
pub(super) struct OwnData {
    /// Results on a reference aggregate over time: CSV file with one column of numbers.
    #[arg(long, value_name = "FILE", requires = "assigned")]
    reference: Option<PathBuf>,
    /// Assigned value of the reference aggregate.
    #[arg(long, value_name = "VALUE", requires = "reference", allow_negative_numbers = true)]
    assigned: Option<f64>,
    /// Standard uncertainty of the assigned value.
    #[arg(long, value_name = "U", default_value_t = 0.0)]
    assigned_u: f64,
    /// Duplicates on ordinary samples: CSV file with columns first, second.
    #[arg(long, value_name = "FILE", requires = "reference")]
    duplicates: Option<PathBuf>,
}

/// The data, read.
pub(super) struct Read {
    reference: Vec<f64>,
    assigned: (f64, f64),
    duplicates: Vec<(f64, f64)>,
}

impl OwnData {
    pub(super) fn read(&self) -> Result<Option<Read>, Failure> {
        let (Some(reference), Some(assigned)) = (&self.reference, self.assigned) else {
            return Ok(None);
        };
        let duplicates = match &self.duplicates {
            None => Vec::new(),
            Some(path) => {
                let table = file::table(path)?;
                let column =
                    |name: &str| table.numbers(name).map_err(|error| file::fault(path, &error));
                column("first")?.into_iter().zip(column("second")?).collect()
            }
        };
        Ok(Some(Read {
            reference: file::column_of(reference, None)?,
            assigned: (assigned, self.assigned_u),
            duplicates,
        }))
    }
}

impl Read {
    /// Adds what the laboratory's own data say.
    pub(super) fn beside(&self, json: Document, text: &mut String) -> Result<Document, StatsError> {
        let found = top_down(&self.reference, self.assigned, &self.duplicates)?;
        text.push_str("\nFrom the laboratory's own data\n");
        text.push_str(&words(&found));
        Ok(json.put("top_down", document(&found).value()))
    }
}

/// The laboratory's own data for programs.
pub(in crate::statistics) fn document(found: &TopDown) -> Document {
    let inner = Document::new()
        .figure("standard_uncertainty", &found.standard_uncertainty)
        .figure("intermediate_precision", &found.intermediate)
        .figure("repeatability", &found.repeatability)
        .figure("bias", &found.bias)
        .figure("bias_uncertainty", &found.bias_uncertainty);
    match &found.bias_significant {
        Ok(significant) => inner.put("bias_significant", *significant),
        Err(why) => inner.missing("bias_significant", why),
    }
}

/// The laboratory's own data for people.
pub(in crate::statistics) fn words(found: &TopDown) -> String {
    let mut text = lines(&[
        ("standard uncertainty", figure(&found.standard_uncertainty)),
        ("intermediate precision", figure(&found.intermediate)),
        ("repeatability, from duplicates", figure(&found.repeatability)),
        ("bias", figure(&found.bias)),
        ("uncertainty of the bias", figure(&found.bias_uncertainty)),
    ]);
    if found.bias_significant == Ok(true) {
        text.push_str(
            "The bias is larger than twice its uncertainty: find its cause; the uncertainty above does \
             not cover it.\n",
        );
    }
    text
}
