//! Text with separators: UTF-8, UTF-16 with its mark, or else Windows-1252, as older spreadsheets
//! of Western languages save it.

use super::book::{Budget, Cell, ReadError, Row, Sheet};

/// How many lines are looked at to find the separator.
const LOOKED_AT: usize = 50;

/// Reads the one sheet of a text.
pub(super) fn read(bytes: &[u8]) -> Result<Sheet, ReadError> {
    let text = decoded(bytes);
    if text.contains('\0') {
        return Err(ReadError::NotATable("it holds bytes that no text has".to_owned()));
    }
    let separator = separator(&text);
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(separator)
        .from_reader(text.as_bytes());
    let mut budget = Budget::default();
    let mut rows = Vec::new();
    let mut record = csv::StringRecord::new();
    let mut lines = Lines { bytes: text.as_bytes(), at: 0, line: 1 };
    loop {
        match reader.read_record(&mut record) {
            Ok(true) => {}
            Ok(false) => break,
            Err(error) => return Err(ReadError::NotATable(error.to_string())),
        }
        let start = record.position().map_or(0, csv::Position::byte);
        let number = lines.of(usize::try_from(start).unwrap_or_default());
        let mut cells = Vec::with_capacity(record.len());
        for (column, cell) in (1..).zip(&record) {
            let cell = cell.trim();
            budget.take(number, column, cell.len())?;
            cells.push(if cell.is_empty() { Cell::Empty } else { Cell::Text(cell.to_owned()) });
        }
        if cells.iter().any(|cell| !cell.is_empty()) {
            rows.push(Row { number, cells });
        }
    }
    Ok(Sheet { name: String::new(), rows })
}

/// Counts lines as people do: the reader of records counts a line that ends in CR LF one too late,
/// and blank lines to the record behind them.
struct Lines<'t> {
    bytes: &'t [u8],
    at: usize,
    line: u64,
}

impl Lines<'_> {
    /// The line of the first sign of a record that begins here, or behind the line ends that
    /// stand here. Records are asked for in their order.
    fn of(&mut self, start: usize) -> u64 {
        let ends = self.bytes.get(start..).unwrap_or_default().iter();
        let begins = start + ends.take_while(|byte| matches!(byte, b'\r' | b'\n')).count();
        let passed = self.bytes.get(self.at..begins).unwrap_or_default();
        self.line += passed.iter().filter(|byte| **byte == b'\n').count() as u64;
        self.at = begins.max(self.at);
        self.line
    }
}

fn decoded(bytes: &[u8]) -> String {
    // A byte order mark decides; else what is right UTF-8 is UTF-8.
    match encoding_rs::Encoding::for_bom(bytes) {
        Some((encoding, _)) => encoding.decode(bytes).0.into_owned(),
        None => match std::str::from_utf8(bytes) {
            Ok(text) => text.to_owned(),
            Err(_) => encoding_rs::WINDOWS_1252.decode(bytes).0.into_owned(),
        },
    }
}

/// The separator that cuts most lines into the same number of cells, more than one.
fn separator(text: &str) -> u8 {
    let lines: Vec<&str> =
        text.lines().filter(|line| !line.trim().is_empty()).take(LOOKED_AT).collect();
    let agreement = |separator: char| {
        let counts: Vec<usize> = lines.iter().map(|line| outside_quotes(line, separator)).collect();
        let most = counts.iter().copied().max().unwrap_or_default();
        let usual = (1..=most).max_by_key(|wanted| counts.iter().filter(|n| *n == wanted).count());
        usual.map_or(0, |usual| counts.iter().filter(|n| **n == usual).count())
    };
    // Where two cut as well, the semicolon and the tab are hardly ever part of a cell.
    let order = [(b';', agreement(';')), (b'\t', agreement('\t')), (b',', agreement(','))];
    let best = order.iter().map(|(_, lines)| *lines).max().unwrap_or_default();
    order.iter().find(|(_, lines)| *lines == best && best > 0).map_or(b',', |(sign, _)| *sign)
}

fn outside_quotes(line: &str, separator: char) -> usize {
    let mut quoted = false;
    let mut count = 0;
    for letter in line.chars() {
        if letter == '"' {
            quoted = !quoted;
        } else if letter == separator && !quoted {
            count += 1;
        }
    }
    count
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cells(bytes: &[u8]) -> Vec<(u64, Vec<String>)> {
        let rows = read(bytes).unwrap().rows.into_iter();
        rows.map(|row| (row.number, row.cells.iter().map(Cell::as_text).collect())).collect()
    }

    #[test]
    fn separators_encodings_blank_rows_and_ragged_rows_are_read() {
        let strings = |row: &[&str]| row.iter().map(|cell| (*cell).to_owned()).collect::<Vec<_>>();
        let wanted = vec![
            (1, strings(&["Datum", "Verlust, %"])),
            (4, strings(&["12.03.2025", "14,8"])),
            (5, strings(&["13.03.2025", "15,1", "Prüfer \"A\""])),
        ];
        let text = "Datum;\"Verlust, %\"\r\n\r\n;;\r\n12.03.2025;14,8\r\n13.03.2025;15,1;\"Prüfer \"\"A\"\"\"\r\n";
        assert_eq!(cells(text.as_bytes()), wanted);
        let marked = format!("\u{feff}{text}");
        assert_eq!(cells(marked.as_bytes()), wanted);
        let latin: Vec<u8> = text.chars().map(|letter| u8::try_from(letter).unwrap()).collect();
        assert_eq!(cells(&latin), wanted);
        let wide: Vec<u8> = marked.encode_utf16().flat_map(u16::to_le_bytes).collect();
        assert_eq!(cells(&wide), wanted);
        assert_eq!(cells(b"a\tb\n1,5\t2\n").len(), 2);
        assert_eq!(cells(b"a,b\n1.5,2\n")[1].1, ["1.5", "2"]);
    }

    #[test]
    fn what_is_no_text_or_too_much_is_refused() {
        let refused = |bytes: &[u8]| read(bytes).unwrap_err().to_string();
        assert!(refused(b"a,b\n\0\0,1\n").contains("no table"));
        let giant = format!("a,b\n1,{}\n", "x".repeat(10_001));
        assert!(refused(giant.as_bytes()).starts_with("row 2, column 2: the cell holds 10001"));
        let wide = format!("{}\n", ["1"; 300].join(","));
        assert!(refused(wide.as_bytes()).starts_with("row 1 has more than 256 columns"));
    }
}
