//! A sheet: any paper that is headings, words, tables and drawings, such as a make-up list, the
//! order of the runs of a study, a control chart with its figures, the report of a round.
//!
//! What it says is put together block by block, in the order in which it is read:
//!
//! ```
//! use stonewear_report::{Cell, Column, Sheet, Table};
//!
//! let sheet = Sheet::new("Study Y26-001", "Are the four positions the same?")
//!     .heading("Order of the runs")
//!     .table(Table::new("Runs", [Column::number("Run"), Column::text("Jar"), Column::number("Loss, %")])
//!         .row([Cell::from("1"), Cell::from("J3"), Cell::to_fill()]));
//! assert_eq!(sheet.blocks.len(), 2);
//! ```

use crate::{JournalAnchor, Laboratory, Mark, PaperSize};
use serde::{Deserialize, Serialize};

/// A paper of headings, words, tables and drawings.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Sheet {
    /// What it is, with its code: `Study Y26-001`. Stands at the head of every page.
    pub kind: String,
    /// Its title.
    pub title: String,
    /// A sentence below the title; may be empty.
    pub lead: String,
    /// The laboratory that answers for it.
    pub laboratory: Laboratory,
    /// Whether everything in the laboratory is invented; the paper says so on every page.
    pub invented: bool,
    /// Language tag, such as `en`.
    pub language: String,
    /// What it is printed on.
    pub paper: PaperSize,
    /// When it was made, in UTC like `2026-03-18T14:05:00Z`.
    pub made_at: String,
    /// Who it was made for or by, as it is to be printed; may be empty.
    pub made_by: String,
    /// Where the journal stood; absent on a paper that says nothing of a laboratory's facts.
    pub journal: Option<JournalAnchor>,
    /// What it says, in the order in which it is read.
    pub blocks: Vec<Block>,
    /// The fingerprint of what it says, where it was made from a journal.
    #[serde(default)]
    pub mark: Option<Mark>,
}

/// One part of a sheet.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", tag = "block")]
pub enum Block {
    /// The heading of a part.
    Heading {
        /// Its words.
        text: String,
    },
    /// A paragraph.
    Text {
        /// Its words.
        text: String,
    },
    /// A list, one line a point.
    List {
        /// Whether the points are steps, and so numbered.
        numbered: bool,
        /// The points.
        points: Vec<String>,
    },
    /// What must not be overlooked: a verdict, a departure, a warning about work that can hurt.
    Remark {
        /// Its kind, in a word: `Verdict`, `Caution`.
        kind: String,
        /// Its words.
        text: String,
    },
    /// Names and values beneath each other.
    Pairs {
        /// The pairs.
        pairs: Vec<Pair>,
    },
    /// A table.
    Table(Table),
    /// A drawing.
    Picture(Picture),
    /// The heading of a part within a part.
    SubHeading {
        /// Its words.
        text: String,
    },
    /// The headings so far and to come, with their pages.
    Contents,
    /// A square code to be scanned.
    SquareCode {
        /// What a scanner types.
        scanned: String,
        /// What that does, printed beside it.
        words: String,
    },
    /// Ruled lines to write on by hand.
    Lines {
        /// How many.
        count: u32,
    },
    /// What follows begins a new page.
    NewPage,
}

/// A name and its value.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Pair {
    /// The name.
    pub name: String,
    /// The value, ready to print.
    pub value: String,
}

/// A table. Every row is as long as the head.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Table {
    /// What it shows, for those who hear it read.
    pub caption: String,
    /// Its columns.
    pub columns: Vec<Column>,
    /// Its rows.
    pub rows: Vec<Vec<Cell>>,
}

/// A column of a table.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Column {
    /// Its head, with the unit: `Loss, %`.
    pub head: String,
    /// Whether its cells are figures, which stand to the right.
    pub figures: bool,
    /// How the width is shared.
    pub width: Width,
}

/// How wide a column is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Width {
    /// As wide as its widest cell.
    #[default]
    Fitting,
    /// A share of what is left; for sentences.
    Share,
}

