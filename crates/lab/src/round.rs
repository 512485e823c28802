//! A round with split samples: codes, forms, files, and what follows from the results.
//!
//! What is decided is in `decide/rounds.rs`; here is what everybody looks at. The analysis is
//! statistics in double precision on its way to a page or a paper; a fact takes it as decimals,
//! rounded on purpose, when the round is closed.

mod analysis;
mod codes;
mod columns;
mod document;
mod figures;
mod form;
mod homogeneity;
mod table;

pub use analysis::{Analysis, CellAnalysis, MaterialAnalysis, analyse};
pub use codes::participant_code;
pub use document::{HEAD, cell_lines, csv, document, participant_document};
pub use figures::significant;
pub use form::result_form;
pub use homogeneity::{Homogeneity, HomogeneityVerdict, homogeneity};

pub(crate) use codes::MOST as MOST_PARTICIPANTS;
pub(crate) use columns::{Columns, number};
pub(crate) use table::{BagRow, read_bags, read_results};

use crate::state::{Lab, Round};
use stonewear_measure::Decimal;
use stonewear_method::Method;
use stonewear_method::model::Conditions;

/// What is reported where nothing else is said.
pub const LOSS: &str = "loss, %";

impl Lab {
    /// The round with this code, as it was typed.
    pub fn round(&self, typed: &str) -> Option<&Round> {
        self.rounds.get(crate::code::scanned(typed).as_str())
    }

    /// The method of a round, where it is one that is in use here.
    pub fn method_of_round(&self, round: &Round) -> Option<&Method> {
        self.method_in_use(&round.plan.value.method).map(|in_use| &in_use.method)
    }

    /// Standard deviation between laboratories that the method's published precision predicts at
    /// this value: its reproducibility limit over 2.8.
    pub fn predicted_deviation(&self, round: &Round, value: Decimal) -> Option<Decimal> {
        if round.plan.value.quantity != LOSS {
            return None;
        }
        let limit =
            self.method_of_round(round)?.precision_limit(Conditions::Reproducibility, value)?;
        limit.difference_percent.checked_div(Decimal::new(28, 1))
    }
}
