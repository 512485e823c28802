//! Choosing one of several: large buttons for a few, a list for many.

use super::field::id;
use super::{Problem, Words, problem_beside};
use maud::{Markup, Render, html};

/// One of a few, each a large target with its words.
#[derive(Debug, Clone, Default)]
pub struct Choice<'a> {
    name: Words<'a>,
    scope: Words<'a>,
    legend: Words<'a>,
    hint: Words<'a>,
    options: Vec<(Words<'a>, Words<'a>, Words<'a>)>,
    chosen: Vec<Words<'a>>,
    is_optional: bool,
    many: bool,
    problem: Option<Problem<'a>>,
}

impl<'a> Choice<'a> {
    /// A choice without options yet.
    pub fn new(name: impl Into<Words<'a>>, legend: impl Into<Words<'a>>) -> Self {
        Self { name: name.into(), legend: legend.into(), ..Self::default() }
    }

    /// Adds an option: what is sent, its words, and what helps to choose (may be empty).
    #[must_use]
    pub fn option(
        mut self,
        value: impl Into<Words<'a>>,
        words: impl Into<Words<'a>>,
        hint: impl Into<Words<'a>>,
    ) -> Self {
        self.options.push((value.into(), words.into(), hint.into()));
        self
    }

    /// What is chosen; for [`Choice::many`] call it once for each.
    #[must_use]
    pub fn chosen(mut self, value: impl Into<Words<'a>>) -> Self {
        self.chosen.push(value.into());
        self
    }

    /// Several may be chosen: boxes to tick. The names are `NAME.0`, `NAME.1` and so on.
    #[must_use]
    pub fn many(mut self) -> Self {
        self.many = true;
        self
    }

    /// What helps to choose.
    #[must_use]
    pub fn hint(mut self, hint: impl Into<Words<'a>>) -> Self {
        self.hint = hint.into();
        self
    }

    /// Sets the ids apart from another form's.
    #[must_use]
    pub fn scope(mut self, scope: impl Into<Words<'a>>) -> Self {
        self.scope = scope.into();
        self
    }

    /// Nothing need be chosen.
    #[must_use]
    pub fn optional(mut self) -> Self {
        self.is_optional = true;
        self
    }

    /// What is wrong with it.
    #[must_use]
    pub fn problem(mut self, problem: Option<Problem<'a>>) -> Self {
        self.problem = problem;
        self
    }

    /// The id of the whole choice, for a link in the summary of problems.
    pub fn id(&self) -> String {
        id(&self.scope, &self.name)
    }
}

impl Render for Choice<'_> {
    fn render(&self) -> Markup {
        let id = self.id();
        let described: Vec<String> =
            [(!self.hint.is_empty(), "hint"), (self.problem.is_some(), "problem")]
                .iter()
                .filter(|(there, _)| *there)
                .map(|(_, part)| format!("{id}-{part}"))
                .collect();
        let described = (!described.is_empty()).then(|| described.join(" "));
        html! {
            fieldset id=(id) tabindex="-1" aria-describedby=[described]
                class=(if self.problem.is_some() { "choice refused" } else { "choice" }) {
                legend {
                    (self.legend)
                    @if self.is_optional { " " span.optional { "(may stay empty)" } }
                }
                @if !self.hint.is_empty() { p.hint id={ (id) "-hint" } { (self.hint) } }
                @if let Some(problem) = &self.problem {
                    (problem_beside(&format!("{id}-problem"), problem))
                }
                div.options {
                    @for (n, (value, words, hint)) in self.options.iter().enumerate() {
                        @let name = if self.many { format!("{}.{n}", self.name) }
                            else { self.name.to_string() };
                        label {
                            input type=(if self.many { "checkbox" } else { "radio" }) name=(name)
                                value=(value) checked[self.chosen.contains(value)]
                                required[!self.is_optional && !self.many];
                            span { (words) }
                            @if !hint.is_empty() { span.hint { (hint) } }
                        }
                    }
                }
            }
        }
    }
}

