//! Reading columns of a file.

use crate::answer::Failure;
use std::io::Read;
use std::path::{Path, PathBuf};
use stonewear_stats::table::{Table, TableError};

/// A CSV file: a header row, comma, semicolon or tab between cells.
#[derive(Debug, clap::Args)]
pub(crate) struct Csv {
    /// CSV file with a header row; `-` reads standard input.
    pub(super) file: PathBuf,
    /// Name of the column to use, where there are several.
    #[arg(long, value_name = "NAME")]
    pub(super) column: Option<String>,
}

impl Csv {
    /// The one column of numbers that is meant.
    pub(super) fn numbers(&self) -> Result<Vec<f64>, Failure> {
        column_of(&self.file, self.column.as_deref())
    }
}

/// The bytes of a file, or of standard input.
pub(crate) fn bytes(path: &Path) -> Result<Vec<u8>, Failure> {
    let mut bytes = Vec::new();
    let read = if path.as_os_str() == "-" {
        std::io::stdin().lock().read_to_end(&mut bytes).map(|_| ())
    } else {
        std::fs::read(path).map(|read| bytes = read)
    };
    match read {
        Ok(()) => Ok(bytes),
        Err(error) => Err(Failure::Surroundings(format!("{}: {error}", path.display()))),
    }
}

/// The text of a file, or of standard input.
pub(crate) fn text(path: &Path) -> Result<String, Failure> {
    String::from_utf8(bytes(path)?).map_err(|_| {
        Failure::WrongInput(format!("{}: it is not UTF-8; save it as UTF-8", path.display()))
    })
}

/// A table from a file.
pub(super) fn table(path: &Path) -> Result<Table, Failure> {
    Table::read(&bytes(path)?).map_err(|error| fault(path, &error))
}

/// A fault in a table, with the name of the file.
pub(super) fn fault(path: &Path, error: &TableError) -> Failure {
    Failure::WrongInput(format!("{}: {error}", path.display()))
}

/// The numbers of a named column, or of the only one.
pub(super) fn column_of(path: &Path, name: Option<&str>) -> Result<Vec<f64>, Failure> {
    let table = table(path)?;
    let name = match name {
        Some(name) => name,
        None => match table.only_number_column() {
            Ok(name) => name,
            Err(error) => return Err(fault(path, &error)),
        },
    };
    table.numbers(name).map_err(|error| fault(path, &error))
}
