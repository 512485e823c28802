//! Householder QR at twice double precision (A. S. Householder, Journal of the ACM 5 (1958)
//! 339-342; Å. Björck, Numerical Methods for Least Squares Problems, 1996, section 2.3).
//!
//! Reference data sets such as Longley and Wampler lose up to ten digits in plain double
//! precision. With twice the digits nothing has to be scaled, centred or refined, and the same
//! code serves a line through ten points and a fifth-degree polynomial.

use crate::error::Undefined;
use crate::number::Dd;

/// The factors that least squares needs.
#[derive(Debug, Clone)]
pub(crate) struct Decomposition {
    /// R, row by row from the diagonal to the right.
    pub(crate) r: Vec<Vec<Dd>>,
    /// The first entries of Qᵀy, one a column: their squares are the sequential sums of squares.
    pub(crate) effects: Vec<Dd>,
    /// What Qᵀy holds beyond the columns, squared and summed.
    pub(crate) residual_squares: Dd,
}

/// Why there are no factors.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Failure {
    /// This column, counted from 0, is a combination of those before it.
    Dependent(usize),
    /// See [`Undefined`].
    Undefined(Undefined),
}

/// A column whose part that is new is smaller than this share of it holds nothing but the rounding
/// of decimals to doubles.
const NEW_PART: f64 = 1e-13;

/// Factors `columns` and turns `y` with them. All have the same length, at least their number.
pub(crate) fn decompose(
    mut columns: Vec<Vec<Dd>>,
    mut y: Vec<Dd>,
) -> Result<Decomposition, Failure> {
    let count = columns.len();
    let mut r = Vec::with_capacity(count);
    for k in 0..count {
        let whole = squares(&columns[k]).sqrt().to_f64();
        let new = squares(&columns[k][k..]).sqrt();
        if !whole.is_finite() || !new.to_f64().is_finite() {
            return Err(Failure::Undefined(Undefined::BeyondDouble));
        }
        if new.to_f64() <= NEW_PART * whole {
            return Err(Failure::Dependent(k));
        }
        let (done, rest) = columns.split_at_mut(k + 1);
        let mirror = &mut done[k][k..];
        // The sign that adds, so that the mirror's first entry loses no digits.
        let diagonal = if mirror[0].is_negative() { new } else { -new };
        mirror[0] = mirror[0] - diagonal;
        let length = squares(mirror);
        for other in rest.iter_mut() {
            reflect(mirror, length, &mut other[k..]);
        }
        reflect(mirror, length, &mut y[k..]);
        r.push(std::iter::once(diagonal).chain(rest.iter().map(|column| column[k])).collect());
    }
    let residual_squares = squares(&y[count..]);
    if !residual_squares.to_f64().is_finite() {
        return Err(Failure::Undefined(Undefined::BeyondDouble));
    }
    y.truncate(count);
    Ok(Decomposition { r, effects: y, residual_squares })
}

impl Decomposition {
    /// Solves R b = effects.
    pub(crate) fn coefficients(&self) -> Vec<Dd> {
        let mut b = self.effects.clone();
        for i in (0..b.len()).rev() {
            let known: Dd = (i + 1..b.len()).map(|j| self.r[i][j - i] * b[j]).sum();
            b[i] = (b[i] - known) / self.r[i][0];
        }
        b
    }

    /// Solves Rᵀ z = row; z·z is the leverage of that row.
    pub(crate) fn leverage(&self, row: &[Dd]) -> Dd {
        let mut z: Vec<Dd> = Vec::with_capacity(row.len());
        for (j, &entry) in row.iter().enumerate() {
            let known: Dd = z.iter().enumerate().map(|(i, &zi)| self.r[i][j - i] * zi).sum();
            z.push((entry - known) / self.r[j][0]);
        }
        squares(&z)
    }

    /// The diagonal of (XᵀX)⁻¹.
    pub(crate) fn inverse_diagonal(&self) -> Vec<Dd> {
        let count = self.effects.len();
        (0..count)
            .map(|i| {
                let mut unit = vec![Dd::ZERO; count];
                unit[i] = Dd::from(1.0);
                self.leverage(&unit)
            })
            .collect()
    }
}

fn squares(values: &[Dd]) -> Dd {
    values.iter().map(|v| v.squared()).sum()
}

fn reflect(mirror: &[Dd], length: Dd, target: &mut [Dd]) {
    let dot: Dd = mirror.iter().zip(&*target).map(|(&m, &t)| m * t).sum();
    let scale = (dot + dot) / length;
    for (t, &m) in target.iter_mut().zip(mirror) {
        *t = *t - scale * m;
    }
}
