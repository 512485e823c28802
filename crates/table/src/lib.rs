//! Anybody's CSV as columns.
//!
//! UTF-8 with or without byte-order mark; comma, semicolon or tab; decimal point, or decimal comma where
//! it cannot be mistaken; a header row. Which of them a file uses is found out from the file and can be
//! asked for. Errors name line and column and say what would be right.

mod dialect;
mod error;
mod number;
mod parse;
mod write;

pub use dialect::{DecimalSign, Dialect};
pub use error::TableError;
pub use write::{cell, row};

/// A table read from text.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    dialect: Dialect,
    header: Vec<String>,
    rows: Vec<Row>,
}

/// One row: where it stands, and its cells.
#[derive(Debug, Clone, PartialEq)]
struct Row {
    line: usize,
    cells: Vec<String>,
}

impl Table {
    /// Reads a table from bytes. Empty lines and lines that begin with `#` are passed over.
    ///
    /// # Errors
    /// When the bytes are not UTF-8, there is no header or no row, a row has another number of cells
    /// than the header, two columns have one name, or a quote is not closed.
    pub fn read(bytes: &[u8]) -> Result<Self, TableError> {
        parse::read(bytes)
    }

    /// What the file looks like.
    #[must_use]
    pub fn dialect(&self) -> Dialect {
        self.dialect
    }

    /// Names of the columns in their order.
    #[must_use]
    pub fn names(&self) -> &[String] {
        &self.header
    }

    /// Number of rows.
    #[must_use]
    pub fn len(&self) -> usize {
        self.rows.len()
    }

    /// Whether there is no row; a table that was read has at least one.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }

    /// The line on which a row stands in the file, both counted from 1 as people do; nothing where
    /// there is no such row.
    #[must_use]
    pub fn line(&self, row: usize) -> Option<usize> {
        self.rows.get(row.checked_sub(1)?).map(|row| row.line)
    }

    /// The texts of a column.
    ///
    /// # Errors
    /// When there is no such column.
    pub fn texts(&self, name: &str) -> Result<Vec<String>, TableError> {
        let place = self.place(name)?;
        Ok(self.rows.iter().map(|row| row.cells[place].clone()).collect())
    }

    /// The numbers of a column.
    ///
    /// # Errors
    /// When there is no such column, or a cell is empty, no number, NaN, infinite, or too large for
    /// double precision.
    pub fn numbers(&self, name: &str) -> Result<Vec<f64>, TableError> {
        let place = self.place(name)?;
        self.rows.iter().map(|row| self.number(row, place)).collect()
    }

    /// As [`numbers`](Self::numbers), where an empty cell means that there is no result.
    ///
    /// # Errors
    /// As [`numbers`](Self::numbers), but for empty cells.
    pub fn numbers_or_empty(&self, name: &str) -> Result<Vec<Option<f64>>, TableError> {
        let place = self.place(name)?;
        self.rows
            .iter()
            .map(|row| {
                if row.cells[place].is_empty() {
                    Ok(None)
                } else {
                    self.number(row, place).map(Some)
                }
            })
            .collect()
    }

    /// The name of the only column, or of the only one that holds numbers throughout.
    ///
    /// # Errors
    /// When none does or several do: then one has to be named.
    pub fn only_number_column(&self) -> Result<&str, TableError> {
        if let [only] = self.header.as_slice() {
            return Ok(only);
        }
        let holds = |place: &usize| self.rows.iter().all(|row| self.number(row, *place).is_ok());
        let found: Vec<usize> = (0..self.header.len()).filter(holds).collect();
        match found.as_slice() {
            [one] => Ok(&self.header[*one]),
            _ => Err(TableError::WhichColumn { columns: self.header.join(", ") }),
        }
    }

    fn place(&self, name: &str) -> Result<usize, TableError> {
        self.header.iter().position(|column| column == name).ok_or_else(|| TableError::NoColumn {
            name: name.to_string(),
            columns: self.header.join(", "),
        })
    }

