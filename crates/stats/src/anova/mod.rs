//! Analysis of variance: one-way, several factors, Latin squares, nested, gauge studies; variance
//! components and all comparisons of pairs.

mod effects;
mod factorial;
mod gauge;
mod nested;
mod one_way;
mod random;
mod table;
mod tukey;

pub use effects::{Effects, FactorEffect, Level, effects};
pub use factorial::{Factor, Factorial, Interactions, factorial};
pub use gauge::{Gauge, GaugeByRange, Reading, gauge, gauge_by_range};
pub use nested::{Nested, nested};
pub use one_way::{OneWay, one_way};
pub use random::{RandomCrossed, random_crossed};
pub use table::{Component, Row, Table};
pub use tukey::{Difference, tukey};
