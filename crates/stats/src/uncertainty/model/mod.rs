//! What turns inputs into the measurand: a formula of the trade, a function, or an expression that
//! the user gives.

mod column;
mod expression;
mod function;
mod loss;

pub use expression::Expression;
pub use function::Function;
pub use loss::PercentLoss;

/// A model, evaluated for many trials at once.
///
/// Columns instead of single trials, because that is what makes a Monte Carlo run of ten million
/// interactive: the loop is inside the model, where the compiler sees it.
pub trait Model: Sync {
    /// Writes the measurand of every trial into `out`. `inputs` holds one column an input, in the
    /// order of the inputs, each as long as `out`. A trial without a value is left as NaN or
    /// infinity; the caller turns that into an error.
    fn evaluate(&self, inputs: &[&[f64]], out: &mut [f64]);
}

/// The measurand of a single set of inputs.
pub(crate) fn at(model: &dyn Model, inputs: &[f64]) -> f64 {
    let columns: Vec<&[f64]> = inputs.iter().map(std::slice::from_ref).collect();
    let mut out = [f64::NAN];
    model.evaluate(&columns, &mut out);
    out[0]
}