    fn number(&self, row: &Row, place: usize) -> Result<f64, TableError> {
        number::read(&row.cells[place], self.dialect.decimal).map_err(|what| TableError::Cell {
            line: row.line,
            column: self.header[place].clone(),
            what,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn numbers(text: &str, name: &str) -> Result<Vec<f64>, String> {
        Table::read(text.as_bytes()).and_then(|t| t.numbers(name)).map_err(|e| e.to_string())
    }

    #[test]
    fn reads_the_usual_dialects() {
        let same = Ok(vec![12.3, -0.5]);
        assert_eq!(numbers("lab,loss\nA,12.3\nB,-0.5\n", "loss"), same);
        assert_eq!(numbers("\u{feff}lab;loss\r\nA;12,3\r\nB;-0,5\r\n", "loss"), same);
        assert_eq!(numbers("lab\tloss\nA\t12.3\nB\t-0.5", "loss"), same);
        assert_eq!(numbers("# invented\n\nlab, loss \nA, 12.3\nB, \u{2212}0.5", "loss"), same);
        assert_eq!(numbers("lab,\"loss, %\"\nA,\"12,3\"\nB,\"-0,5\"", "loss, %"), same);
        assert_eq!(numbers("\"say \"\"loss\"\"\",x\n12.3,1\n-0.5,2", "say \"loss\""), same);
        assert_eq!(numbers("a;b\n1.5e-3;x", "a"), Ok(vec![1.5e-3]));
        // Whole numbers leave the sign open, and nothing depends on it.
        assert_eq!(numbers("a;b\n1;2", "a"), Ok(vec![1.0]));
    }

    #[test]
    fn says_where_and_what() {
        let message = |text: &str, name: &str| numbers(text, name).unwrap_err();
        let cases = [
            (
                "",
                "a",
                "the file is empty; it needs a header row with the names of the columns, and rows of values",
            ),
            ("a,b\n", "a", "there is a header (a, b) and no row of values below it"),
            (
                "1,2\n3,4\n",
                "a",
                "line 1: the first row holds numbers only; the file needs a header row with the names of the columns",
            ),
            ("a,b\n1,2\n3\n", "a", "line 3: 1 cells where the header has 2 (a, b)"),
            (
                "a,a\n1,2\n",
                "a",
                "line 1: two columns are called \"a\"; every column needs a name of its own",
            ),
            ("a,b\n1,2\n", "c", "there is no column \"c\"; the columns are a, b"),
            ("a,b\n1,x\n", "b", "line 2, column b: \"x\" is not a number such as 12.3"),
            ("a,b\n1,\n", "b", "line 2, column b: the cell is empty where a number is needed"),
            (
                "a,b\n1,NaN\n",
                "b",
                "line 2, column b: NaN is not a value that can be computed with; leave the row out",
            ),
            (
                "a,b\n1,-inf\n",
                "b",
                "line 2, column b: -inf is not a value that can be computed with; leave the row out",
            ),
            ("a,b\n1,1e999\n", "b", "line 2, column b: 1e999 is too large for double precision"),
            (
                "a;b\n1,5;2.5\n",
                "b",
                "line 2: \"1,5\" has a decimal comma and other cells have a decimal point; use one of them throughout",
            ),
            (
                "a;b\n1,5;1.234.567\n",
                "b",
                "line 2, column b: \"1.234.567\" has a decimal point; this file uses a decimal comma",
            ),
            ("a,b\n\"1,2\n", "a", "line 2: a quote is opened here and never closed"),
            (
                "a,b\n\"1\"2,3\n",
                "a",
                "line 2: text follows a closing quote; a quote inside a quoted cell is written twice",
            ),
        ];
        for (text, name, expected) in cases {
            assert_eq!(message(text, name), expected);
        }
        assert_eq!(
            Table::read(b"a,b\n1,\xff\n").map_err(|e| e.to_string()),
            Err("line 2: these bytes are not UTF-8; save the file as UTF-8".to_string())
        );
    }

    #[test]
    fn a_row_knows_its_line() {
        let table = Table::read(b"# invented\na,b\n\n1,2\n3,4\n").expect("a table");
        assert_eq!([0, 1, 2, 3].map(|row| table.line(row)), [None, Some(4), Some(5), None]);
    }

    #[test]
    fn finds_the_column_that_is_meant() {
        let of = |text: &str| {
            let table = Table::read(text.as_bytes()).expect("a table");
            table.only_number_column().map(str::to_string).map_err(|e| e.to_string())
        };
        assert_eq!(of("loss\n1.5\n"), Ok("loss".to_string()));
        assert_eq!(of("lab,loss\nA,1.5\n"), Ok("loss".to_string()));
        assert_eq!(
            of("x,y\n1,2\n"),
            Err("which column is meant? The columns are x, y; name one".to_string())
        );
    }
}
