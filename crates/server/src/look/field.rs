//! A field: label, limit, entry with its unit, verdict, problem.

use super::{Problem, Words, problem_beside};
use maud::{Markup, Render, html};

/// One field of a form.
///
/// ```
/// use maud::html;
/// use stonewear_server::look::Field;
/// let field = Field::new("mass", "Mass before").reading().unit("g").limit("1495 g to 1505 g");
/// let page = html! { form { (field) } };
/// assert!(page.into_string().contains(r#"inputmode="decimal""#));
/// ```
#[derive(Debug, Clone, Default)]
pub struct Field<'a> {
    name: Words<'a>,
    scope: Words<'a>,
    label: Words<'a>,
    unit: Words<'a>,
    hint: Words<'a>,
    limit: Words<'a>,
    value: Words<'a>,
    kind: Kind,
    is_reading: bool,
    is_optional: bool,
    is_first: bool,
    judge: Option<Words<'a>>,
    is_judged_with_all: bool,
    verdict: Option<Markup>,
    problem: Option<Problem<'a>>,
    suggestions: Vec<Words<'a>>,
    fills: Words<'a>,
}

#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
enum Kind {
    #[default]
    Text,
    Decimal,
    Count,
    Date,
    Lines,
    Secret,
}

impl<'a> Field<'a> {
    /// A field for a line of text. It must be filled, unless [`Field::optional`] says otherwise.
    pub fn new(name: impl Into<Words<'a>>, label: impl Into<Words<'a>>) -> Self {
        Self { name: name.into(), label: label.into(), ..Self::default() }
    }

    /// For a number with decimals. It stays text: what was typed is what is judged.
    #[must_use]
    pub fn decimal(mut self) -> Self {
        self.kind = Kind::Decimal;
        self
    }

    /// For a whole number.
    #[must_use]
    pub fn count(mut self) -> Self {
        self.kind = Kind::Count;
        self
    }

    /// For a number read off an instrument at the bench: large figures.
    #[must_use]
    pub fn reading(mut self) -> Self {
        self.is_reading = true;
        if self.kind == Kind::Text { self.decimal() } else { self }
    }

    /// For a date.
    #[must_use]
    pub fn date(mut self) -> Self {
        self.kind = Kind::Date;
        self
    }

    /// For a pass phrase: not shown, never kept, never filled in by the page. `fills` tells the browser's
    /// own keeper of phrases which one is meant: `current-password` or `new-password` (WHATWG HTML,
    /// section 4.10.18.7).
    #[must_use]
    pub fn secret(mut self, fills: impl Into<Words<'a>>) -> Self {
        self.kind = Kind::Secret;
        self.fills(fills)
    }

    /// What the browser may fill it with, by the names of WHATWG HTML, section 4.10.18.7.
    #[must_use]
    pub fn fills(mut self, fills: impl Into<Words<'a>>) -> Self {
        self.fills = fills.into();
        self
    }

    /// For some lines of text, such as a reason.
    #[must_use]
    pub fn lines(mut self) -> Self {
        self.kind = Kind::Lines;
        self
    }

    /// Sets the ids of this form's fields apart from another form's on the same page.
    #[must_use]
    pub fn scope(mut self, scope: impl Into<Words<'a>>) -> Self {
        self.scope = scope.into();
        self
    }

    /// The unit, shown in the entry.
    #[must_use]
    pub fn unit(mut self, unit: impl Into<Words<'a>>) -> Self {
        self.unit = unit.into();
        self
    }

    /// What helps to fill it.
    #[must_use]
    pub fn hint(mut self, hint: impl Into<Words<'a>>) -> Self {
        self.hint = hint.into();
        self
    }

    /// The limit that the value must meet, always visible.
    #[must_use]
    pub fn limit(mut self, limit: impl Into<Words<'a>>) -> Self {
        self.limit = limit.into();
        self
    }

    /// What is in it: what was typed before, or a proposal.
    #[must_use]
    pub fn value(mut self, value: impl Into<Words<'a>>) -> Self {
        self.value = value.into();
        self
    }

    /// It may stay empty.
    #[must_use]
    pub fn optional(mut self) -> Self {
        self.is_optional = true;
        self
    }

    /// It has the focus when the page is shown.
    #[must_use]
    pub fn first(mut self) -> Self {
        self.is_first = true;
        self
    }

    /// As it is typed, the form is sent to this address and the answer, a
    /// [`verdict`](super::verdict), is shown below the entry.
    #[must_use]
    pub fn judged_at(mut self, url: impl Into<Words<'a>>) -> Self {
        self.judge = Some(url.into());
        self
    }

    /// It is judged anew as well when another number of the form is typed.
    #[must_use]
    pub fn judged_with_all(mut self) -> Self {
        self.is_judged_with_all = true;
        self
    }

    /// What stands below the entry before anything is typed.
    #[must_use]
    pub fn verdict(mut self, verdict: Markup) -> Self {
        self.verdict = Some(verdict);
        self
    }

    /// What is wrong with it. The problem's id is not used: the field knows its own.
    #[must_use]
    pub fn problem(mut self, problem: Option<Problem<'a>>) -> Self {
        self.problem = problem;
        self
    }

    /// Known values that may be picked; others may be typed.
    #[must_use]
    pub fn suggest(mut self, values: impl IntoIterator<Item = impl Into<Words<'a>>>) -> Self {
        self.suggestions = values.into_iter().map(Into::into).collect();
        self
    }

