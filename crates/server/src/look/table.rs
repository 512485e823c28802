//! Tables: with a caption, figures to the right; where the page is narrow they move sideways in
//! their own frame.

use super::Words;
use maud::{Markup, Render, html};

/// A table, built column by column and row by row.
#[derive(Debug, Clone, Default)]
pub struct Table<'a> {
    caption: Words<'a>,
    columns: Vec<(Words<'a>, bool)>,
    rows: Vec<Vec<Markup>>,
    is_below_heading: bool,
}

impl<'a> Table<'a> {
    /// A table that says what it shows.
    pub fn new(caption: impl Into<Words<'a>>) -> Self {
        Self { caption: caption.into(), ..Self::default() }
    }

    /// A heading above says the same: the caption is only read aloud.
    #[must_use]
    pub fn below_heading(mut self) -> Self {
        self.is_below_heading = true;
        self
    }

    /// Adds a column of words.
    #[must_use]
    pub fn column(mut self, head: impl Into<Words<'a>>) -> Self {
        self.columns.push((head.into(), false));
        self
    }

    /// Adds a column of figures; its head names the unit.
    #[must_use]
    pub fn figures(mut self, head: impl Into<Words<'a>>) -> Self {
        self.columns.push((head.into(), true));
        self
    }

    /// Adds a row. Its first cell names it.
    #[must_use]
    pub fn row(mut self, cells: impl IntoIterator<Item = Markup>) -> Self {
        self.rows.push(cells.into_iter().collect());
        self
    }
}

impl Render for Table<'_> {
    fn render(&self) -> Markup {
        let class =
            |n: usize| self.columns.get(n).filter(|(_, figures)| *figures).map(|_| "numeric");
        html! {
            div.table role="region" aria-label=(self.caption) tabindex="0" {
                table {
                    caption class=[self.is_below_heading.then_some("off-page")] { (self.caption) }
                    thead {
                        tr {
                            @for (n, (head, _)) in self.columns.iter().enumerate() {
                                th scope="col" class=[class(n)] { (head) }
                            }
                        }
                    }
                    tbody {
                        @for row in &self.rows {
                            tr {
                                @for (n, cell) in row.iter().enumerate() {
                                    @if n == 0 { th scope="row" class=[class(n)] { (cell) } }
                                    @else { td class=[class(n)] { (cell) } }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}
