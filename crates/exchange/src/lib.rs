//! Spreadsheets and open data.
//!
//! **Out** ([`out`]): every subject of the laboratory as a table of columns with names, units and
//! meanings. From the one description of the columns come the XLSX sheet, the tidy CSV, the data
//! dictionary, the JSON document and its schema, so that they cannot say different things. A loss
//! sheet works a loss out by living formulas.
//!
//! **In** ([`taken`]): anybody's CSV or workbook becomes rows that the laboratory judges one by one.
//! Which headings mean what is a readable file, `headings.toml`.
//!
//! No disk and no clock: bytes in, bytes out.

pub mod out;
pub mod taken;
