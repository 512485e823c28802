//! In control, week after week: reference aggregate, its charts, and what follows from a signal.
//!
//! A lot of reference aggregate is tested again and again by ordinary runs. Each of its losses is a
//! point on the chart of its lot and apparatus, judged against a baseline that somebody froze, by the
//! rules that the laboratory chose. A signal holds the apparatus and opens an investigation, where
//! the laboratory wants that; only a later reference result without a signal releases it.
//!
//! The losses stay exact decimals. What is worked out of them (centre, standard deviation, averages,
//! sums) are statistics, and doubles, in this room alone; a fact keeps them as decimals.

mod chart;
mod due;
mod event;
mod investigate;
pub mod list;
mod overlap;
mod points;
mod rules;
mod stock;

pub use chart::{ControlChart, Lines, MemoryLine, Point, Role, Signal, State};
pub(crate) use due::Owed;
pub use due::{Due, DueRule, ReferenceDue};
pub use event::ChartEvent;
pub use investigate::{Step, StepKind, StepState};
pub use overlap::Overlap;
pub use points::{BaselineProgress, BaselineRule};
pub(crate) use points::{Known, charted_loss};
pub use rules::{Memory, Rules};
pub use stock::LotStock;