    /// The input's id, for a link in the summary of problems.
    pub fn id(&self) -> String {
        super::field::id(&self.scope, &self.name)
    }

    fn entry(&self, id: &str, described_by: &str) -> Markup {
        let described = (!described_by.is_empty()).then_some(described_by);
        let invalid = self.problem.as_ref().map(|_| "true");
        let slot = self.judge.as_ref().map(|_| format!("{id}-judged"));
        let list = (!self.suggestions.is_empty()).then(|| format!("{id}-list"));
        let (kind, mode) = match self.kind {
            Kind::Text | Kind::Lines => ("text", None),
            Kind::Decimal => ("text", Some("decimal")),
            Kind::Count => ("text", Some("numeric")),
            Kind::Date => ("date", None),
            Kind::Secret => ("password", None),
        };
        let fills = if self.fills.is_empty() { "off" } else { &self.fills };
        // Whatever was typed, a phrase is not sent back.
        let value = if self.kind == Kind::Secret { "" } else { &*self.value };
        html! {
            @if self.kind == Kind::Lines {
                textarea id=(id) name=(self.name) aria-describedby=[described] aria-invalid=[invalid]
                    required[!self.is_optional] data-autofocus[self.is_first]
                    data-judge=[self.judge.as_deref()] data-judge-slot=[slot] { (self.value) }
            } @else {
                input id=(id) name=(self.name) type=(kind) inputmode=[mode] value=(value)
                    list=[list.as_ref()] autocomplete=(fills) spellcheck="false"
                    aria-describedby=[described] aria-invalid=[invalid]
                    required[!self.is_optional] data-autofocus[self.is_first]
                    data-judge=[self.judge.as_deref()] data-judge-slot=[slot]
                    data-judge-with-all[self.is_judged_with_all];
            }
            @if self.kind == Kind::Decimal {
                // Tells whoever reads the form that a point or a comma in it is a decimal mark.
                input type="hidden" name={ "_decimal." (self.name) } value="";
            }
            @if !self.unit.is_empty() { span.unit id={ (id) "-unit" } { (self.unit) } }
            @if let Some(list) = list {
                datalist id=(list) {
                    @for value in &self.suggestions { option value=(value) {} }
                }
            }
        }
    }
}

impl Render for Field<'_> {
    fn render(&self) -> Markup {
        let id = self.id();
        let class = match (self.is_reading, self.problem.is_some(), self.kind == Kind::Lines) {
            (true, true, _) => "field reading refused",
            (true, false, _) => "field reading",
            (false, true, true) => "field wide refused",
            (false, true, false) => "field refused",
            (false, false, true) => "field wide",
            (false, false, false) => "field",
        };
        let parts = [
            (!self.unit.is_empty(), "unit"),
            (!self.limit.is_empty(), "limit"),
            (!self.hint.is_empty(), "hint"),
            (self.problem.is_some(), "problem"),
        ];
        let described: Vec<String> = parts
            .iter()
            .filter(|(there, _)| *there)
            .map(|(_, part)| format!("{id}-{part}"))
            .collect();
        html! {
            div class=(class) {
                label for=(id) {
                    (self.label)
                    @if self.is_optional { " " span.optional { "(may stay empty)" } }
                }
                @if !self.hint.is_empty() { p.hint id={ (id) "-hint" } { (self.hint) } }
                @if !self.limit.is_empty() {
                    p.limit id={ (id) "-limit" } { "Allowed: " b { (self.limit) } }
                }
                div.entry { (self.entry(&id, &described.join(" "))) }
                @if let Some(problem) = &self.problem {
                    (problem_beside(&format!("{id}-problem"), problem))
                }
                @if self.judge.is_some() || self.verdict.is_some() {
                    div.judged id={ (id) "-judged" } role="status" {
                        @if let Some(verdict) = &self.verdict { (verdict) }
                    }
                }
            }
        }
    }
}

/// The id of the input of a field.
pub(super) fn id(scope: &str, name: &str) -> String {
    if scope.is_empty() { format!("field-{name}") } else { format!("{scope}-{name}") }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_refused_field_names_its_problem_and_keeps_what_was_typed() {
        let problem = Problem { message: "This is not a number.".into(), ..Problem::default() };
        let field =
            Field::new("mass", "Mass").decimal().unit("g").value("15<0").problem(Some(problem));
        let html = field.render().into_string();
        assert!(html.contains(r#"value="15&lt;0""#), "{html}");
        assert!(
            html.contains(r#"aria-describedby="field-mass-unit field-mass-problem""#),
            "{html}"
        );
        assert!(html.contains(r#"aria-invalid="true""#), "{html}");
        assert!(html.contains(r#"id="field-mass-problem""#), "{html}");
    }

    #[test]
    fn a_phrase_is_not_sent_back() {
        let field =
            Field::new("phrase", "Pass phrase").secret("current-password").value("wet sand");
        let html = field.render().into_string();
        assert!(html.contains(r#"type="password""#) && !html.contains("wet sand"), "{html}");
        assert!(html.contains(r#"autocomplete="current-password""#), "{html}");
    }

    #[test]
    fn a_judged_field_names_the_slot_that_it_has() {
        let html = Field::new("mass", "Mass").judged_at("/judge?field=mass").render().into_string();
        assert!(html.contains(r#"data-judge-slot="field-mass-judged""#), "{html}");
        assert!(html.contains(r#"id="field-mass-judged" role="status""#), "{html}");
    }
}
