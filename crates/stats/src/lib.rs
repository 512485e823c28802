//! Laboratory statistics: everything numeric that a quality manager needs.
//!
//! A pure library: no files, no clock, no randomness of its own (a seed is an argument), nothing
//! printed. Figures are doubles; sums behind them are carried at twice that precision. What is not
//! defined says why ([`Undefined`]); NaN and infinity never come out.
//!
//! | room | question |
//! | --- | --- |
//! | [`mod@describe`] | what one column of values says |
//! | [`chart`] | is the process still what it was |
//! | [`interlab`] | how well a test repeats and reproduces |
//! | [`proficiency`] | robust values, scores |
//! | [`comparison`] | do two sets differ, do they agree, how many results tell |
//! | [`anova`] | which factor moves a result |
//! | [`design`] | how a study is laid out, what it can see |
//! | [`decimal`] | to and from the decimals of the laboratory |
//! | [`acceptance`] | how much of a lot is within limits, what a plan accepts |
//! | [`outlier`] | does a value belong to the others |
//! | [`normality`] | could the values be normal |
//! | [`conformity`] | does it conform, and at what risk |
//! | [`run_length`] | what a chart's rules cost and catch |
//! | [`uncertainty`] | how far a result can be trusted |
//! | [`mod@budget`] | what the uncertainty of a loss is made of |
//! | [`table`] | anybody's CSV as columns |
//! | [`regression`] | lines, bands, when a trend meets its limit |
//!
//! ```
//! use stonewear_stats::describe::describe;
//! use stonewear_stats::conformity::{Tolerance, conformance_probability};
//!
//! let losses = [14.8, 15.1, 14.6, 14.9]; // invented
//! let found = describe(&losses)?;
//! assert_eq!(found.mean, Ok(14.85));
//! // One value has no standard deviation, and says so.
//! let single = describe(&[14.8])?.standard_deviation;
//! assert_eq!(single.unwrap_err().to_string(), "needs at least 2 values, there are 1");
//!
//! let limit = Tolerance::new(None, Some(18.0))?;
//! assert!(conformance_probability(14.85, 0.4, &limit)? > 0.999);
//! # Ok::<(), stonewear_stats::StatsError>(())
//! ```

pub mod acceptance;
pub mod anova;
pub mod budget;
pub mod chart;
pub mod comparison;
pub mod conformity;
pub mod describe;
pub mod design;
pub mod distribution;
mod error;
pub mod interlab;
pub mod normality;
mod number;
pub mod outlier;
pub mod proficiency;
mod random_order;
pub mod regression;
pub mod run_length;
pub use stonewear_table as table;
pub mod uncertainty;

pub use error::{Figure, StatsError, Undefined, checked};
pub use random_order::random_order;
