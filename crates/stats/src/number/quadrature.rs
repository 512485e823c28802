//! Gauss-Legendre quadrature: nodes by Newton's method on the Legendre recurrence
//! (W. H. Press et al., Numerical Recipes, section 4.6; M. Abramowitz and I. Stegun, 25.4.29).
//!
//! The nodes themselves are needed as unknowns of the integral equations for run lengths, so this
//! is a table of nodes and not a black box that integrates.

/// Nodes and weights on an interval.
#[derive(Debug, Clone)]
pub(crate) struct Nodes(Vec<(f64, f64)>);

impl Nodes {
    /// Moves nodes given on -1…1 to `from`…`to`.
    pub(crate) fn on(&self, from: f64, to: f64) -> Self {
        let (middle, half) = (0.5 * (from + to), 0.5 * (to - from));
        Self(self.0.iter().map(|&(x, w)| (middle + half * x, half * w)).collect())
    }

    /// Each node with its weight.
    pub(crate) fn iter(&self) -> impl Iterator<Item = (f64, f64)> + '_ {
        self.0.iter().copied()
    }

    pub(crate) fn len(&self) -> usize {
        self.0.len()
    }

    /// The integral of `f` over the interval the nodes stand on.
    pub(crate) fn integrate(&self, f: impl Fn(f64) -> f64) -> f64 {
        self.0.iter().map(|&(x, w)| w * f(x)).sum()
    }
}

/// `count` nodes on -1…1.
pub(crate) fn legendre(count: usize) -> Nodes {
    let n = count as f64;
    let mut nodes = vec![(0.0, 0.0); count];
    for i in 0..count.div_ceil(2) {
        let mut x = libm::cos(std::f64::consts::PI * (i as f64 + 0.75) / (n + 0.5));
        let mut slope = 1.0;
        // Newton converges quadratically from this start; a dozen steps are plenty.
        for _ in 0..12 {
            let (mut previous, mut current) = (0.0, 1.0);
            for k in 0..count {
                let k = k as f64;
                let next = ((2.0 * k + 1.0) * x * current - k * previous) / (k + 1.0);
                previous = current;
                current = next;
            }
            slope = n * (x * current - previous) / (x * x - 1.0);
            let step = current / slope;
            x -= step;
            if step.abs() < 1e-16 {
                break;
            }
        }
        let weight = 2.0 / ((1.0 - x * x) * slope * slope);
        nodes[i] = (-x, weight);
        nodes[count - 1 - i] = (x, weight);
    }
    Nodes(nodes)
}

/// Nodes over consecutive panels between the given breaks, `count` in each.
pub(crate) fn panels(count: usize, breaks: &[f64]) -> Nodes {
    let unit = legendre(count);
    Nodes(breaks.windows(2).flat_map(|edge| unit.on(edge[0], edge[1]).0).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn is_exact_for_polynomials_of_degree_2n_minus_1() {
        for count in 1..40 {
            let nodes = legendre(count).on(0.0, 2.0);
            let degree = 2 * count as i32 - 1;
            let exact = 2f64.powi(degree + 1) / f64::from(degree + 1);
            let found = nodes.integrate(|x| x.powi(degree));
            assert!((found / exact - 1.0).abs() < 1e-13, "{count} nodes: {found} {exact}");
        }
    }

    #[test]
    fn panels_join() {
        let nodes = panels(12, &[0.0, 0.5, 3.0]);
        assert!((nodes.integrate(libm::exp) - (libm::exp(3.0) - 1.0)).abs() < 1e-12);
    }
}
