//! A table of a sheet as CSV (RFC 4180), for other programs.

use crate::{Cell, Table};
use stonewear_stats::table::row;

/// The table as CSV with a header row; lines end in CR LF. A cell that is to be filled by hand is
/// empty.
pub fn csv(table: &Table) -> String {
    let head = table.columns.iter().map(|column| column.head.as_str());
    let rows = table.rows.iter().map(|cells| row(cells.iter().map(words)));
    std::iter::once(row(head)).chain(rows).collect()
}

fn words(cell: &Cell) -> &str {
    match cell {
        Cell::Text(text) => text,
        Cell::Strip(strip) => &strip.value,
        Cell::Blank | Cell::ToFill => "",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Column;

    #[test]
    fn a_table_has_its_head_and_what_is_to_be_filled_is_empty() {
        let table = Table::new("masses", [Column::number("Mass, g"), Column::text("Read")])
            .row([Cell::from("5001.2"), Cell::from("said \"heavy\"\nagain")])
            .row([Cell::to_fill(), Cell::Blank]);
        assert_eq!(
            csv(&table),
            "\"Mass, g\",Read\r\n5001.2,\"said \"\"heavy\"\"\nagain\"\r\n,\r\n"
        );
    }
}
