//! Requests about spreadsheets of the laboratory's past.

use super::Request;

forms! {
    /// Take over the rows of a spreadsheet from before the laboratory was kept here. The bytes of
    /// the file are kept by their hash, beside the request.
    ImportFile {
        /// What its rows are: `equipment`, `references`, `tests` or `sieve-analyses`.
        what: String,
        /// Name of the file.
        name: String,
        /// Its media type.
        media_type: String,
        /// The SHA-256 of its bytes, as hexadecimal digits in lower case.
        sha256: String,
        /// How many bytes it has.
        bytes: String,
        /// The sheet of a workbook; empty for text.
        sheet: String,
        /// What the cells of each row are, in their order.
        columns: Vec<ImportColumn>,
        /// The rows.
        rows: Vec<ImportRow>,
        /// `yes` takes the good rows over and leaves the bad ones out; else one bad row refuses all.
        leave_out_bad: String,
    }
}

crate::request::described! {
    /// A column of the rows.
    ImportColumn {
        /// What its cells are: `code`, `on`, `loss_percent`.
        field: String,
        /// How the file calls the column; empty where the same was said of every row.
        heading: String,
    }
    /// A row.
    ImportRow {
        /// Its number in the file, from 1 as a spreadsheet counts.
        row: u64,
        /// Its cells, one for each column.
        cells: Vec<String>,
    }
}
