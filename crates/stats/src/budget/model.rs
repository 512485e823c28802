//! The loss as a function of the errors of its sources.

use super::{Masses, Whole};
use crate::uncertainty::model::Model;

/// Where one error enters.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Place {
    /// The mass before of a specimen; as a part of it, or in g.
    Before(usize, bool),
    /// The mass after of a specimen; as a part of it, or in g.
    After(usize, bool),
    /// The loss, times a factor.
    Loss(f64),
    /// The loss, as a part of it.
    Share,
}

/// The mean loss of specimens, its errors being the inputs.
#[derive(Debug, Clone)]
pub(super) struct LossModel {
    pub(super) specimens: Vec<Masses>,
    pub(super) whole: Whole,
    pub(super) places: Vec<Place>,
}

impl Model for LossModel {
    fn evaluate(&self, inputs: &[&[f64]], out: &mut [f64]) {
        let count = self.specimens.len() as f64;
        let mut masses = self.specimens.clone();
        for (trial, out) in out.iter_mut().enumerate() {
            masses.copy_from_slice(&self.specimens);
            let (mut added, mut share) = (0.0, 0.0);
            for (place, column) in self.places.iter().zip(inputs) {
                let error = column[trial];
                match *place {
                    Place::Before(n, part) => {
                        let of = if part { self.specimens[n].before_g } else { 1.0 };
                        masses[n].before_g -= error * of;
                    }
                    Place::After(n, part) => {
                        let of = if part { self.specimens[n].after_g } else { 1.0 };
                        masses[n].after_g -= error * of;
                    }
                    Place::Loss(factor) => added += factor * error,
                    Place::Share => share += error,
                }
            }
            let loss = |m: &Masses| {
                let whole = match self.whole {
                    Whole::MassBefore => m.before_g,
                    Whole::Nominal(mass) => mass,
                };
                100.0 * (whole - m.after_g) / whole
            };
            *out = masses.iter().map(loss).sum::<f64>() / count * (1.0 - share) - added;
        }
    }
}
