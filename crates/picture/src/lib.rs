//! Our pictures, from plain data: tolerance strip, jar wall, evidence line, series chart, grading
//! curve, and the plots of statistics.
//!
//! Each picture is a structure that anybody can fill, with `markup()` for a page and, where it is
//! one drawing, `svg()` for a file or a paper. The same data gives the same bytes. Every colour
//! stands twice: as an attribute, so that the drawing is complete alone, and as a class, so that
//! a stylesheet can put it in another theme ([`Colour`] lists them). No colour speaks alone: a
//! state is also a word and a shape, and a drawing carries its meaning as a title and a
//! description for those who do not see it.
//!
//! The crate knows nothing of laboratories: whoever calls it says what the figures mean.

mod bars;
mod chart;
mod colour;
mod draw;
mod evidence;
mod grading;
mod jar_wall;
mod means;
mod needles;
mod plot;
mod strip;
mod ticks;

pub use bars::{Bar, BarChart};
pub use chart::{Event, Limits, Point, PointMark, SeriesChart};
pub use colour::Colour;
pub use evidence::{EvidenceLine, Link, LinkState};
pub use grading::{GradingCurve, GradingPoint};
pub use jar_wall::{Clock, JarWall, Place, PlaceState, Tier};
pub use means::{Mean, MeansChart};
pub use needles::{Needle, NeedleChart, NeedleGroup};
pub use plot::{Band, Curve, Cut, Level, Mark, Plot};
pub use strip::{Standing, ToleranceStrip};
