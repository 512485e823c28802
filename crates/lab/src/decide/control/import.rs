//! Past reference results, taken over from a table: all of them, or none.

use crate::code::numbered;
use crate::decide::Desk;
use crate::decide::form::Form;
use crate::fact::{Fact, ImportedResult, ReferenceImported, Right};
use crate::refusal::Refusal;
use crate::request::ImportReference;
use jiff::civil::Date;
use stonewear_measure::Decimal;
use stonewear_stats::table::Table;

/// More rows than this are taken over in parts.
const MOST_ROWS: usize = 20_000;
/// Beyond these a cell holds something else than initials, or a remark.
const LONGEST_CELL: usize = 200;

impl Desk<'_> {
    pub(in crate::decide) fn import_reference(
        &self,
        request: &ImportReference,
    ) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Manage)?;
        let mut form = Form::new();
        let document = form.text("document", &request.document, "where the results come from");
        let lot = self.lot(&mut form, "lot", &request.lot);
        let machine = self.machine(&mut form, &request.apparatus);
        let today = self.lab.local(self.context.at).date();
        let results = read(&mut form, &request.table, today);
        let (Some(lot), Some(machine)) = (lot, machine) else { return form.refuse() };
        let same = |import: &&crate::state::Noted<crate::state::Import>| {
            import.value.apparatus == machine.code
                && (import.value.document == document || import.value.results == results)
        };
        if let Some(earlier) = lot.imports.iter().find(same) {
            let message =
                format!("“{}” was taken over already as {}", document, earlier.value.code);
            form.wrong("document", "import-known", message, "import only what is new");
        }
        let (year, number) = self.lab.next_number('M', self.context.at);
        form.facts(vec![Fact::ReferenceImported(ReferenceImported {
            import: numbered('M', year, number),
            lot: lot.code.clone(),
            apparatus: machine.code.clone(),
            document,
            results,
            file: None,
        })])
    }
}

/// Every row, with everything that is wrong with it named by its line.
fn read(form: &mut Form, table: &str, today: Date) -> Vec<ImportedResult> {
    let read = Table::read(table.as_bytes());
    let columns = read.and_then(|table| {
        let optional = |name: &str| match table.names().iter().any(|column| column == name) {
            true => table.texts(name),
            false => Ok(vec![String::new(); table.len()]),
        };
        let columns =
            (table.texts("date")?, table.texts("loss")?, optional("operator")?, optional("note")?);
        Ok((table, columns))
    });
    let (table, (dates, losses, operators, notes)) = match columns {
        Ok(read) => read,
        Err(error) => {
            let hint =
                "give a table with the columns date and loss, and where known operator and note";
            form.wrong("table", "input-table", error.to_string(), hint);
            return Vec::new();
        }
    };
    if table.len() > MOST_ROWS {
        let message = format!("the table has {} rows", table.len());
        form.wrong(
            "table",
            "input-too-long",
            message,
            format!("import at most {MOST_ROWS} at once"),
        );
        return Vec::new();
    }
    let mut results = Vec::new();
    for row in 0..table.len() {
        let line = table.line(row + 1).unwrap_or_default();
        let mut wrong = |message: String, hint: String| {
            form.wrong("table", "input-row", format!("line {line}: {message}"), hint);
        };
        let on = match dates[row].parse::<Date>() {
            Ok(day) if day > today => {
                wrong(format!("{day} has not come yet"), format!("today is {today}"));
                None
            }
            Ok(day) => Some(day),
            Err(_) => {
                wrong(format!("“{}” is not a day", dates[row]), format!("write it like {today}"));
                None
            }
        };
        let loss_percent = match stonewear_measure::read(&losses[row]) {
            Ok(loss) if loss < Decimal::ZERO || loss > Decimal::ONE_HUNDRED => {
                wrong(
                    format!("a loss of {loss} % cannot be"),
                    "it lies from 0 to 100 %".to_owned(),
                );
                None
            }
            Ok(loss) => Some(loss),
            Err(error) => {
                wrong(format!("loss: {error}"), "write a number like 14.8".to_owned());
                None
            }
        };
        let is_text = |cell: &str| {
            cell.chars().count() <= LONGEST_CELL && !cell.chars().any(char::is_control)
        };
        if !is_text(&operators[row]) || !is_text(&notes[row]) {
            let hint = format!("write at most {LONGEST_CELL} characters on one line");
            wrong("operator or note cannot be kept".to_owned(), hint);
        }
        if let (Some(on), Some(loss_percent)) = (on, loss_percent) {
            let (operator, note) = (operators[row].clone(), notes[row].clone());
            results.push(ImportedResult { on, loss_percent, operator, note, row: None });
        }
    }
    results
}