/// One of many, picked from a list.
#[derive(Debug, Clone, Default)]
pub struct Select<'a> {
    name: Words<'a>,
    scope: Words<'a>,
    label: Words<'a>,
    hint: Words<'a>,
    options: Vec<(Words<'a>, Words<'a>)>,
    /// Where a group begins, and its words.
    groups: Vec<(usize, Words<'a>)>,
    chosen: Words<'a>,
    is_optional: bool,
    problem: Option<Problem<'a>>,
}

impl<'a> Select<'a> {
    /// A list without options yet.
    pub fn new(name: impl Into<Words<'a>>, label: impl Into<Words<'a>>) -> Self {
        Self { name: name.into(), label: label.into(), ..Self::default() }
    }

    /// The options that follow are a group with these words.
    #[must_use]
    pub fn group(mut self, words: impl Into<Words<'a>>) -> Self {
        self.groups.push((self.options.len(), words.into()));
        self
    }

    /// Adds an option: what is sent, and its words.
    #[must_use]
    pub fn option(mut self, value: impl Into<Words<'a>>, words: impl Into<Words<'a>>) -> Self {
        self.options.push((value.into(), words.into()));
        self
    }

    /// What is chosen.
    #[must_use]
    pub fn chosen(mut self, value: impl Into<Words<'a>>) -> Self {
        self.chosen = value.into();
        self
    }

    /// What helps to choose.
    #[must_use]
    pub fn hint(mut self, hint: impl Into<Words<'a>>) -> Self {
        self.hint = hint.into();
        self
    }

    /// Sets the ids apart from another form's.
    #[must_use]
    pub fn scope(mut self, scope: impl Into<Words<'a>>) -> Self {
        self.scope = scope.into();
        self
    }

    /// Nothing need be chosen.
    #[must_use]
    pub fn optional(mut self) -> Self {
        self.is_optional = true;
        self
    }

    /// What is wrong with it.
    #[must_use]
    pub fn problem(mut self, problem: Option<Problem<'a>>) -> Self {
        self.problem = problem;
        self
    }

    fn options(&self, from: usize, to: usize) -> Markup {
        html! {
            @for (value, words) in self.options.iter().take(to).skip(from) {
                option value=(value) selected[!value.is_empty() && *value == self.chosen] { (words) }
            }
        }
    }

    /// The list's id, for a link in the summary of problems.
    pub fn id(&self) -> String {
        id(&self.scope, &self.name)
    }
}

impl Render for Select<'_> {
    fn render(&self) -> Markup {
        let id = self.id();
        let described: Vec<String> =
            [(!self.hint.is_empty(), "hint"), (self.problem.is_some(), "problem")]
                .iter()
                .filter(|(there, _)| *there)
                .map(|(_, part)| format!("{id}-{part}"))
                .collect();
        let described = (!described.is_empty()).then(|| described.join(" "));
        html! {
            div class=(if self.problem.is_some() { "field refused" } else { "field" }) {
                label for=(id) {
                    (self.label)
                    @if self.is_optional { " " span.optional { "(may stay empty)" } }
                }
                @if !self.hint.is_empty() { p.hint id={ (id) "-hint" } { (self.hint) } }
                div.entry {
                    select id=(id) name=(self.name) required[!self.is_optional]
                        aria-describedby=[described]
                        aria-invalid=[self.problem.as_ref().map(|_| "true")] {
                        option value="" { "Choose…" }
                        (self.options(0, self.groups.first().map_or(self.options.len(), |(at, _)| *at)))
                        @for (number, (from, words)) in self.groups.iter().enumerate() {
                            @let to = self.groups.get(number + 1).map_or(self.options.len(), |(at, _)| *at);
                            optgroup label=(words) { (self.options(*from, to)) }
                        }
                    }
                }
                @if let Some(problem) = &self.problem {
                    (problem_beside(&format!("{id}-problem"), problem))
                }
            }
        }
    }
}
