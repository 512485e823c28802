//! Is one value, or are several, too far from the rest of a normal sample?
//!
//! Grubbs' test of one or two values is shared with the analysis between laboratories.

mod dixon;
mod esd;

pub use crate::interlab::{
    Grubbs, GrubbsPair, Verdict, grubbs, grubbs_critical, grubbs_pair, grubbs_pair_critical,
};
pub use dixon::{Dixon, Ratio, dixon, dixon_critical};
pub use esd::{Esd, Step, generalized_esd};
