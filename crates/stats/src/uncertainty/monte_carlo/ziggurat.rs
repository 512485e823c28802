//! Normal variates by the ziggurat of G. Marsaglia and W. W. Tsang (Journal of Statistical Software 5
//! (2000), issue 8) in the form of J. A. Doornik (2005): 256 layers, position and layer from
//! separate bits.

use std::sync::LazyLock;

use rand_xoshiro::rand_core::Rng;

use super::Stream;

const LAYERS: usize = 256;
/// Where the tail begins.
const START: f64 = 3.654_152_885_361_009;
/// Area of each layer.
const AREA: f64 = 4.928_673_233_974_655e-3;

/// Edges of the layers and ratios of neighbours.
pub(super) struct Ziggurat {
    x: [f64; LAYERS + 1],
    ratio: [f64; LAYERS],
}

static TABLE: LazyLock<Ziggurat> = LazyLock::new(|| {
    let height = |x: f64| libm::exp(-0.5 * x * x);
    let mut x = [0.0; LAYERS + 1];
    let mut f = height(START);
    x[0] = AREA / f;
    x[1] = START;
    for i in 2..LAYERS {
        x[i] = libm::sqrt(-2.0 * libm::log(AREA / x[i - 1] + f));
        f = height(x[i]);
    }
    let mut ratio = [0.0; LAYERS];
    for i in 0..LAYERS {
        ratio[i] = x[i + 1] / x[i];
    }
    Ziggurat { x, ratio }
});

/// The table, made once.
pub(super) fn table() -> &'static Ziggurat {
    &TABLE
}

/// A double in [0, 1) from the upper 53 bits. Through a signed integer, which processors convert in
/// one instruction.
#[inline]
pub(super) fn unit(bits: u64) -> f64 {
    (bits >> 11).cast_signed() as f64 * (1.0 / (1u64 << 53) as f64)
}

/// A double in [-1, 1) from the upper 53 bits.
#[inline]
fn signed_unit(bits: u64) -> f64 {
    (bits.cast_signed() >> 11) as f64 * (1.0 / (1u64 << 52) as f64)
}

impl Ziggurat {
    /// A standard normal variate.
    #[inline]
    pub(super) fn normal(&self, stream: &mut Stream) -> f64 {
        let bits = stream.next_u64();
        // Position from the upper 53 bits, layer from the lowest 8: no bit serves twice.
        let u = signed_unit(bits);
        let layer = (bits & (LAYERS as u64 - 1)) as usize;
        if u.abs() < self.ratio[layer] {
            return u * self.x[layer];
        }
        self.edge(stream, u, layer)
    }

    /// The rare cases, out of the way of the common one.
    #[cold]
    fn edge(&self, stream: &mut Stream, mut u: f64, mut layer: usize) -> f64 {
        loop {
            if layer == 0 {
                return tail(stream, u < 0.0);
            }
            let x = u * self.x[layer];
            let outer = libm::exp(-0.5 * (self.x[layer] * self.x[layer] - x * x));
            let inner = libm::exp(-0.5 * (self.x[layer + 1] * self.x[layer + 1] - x * x));
            if inner + unit(stream.next_u64()) * (outer - inner) < 1.0 {
                return x;
            }
            let bits = stream.next_u64();
            u = signed_unit(bits);
            layer = (bits & (LAYERS as u64 - 1)) as usize;
            if u.abs() < self.ratio[layer] {
                return u * self.x[layer];
            }
        }
    }
}

/// Beyond the last layer (G. Marsaglia, Technometrics 6 (1964) 101-102).
fn tail(stream: &mut Stream, negative: bool) -> f64 {
    loop {
        let x = libm::log(1.0 - unit(stream.next_u64())) / START;
        let y = libm::log(1.0 - unit(stream.next_u64()));
        if -2.0 * y >= x * x {
            return if negative { x - START } else { START - x };
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand_xoshiro::rand_core::SeedableRng;

    #[test]
    fn moments_and_tails_are_normal() {
        let mut stream = Stream::seed_from_u64(1);
        let n = 400_000;
        let (mut m1, mut m2, mut m4, mut beyond) = (0.0, 0.0, 0.0, [0u32; 3]);
        for _ in 0..n {
            let z = table().normal(&mut stream);
            m1 += z;
            m2 += z * z;
            m4 += z * z * z * z;
            for (count, limit) in beyond.iter_mut().zip([1.0, 2.0, 3.5]) {
                *count += u32::from(z > limit);
            }
        }
        let n = f64::from(n);
        // Each within about four standard errors.
        assert!((m1 / n).abs() < 4.0 / n.sqrt());
        assert!((m2 / n - 1.0).abs() < 4.0 * (2.0 / n).sqrt());
        assert!((m4 / n - 3.0).abs() < 4.0 * (96.0 / n).sqrt());
        for (count, p) in beyond.iter().zip([0.158_655, 0.022_750, 2.326e-4]) {
            let expected = p * n;
            assert!(
                (f64::from(*count) - expected).abs() < 4.0 * expected.sqrt(),
                "{count} {expected}"
            );
        }
    }
}