/// One cell of a table.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", tag = "cell", content = "text")]
pub enum Cell {
    /// Text, ready to print.
    Text(String),
    /// Nothing.
    #[default]
    Blank,
    /// Room to write by hand.
    ToFill,
    /// A value on a small tolerance strip.
    Strip(CellStrip),
}

/// A value against its limits, as decimal texts in one unit.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct CellStrip {
    /// The value.
    pub value: String,
    /// Least allowed.
    pub lower: Option<String>,
    /// Most allowed.
    pub upper: Option<String>,
    /// Expanded uncertainty of the value.
    pub expanded: Option<String>,
}

/// A drawing.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Picture {
    /// The drawing as SVG, as the pictures of the project give it.
    pub svg: String,
    /// What it shows, in words, for those who do not see it.
    pub words: String,
    /// What is printed below it; may be empty.
    pub caption: String,
}

impl Sheet {
    /// An empty sheet.
    pub fn new(kind: impl Into<String>, title: impl Into<String>) -> Self {
        Self {
            kind: kind.into(),
            title: title.into(),
            language: "en".to_owned(),
            ..Self::default()
        }
    }

    /// With one block more.
    #[must_use]
    pub fn block(mut self, block: Block) -> Self {
        self.blocks.push(block);
        self
    }

    /// With a heading.
    #[must_use]
    pub fn heading(self, text: impl Into<String>) -> Self {
        self.block(Block::Heading { text: text.into() })
    }

    /// With a paragraph.
    #[must_use]
    pub fn text(self, text: impl Into<String>) -> Self {
        self.block(Block::Text { text: text.into() })
    }

    /// With a remark of this kind.
    #[must_use]
    pub fn remark(self, kind: impl Into<String>, text: impl Into<String>) -> Self {
        self.block(Block::Remark { kind: kind.into(), text: text.into() })
    }

    /// With names and values; pairs without a value are left out.
    #[must_use]
    pub fn pairs<N: Into<String>, V: Into<String>>(
        self,
        pairs: impl IntoIterator<Item = (N, V)>,
    ) -> Self {
        let pairs = pairs
            .into_iter()
            .map(|(name, value)| Pair { name: name.into(), value: value.into() })
            .filter(|pair| !pair.value.is_empty())
            .collect();
        self.block(Block::Pairs { pairs })
    }

    /// With a table.
    #[must_use]
    pub fn table(self, table: Table) -> Self {
        self.block(Block::Table(table))
    }

    /// With a drawing.
    #[must_use]
    pub fn picture(
        self,
        svg: impl Into<String>,
        words: impl Into<String>,
        caption: impl Into<String>,
    ) -> Self {
        let (svg, words, caption) = (svg.into(), words.into(), caption.into());
        self.block(Block::Picture(Picture { svg, words, caption }))
    }
}

impl Table {
    /// A table without rows.
    pub fn new(caption: impl Into<String>, columns: impl IntoIterator<Item = Column>) -> Self {
        Self { caption: caption.into(), columns: columns.into_iter().collect(), rows: Vec::new() }
    }

    /// With one row more.
    #[must_use]
    pub fn row(mut self, cells: impl IntoIterator<Item = Cell>) -> Self {
        self.rows.push(cells.into_iter().collect());
        self
    }
}

impl Column {
    /// A column of words, as wide as its widest cell.
    pub fn text(head: impl Into<String>) -> Self {
        Self { head: head.into(), figures: false, width: Width::Fitting }
    }

    /// A column of figures.
    pub fn number(head: impl Into<String>) -> Self {
        Self { head: head.into(), figures: true, width: Width::Fitting }
    }

    /// A column of sentences, which takes a share of what is left.
    pub fn sentence(head: impl Into<String>) -> Self {
        Self { head: head.into(), figures: false, width: Width::Share }
    }
}

impl Cell {
    /// Room to write by hand.
    pub fn to_fill() -> Self {
        Self::ToFill
    }
}

impl<T: Into<String>> From<T> for Cell {
    /// Text; nothing where it is empty.
    fn from(text: T) -> Self {
        let text = text.into();
        if text.is_empty() { Self::Blank } else { Self::Text(text) }
    }
}
