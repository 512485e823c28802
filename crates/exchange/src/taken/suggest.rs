//! Which row is the heading, and which column is what, by words that are a readable file.

use super::book::{Row, Sheet};
use super::days::{DayOrder, Shown};
use serde::Deserialize;
use std::collections::BTreeMap;
use std::sync::LazyLock;
use stonewear_lab::fact::ImportKind;

/// The heading is looked for in so many rows that are not blank.
const LOOKED_AT: usize = 30;

/// What a column can be.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Field {
    /// Its name in requests.
    pub field: String,
    /// Its name on the page.
    pub title: String,
    /// Its unit; empty where it has none.
    #[serde(default)]
    pub unit: String,
    /// What it means, in a few words.
    pub meaning: String,
    /// Whether nothing can be imported without it.
    #[serde(default)]
    pub needed: bool,
    /// Whether its cells are numbers.
    #[serde(default)]
    pub number: bool,
    /// Whether its cells are days.
    #[serde(default)]
    pub day: bool,
    headings: Vec<String>,
}

impl Field {
    /// What files call it, in lower case.
    pub(super) fn headings(&self) -> &[String] {
        &self.headings
    }
}

#[derive(Debug, Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
struct Headings {
    equipment: Vec<Field>,
    references: Vec<Field>,
    tests: Vec<Field>,
    sieve_analyses: Vec<Field>,
    kinds: BTreeMap<String, String>,
}

static HEADINGS: LazyLock<Headings> = LazyLock::new(|| {
    // The file is part of the program; a test reads it.
    toml::from_str(include_str!("../../headings.toml")).unwrap_or_else(|_| Headings {
        equipment: Vec::new(),
        references: Vec::new(),
        tests: Vec::new(),
        sieve_analyses: Vec::new(),
        kinds: BTreeMap::new(),
    })
});

/// What the columns of such a file can be, in the order in which they are asked for.
pub fn fields(what: ImportKind) -> &'static [Field] {
    match what {
        ImportKind::Equipment => &HEADINGS.equipment,
        ImportKind::References => &HEADINGS.references,
        ImportKind::Tests => &HEADINGS.tests,
        ImportKind::SieveAnalyses => &HEADINGS.sieve_analyses,
    }
}

/// Our word for a kind of equipment that a list calls otherwise.
pub(super) fn kind_of(cell: &str) -> String {
    let word = cell.trim().to_lowercase();
    HEADINGS.kinds.get(&word).cloned().unwrap_or_else(|| cell.trim().to_owned())
}

/// Whether the order of day and month is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Order {
    /// No day of the file needs it.
    NotNeeded,
    /// Some day of the file shows it.
    Shown(DayOrder),
    /// Somebody has to say.
    Ask,
}

/// How a sheet can be read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Layout {
    /// The place of the heading row among the rows that are not blank, from 0.
    pub heading_row: usize,
    /// The headings, one for each column that has one.
    pub headings: Vec<String>,
    /// Which column is what: place of the column by the name of the field.
    pub columns: BTreeMap<String, usize>,
}

impl Layout {
    /// The rows below the heading.
    pub fn rows<'s>(&self, sheet: &'s Sheet) -> &'s [Row] {
        sheet.rows.get(self.heading_row + 1..).unwrap_or_default()
    }

    /// The order of day and month in a column, as its days show it.
    pub fn order(&self, sheet: &Sheet, column: usize) -> Order {
        let mut shown = Shown::default();
        for row in self.rows(sheet) {
            if let Some(super::Cell::Text(text)) = row.cells.get(column) {
                shown.look(text);
            }
        }
        match shown {
            Shown { open: false, .. } => Order::NotNeeded,
            Shown { day_first: true, month_first: false, .. } => Order::Shown(DayOrder::DayFirst),
            Shown { day_first: false, month_first: true, .. } => Order::Shown(DayOrder::MonthFirst),
            Shown { .. } => Order::Ask,
        }
    }
}

/// Finds the heading row and what the columns are. Above the heading there may be a title, and
/// whatever else people write there.
pub fn suggest(sheet: &Sheet, what: ImportKind) -> Layout {
    let looked_at = sheet.rows.iter().take(LOOKED_AT).enumerate();
    let known = looked_at.map(|(place, row)| (place, mapped(row, what)));
    // Of rows that say as much, the first.
    let best = known.max_by_key(|(place, columns)| (columns.len(), usize::MAX - place));
    let (heading_row, columns) =
        best.filter(|(_, columns)| columns.len() > 1).unwrap_or_else(|| {
            let is_wide = |row: &Row| row.cells.iter().filter(|cell| !cell.is_empty()).count() > 1;
            let place = sheet.rows.iter().position(is_wide).unwrap_or_default();
            (place, sheet.rows.get(place).map(|row| mapped(row, what)).unwrap_or_default())
        });
    let headings = sheet.rows.get(heading_row).map(|row| {
        row.cells.iter().map(|cell| cell.as_text().trim().to_owned()).collect::<Vec<_>>()
    });
    Layout { heading_row, headings: headings.unwrap_or_default(), columns }
}

/// What a file most likely holds: the kind whose needed columns its headings name best.
pub fn guess_what(sheet: &Sheet) -> ImportKind {
    let score = |what: &ImportKind| {
        let columns = suggest(sheet, *what).columns;
        let needed = fields(*what).iter().filter(|field| field.needed);
        let (found, wanted) = needed.fold((0, 0), |(found, wanted), field| {
            (found + usize::from(columns.contains_key(&field.field)), wanted + 1)
        });
        (found == wanted, columns.len())
    };
    // Of equals the last: what says most about itself.
    ImportKind::ALL.into_iter().max_by_key(score).unwrap_or(ImportKind::Tests)
}

