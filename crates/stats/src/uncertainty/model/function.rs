//! A model given as a function of one trial's inputs.

use super::Model;

/// A function of one trial's inputs.
#[derive(Debug, Clone, Copy)]
pub struct Function<F>(
    /// The function.
    pub F,
);

impl<F: Fn(&[f64]) -> f64 + Sync> Model for Function<F> {
    fn evaluate(&self, inputs: &[&[f64]], out: &mut [f64]) {
        let mut trial = vec![0.0; inputs.len()];
        for (i, out) in out.iter_mut().enumerate() {
            for (value, column) in trial.iter_mut().zip(inputs) {
                *value = column[i];
            }
            *out = (self.0)(&trial);
        }
    }
}
