//! A table of a sheet as CSV (RFC 4180), for other programs.

use crate::{Cell, Table};

/// The table as CSV with a header row; lines end in CR LF. A cell that is to be filled by hand is
/// empty.
pub fn csv(table: &Table) -> String {
    let head = table.columns.iter().map(|column| column.head.as_str());
    let rows = table.rows.iter().map(|row| row_of(row.iter().map(words)));
    std::iter::once(row_of(head)).chain(rows).collect()
}

fn words(cell: &Cell) -> &str {
    match cell {
        Cell::Text(text) => text,
        Cell::Blank | Cell::ToFill => "",
    }
}

fn row_of<'a>(cells: impl Iterator<Item = &'a str>) -> String {
    let quoted: Vec<String> = cells.map(quoted).collect();
    format!("{}\r\n", quoted.join(","))
}

/// A cell in quotes where it needs them.
fn quoted(text: &str) -> String {
    if text.contains([',', '"', '\n', '\r']) {
        format!("\"{}\"", text.replace('"', "\"\""))
    } else {
        text.to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Column;

    #[test]
    fn a_cell_is_quoted_where_it_must_be() {
        let table = Table::new("masses", [Column::number("Mass, g"), Column::text("Read")])
            .row([Cell::from("5001.2"), Cell::from("said \"heavy\"\nagain")])
            .row([Cell::to_fill(), Cell::Blank]);
        assert_eq!(
            csv(&table),
            "\"Mass, g\",Read\r\n5001.2,\"said \"\"heavy\"\"\nagain\"\r\n,\r\n"
        );
    }
}
