//! What leaves the laboratory as tables.

mod csv;
mod json;
mod loss_sheet;
mod subject;
mod tables;
mod xlsx;

pub use csv::{csv, dictionary};
pub use json::{document, schema};
pub use loss_sheet::{LossSheetError, loss_sheets};
pub use subject::{Column, Kind, Subject, Value, What};
pub use tables::subject;
pub use xlsx::{WorkbookError, workbook};