/// Whether a row names the columns of any kind of file.
pub(super) fn is_heading(row: &Row) -> bool {
    ImportKind::ALL.into_iter().any(|what| mapped(row, what).len() > 2)
}

/// Which cells of a heading row name which field: exact words first, then words within.
fn mapped(row: &Row, what: ImportKind) -> BTreeMap<String, usize> {
    let words: Vec<String> = row.cells.iter().map(|cell| simple(&cell.as_text())).collect();
    let mut columns = BTreeMap::new();
    let mut taken = vec![false; words.len()];
    for exact in [true, false] {
        for field in fields(what) {
            if columns.contains_key(&field.field) {
                continue;
            }
            let named = |word: &str| {
                let fits = |heading: &String| match exact {
                    true => word == heading,
                    // A single letter stands in every word.
                    false => {
                        heading.len() > 3
                            && (word.starts_with(&format!("{heading} "))
                                || word.ends_with(&format!(" {heading}")))
                    }
                };
                field.headings.iter().any(fits)
            };
            let found = (0..words.len()).find(|place| !taken[*place] && named(&words[*place]));
            if let Some(place) = found {
                taken[place] = true;
                columns.insert(field.field.clone(), place);
            }
        }
    }
    columns
}

/// A heading in lower case, without its unit and without signs: `Loss [%]` is `loss`.
pub(super) fn simple(heading: &str) -> String {
    const UNITS: [&str; 6] = ["%", "g", "mm", "kg", "in", "pct"];
    let lower = heading.to_lowercase();
    let lower = lower.replace('%', " percent ");
    let words: String =
        lower.chars().map(|letter| if letter.is_alphanumeric() { letter } else { ' ' }).collect();
    let mut words: Vec<&str> = words.split_whitespace().collect();
    while words.len() > 1
        && words.last().is_some_and(|last| *last == "percent" || UNITS.contains(last))
    {
        words.pop();
    }
    words.join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::taken::book::sheet_of as sheet;

    #[test]
    fn the_words_of_headings_are_a_file_that_can_be_read() {
        let read: Result<Headings, _> = toml::from_str(include_str!("../../headings.toml"));
        let read = read.unwrap();
        for what in ImportKind::ALL {
            assert!(fields(what).iter().any(|field| field.needed), "{what}");
            for field in fields(what) {
                for heading in &field.headings {
                    assert_eq!(simple(heading), *heading, "{what}, {}", field.field);
                }
            }
        }
        for kind in read.kinds.values() {
            assert!(kind.parse::<stonewear_procedure::ItemKind>().is_ok(), "{kind}");
        }
    }

    #[test]
    fn the_heading_is_found_below_a_title_and_its_columns_are_told() {
        let sheet = sheet(&[
            &["Control book of the invented laboratory"],
            &["kept by", "AB"],
            &["Test date", "Loss [%]", "Tech.", "Machine", "Colour"],
            &["14.03.2025", "14,8", "CD", "MILL-1", "grey"],
        ]);
        let layout = suggest(&sheet, ImportKind::References);
        assert_eq!(layout.heading_row, 2);
        let wanted = [("apparatus", 3), ("loss_percent", 1), ("on", 0), ("operator", 2)];
        let wanted: BTreeMap<String, usize> =
            wanted.into_iter().map(|(name, place)| (name.to_owned(), place)).collect();
        assert_eq!(layout.columns, wanted);
        assert_eq!(layout.rows(&sheet).len(), 1);
        assert_eq!(layout.order(&sheet, 0), Order::NotNeeded);
    }

    #[test]
    fn what_a_file_holds_is_guessed_from_its_headings() {
        for (headings, what) in [
            (&["Code", "Type", "Serial no."][..], ImportKind::Equipment),
            (&["Date", "Loss, %", "Lot", "Machine"][..], ImportKind::References),
            (&["Date", "Sample", "Quarry", "Loss %"][..], ImportKind::Tests),
            (&["Date", "Sample", "Sieve", "Passing"][..], ImportKind::SieveAnalyses),
        ] {
            assert_eq!(guess_what(&sheet(&[headings, &["1", "2", "3", "4"]])), what);
        }
    }

    #[test]
    fn the_order_of_day_and_month_is_shown_or_asked_for() {
        let of = |days: &[&str]| {
            let mut rows: Vec<&[&str]> = vec![&["Date", "Loss"]];
            let cells: Vec<[&str; 2]> = days.iter().map(|day| [*day, "14"]).collect();
            rows.extend(cells.iter().map(<[&str; 2]>::as_slice));
            let sheet = sheet(&rows);
            suggest(&sheet, ImportKind::References).order(&sheet, 0)
        };
        assert_eq!(of(&["03/04/2025", "14/04/2025"]), Order::Shown(DayOrder::DayFirst));
        assert_eq!(of(&["03/04/2025", "04/14/2025"]), Order::Shown(DayOrder::MonthFirst));
        assert_eq!(of(&["03/04/2025", "05/04/2025"]), Order::Ask);
        assert_eq!(of(&["13/04/2025", "04/13/2025", "03/04/2025"]), Order::Ask);
        assert_eq!(of(&["2025-04-03"]), Order::NotNeeded);
    }
}
