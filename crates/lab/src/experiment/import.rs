//! Losses at levels, read from anybody's table; all of it or nothing.

use crate::fact::ImportedLoss;
use stonewear_measure::Decimal;
use stonewear_stats::table::{Table, TableError};

/// More rows than this are not an experiment of a laboratory.
const MOST_ROWS: usize = 2_000;
/// Of many faults so many are named.
const MOST_FAULTS: usize = 12;

/// The rows of a table with the columns `level` and `loss`, or what is wrong with it, each fault
/// with its line.
pub(crate) fn read_table(text: &str, highest: Decimal) -> Result<Vec<ImportedLoss>, Vec<String>> {
    let table = Table::read(text.as_bytes()).map_err(|error| vec![error.to_string()])?;
    let column =
        |name: &str| table.texts(name).map_err(|error: TableError| vec![error.to_string()]);
    let (levels, losses) = (column("level")?, column("loss")?);
    if table.len() > MOST_ROWS {
        return Err(vec![format!("the table has {} rows; {MOST_ROWS} are the most", table.len())]);
    }
    let mut faults = Vec::new();
    let mut rows = Vec::new();
    for (index, (level, loss)) in levels.iter().zip(&losses).enumerate() {
        let line = table.line(index + 1).unwrap_or_default();
        let level = number(level, "level", line, &mut faults);
        let loss = number(loss, "loss", line, &mut faults);
        let (Some(level), Some(loss_percent)) = (level, loss) else { continue };
        if level <= Decimal::ZERO || level > highest {
            faults.push(format!("line {line}: the level {level} cannot be; it must be more than 0 and at most {highest}"));
        }
        if loss_percent < Decimal::ZERO || loss_percent > Decimal::ONE_HUNDRED {
            faults.push(format!(
                "line {line}: a loss of {loss_percent} % cannot be; it lies between 0 and 100 %"
            ));
        }
        rows.push(ImportedLoss { level, loss_percent });
    }
    if faults.is_empty() {
        return Ok(rows);
    }
    let more = faults.len().saturating_sub(MOST_FAULTS);
    faults.truncate(MOST_FAULTS);
    if more > 0 {
        faults.push(format!("and {more} more"));
    }
    Err(faults)
}

fn number(typed: &str, column: &str, line: usize, faults: &mut Vec<String>) -> Option<Decimal> {
    match stonewear_measure::read(typed) {
        Ok(number) => Some(number),
        Err(error) => {
            faults.push(format!("line {line}, column {column}: {error}"));
            None
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_table_is_read_whole_or_not_at_all() {
        let highest = Decimal::from(1_000_000);
        let rows = read_table("level;loss\n9000;11,2\n12000;14.9\n", highest).unwrap();
        assert_eq!(rows[0].loss_percent.to_string(), "11.2");
        assert_eq!(rows[1].level, Decimal::from(12_000));

        let faults = read_table("level,loss\n9000,eleven\n0,12\n12000,-1\n", highest).unwrap_err();
        assert_eq!(faults.len(), 3, "{faults:?}");
        for (fault, says) in faults.iter().zip([
            "line 2, column loss",
            "line 3: the level 0",
            "line 4: a loss of -1 %",
        ]) {
            assert!(fault.starts_with(says), "{fault}");
        }
        let other = read_table("x,y\n1,2\n", highest).unwrap_err();
        assert!(other[0].contains("level"), "{other:?}");
    }
}
