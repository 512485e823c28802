//! Tables for other programs (RFC 4180).

/// A text as a cell: in quotes where it holds what would end it, or begins like a remark.
#[must_use]
pub fn cell(text: &str) -> String {
    if text.contains([',', ';', '"', '\n', '\r', '\t']) || text.starts_with('#') {
        format!("\"{}\"", text.replace('"', "\"\""))
    } else {
        text.to_owned()
    }
}

/// A row with its end. A cell that a spreadsheet would take for a formula gets a quotation mark
/// before it, except where it is a number: a name typed by somebody must not run there.
#[must_use]
pub fn row<T: AsRef<str>>(cells: impl IntoIterator<Item = T>) -> String {
    let harmless = |text: &str| {
        let is_formula = text.starts_with(['=', '@', '\t'])
            || (text.starts_with(['+', '-']) && text.parse::<f64>().is_err());
        cell(&if is_formula { format!("'{text}") } else { text.to_owned() })
    };
    let cells: Vec<String> = cells.into_iter().map(|text| harmless(text.as_ref())).collect();
    cells.join(",") + "\r\n"
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cell_is_quoted_where_it_must_be() {
        for (text, written) in [
            ("5001.2", "5001.2"),
            ("said \"heavy\"\nagain", "\"said \"\"heavy\"\"\nagain\""),
            ("a;b", "\"a;b\""),
            ("# no remark", "\"# no remark\""),
            ("", ""),
        ] {
            assert_eq!(cell(text), written);
        }
    }

    #[test]
    fn no_cell_is_a_formula_and_numbers_stay_numbers() {
        let cells = ["=1+1", "@sum", "-1.25", "+2.0", "-none", "Mass, g"];
        assert_eq!(row(cells), "'=1+1,'@sum,-1.25,+2.0,'-none,\"Mass, g\"\r\n");
    }

    /// What is written here is read here, cell for cell.
    #[test]
    fn what_is_written_reads_back() {
        let odd = ["a,b", "say \"x\"", "#1", "semi;colon"];
        let text = row(["name", "value"]) + &odd.map(|name| row([name, "1"])).concat();
        let table = crate::Table::read(text.as_bytes()).unwrap();
        assert_eq!(table.texts("name").unwrap(), odd);
    }
}
