//! Arithmetic underneath: twice double precision, quadrature, roots.

mod double_double;
mod quadrature;
mod root;

pub(crate) use double_double::{Dd, mean, mean_and_squares, sum};
pub(crate) use quadrature::{Nodes, legendre, panels};
pub(crate) use root::{minimum_where, root};
