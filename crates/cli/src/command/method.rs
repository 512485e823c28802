//! `stonewear method`: methods of a laboratory, and how sure their numbers are.

use super::asking::ask;
use crate::answer::{Answer, Failure};
use crate::arguments::Asking;
use stonewear_lab::request::{AdoptMethod, ComparedFigure, ConfirmFigure};

#[derive(Debug, clap::Subcommand)]
pub(crate) enum MethodVerb {
    /// Take an edition of a method into use.
    #[command(after_help = "\
Example:\n\
\x20 stonewear method adopt --by AB astm-d6928")]
    Adopt {
        #[command(flatten)]
        asking: Asking,
        /// The method, like astm-d6928 or astm-d6928@2010.
        method: String,
    },
    /// Confirm or correct a number against the laboratory's own copy of the document.
    #[command(after_help = "\
Example:\n\
\x20 stonewear method confirm --by AB astm-d6928 water.volume_l.tolerance --against 'our copy of 2010'")]
    Confirm {
        #[command(flatten)]
        asking: Asking,
        /// The method in use.
        method: String,
        /// Which number, as `stonewear methods METHOD` lists it; several, where each is as it is.
        #[arg(required = true)]
        figure: Vec<String>,
        /// The corrected value of the first number; left out, it is confirmed as it is.
        #[arg(long, default_value = "", allow_negative_numbers = true)]
        value: String,
        /// Which copy it was compared with.
        #[arg(long)]
        against: String,
    },
}

pub(crate) fn run(method: MethodVerb) -> Result<Answer, Failure> {
    match method {
        MethodVerb::Adopt { asking, method } => ask(&asking, AdoptMethod { method }),
        MethodVerb::Confirm { asking, method, figure, value, against } => {
            let mut figures = figure.into_iter();
            let figure = figures.next().unwrap_or_default();
            let more = figures.map(|figure| ComparedFigure {
                figure,
                same: "yes".to_owned(),
                ..ComparedFigure::default()
            });
            ask(&asking, ConfirmFigure { method, figure, value, against, more: more.collect() })
        }
    }
}
