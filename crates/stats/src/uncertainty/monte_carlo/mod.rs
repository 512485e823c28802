//! Propagation of distributions by Monte Carlo (JCGM 101).
//!
//! The answer depends on the seed and on nothing else: trials are made in fixed blocks, each with
//! its own stream, and block results are combined in their order, so one thread and many give the
//! same bits. Functions come from `libm` for the same reason.

mod adaptive;
mod block;
mod run;
mod sampler;
mod tails;
mod ziggurat;

pub use adaptive::{Adaptive, Wanted, adaptive};
pub use run::{MonteCarlo, Setup, run};

/// The generator: xoshiro256++ (D. Blackman and S. Vigna, ACM Transactions on Mathematical Software
/// 47 (2021), article 36).
type Stream = rand_xoshiro::Xoshiro256PlusPlus;
