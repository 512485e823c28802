//! Columns of somebody's table, found by any of their usual names.

use stonewear_measure::Decimal;
use stonewear_stats::table::Table;

/// A table and the names of its columns without capitals, units and separators.
pub(crate) struct Columns {
    table: Table,
    plain: Vec<String>,
}

/// A name as it is compared: `Assigned value, %` is `assigned_value`.
fn plain(name: &str) -> String {
    let end = name.find([',', '(', '[', '/']).unwrap_or(name.len());
    let words = name[..end].to_lowercase();
    let words: Vec<&str> =
        words.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).collect();
    words.join("_")
}

impl Columns {
    /// Reads a table.
    ///
    /// # Errors
    /// In words with the line, when the text is no table, or two columns mean the same.
    pub(crate) fn read(text: &str) -> Result<Self, String> {
        let table = Table::read(text.as_bytes()).map_err(|error| error.to_string())?;
        let plain = table.names().iter().map(|name| plain(name)).collect();
        Ok(Self { table, plain })
    }

    /// The number of rows.
    pub(crate) fn len(&self) -> usize {
        self.table.len()
    }

    /// The line of a row, both counted from 1 in the file and from 0 here.
    pub(crate) fn line(&self, row: usize) -> usize {
        self.table.line(row + 1).unwrap_or_default()
    }

    /// The texts of the column that has one of these names; `None` where there is none.
    ///
    /// # Errors
    /// In words, when two columns have names that mean the same.
    pub(crate) fn texts(&self, names: &[&str]) -> Result<Option<Vec<String>>, String> {
        let all = self.table.names();
        let meant: Vec<&String> = self
            .plain
            .iter()
            .zip(all)
            .filter(|(plain, _)| names.contains(&plain.as_str()))
            .map(|(_, name)| name)
            .collect();
        match meant.as_slice() {
            [] => Ok(None),
            [one] => self.table.texts(one).map(Some).map_err(|error| error.to_string()),
            [one, other, ..] => Err(format!(
                "the columns “{one}” and “{other}” mean the same; leave one out or rename it"
            )),
        }
    }

    /// As [`Columns::texts`], where the column must be there.
    ///
    /// # Errors
    /// In words, when it is not.
    pub(crate) fn needed(&self, names: &[&str]) -> Result<Vec<String>, String> {
        self.texts(names)?.ok_or_else(|| {
            format!(
                "there is no column “{}”; the columns are {}",
                names.first().copied().unwrap_or_default(),
                self.table.names().join(", ")
            )
        })
    }
}

/// A cell as a number, exactly as it is written; a decimal comma is read as a point.
///
/// # Errors
/// In words, to follow the place.
pub(crate) fn number(cell: &str) -> Result<Decimal, String> {
    stonewear_measure::read(&cell.replace('\u{2212}', "-")).map_err(|error| error.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_go_by_their_usual_names() {
        for (name, expected) in [
            ("Assigned value, %", "assigned_value"),
            (" assigned_value ", "assigned_value"),
            ("Assigned-Value (x_pt)", "assigned_value"),
            ("sigma_pt", "sigma_pt"),
            ("σ_pt", "σ_pt"),
        ] {
            assert_eq!(plain(name), expected, "{name}");
        }
        let table = Columns::read("Code;Value [%]\nKT-47;14,8\n").unwrap();
        assert_eq!(table.texts(&["value", "result"]), Ok(Some(vec!["14,8".to_owned()])));
        assert_eq!(table.texts(&["bag"]), Ok(None));
        assert_eq!(number("14,8"), Ok("14.8".parse().unwrap()));
        assert_eq!(number("\u{2212}0.5"), Ok("-0.5".parse().unwrap()));
        assert!(table.needed(&["bag"]).is_err_and(|words| words.contains("Code, Value [%]")));
        let twice = Columns::read("value,result\n1,2\n").unwrap();
        assert!(twice.needed(&["value", "result"]).is_err_and(|words| words.contains("the same")));
    }
}
