//! One field of a form, bound to what was typed and judged by the decision that it would meet.

use super::form::{id_of, problem_of};
use crate::look;
use crate::page::View;
use maud::{Markup, Render, html};
use stonewear_lab::Problem;
use stonewear_measure::{Decimal, Limits, balance};
use stonewear_picture::{Standing, ToleranceStrip};

/// A field of a request's form.
pub(crate) struct Field<'a> {
    view: &'a View<'a>,
    request: &'static str,
    name: String,
    look: look::Field<'a>,
    is_number: bool,
    is_bench: bool,
    has_hint: bool,
    unit: String,
    wanted: String,
    limits: Limits,
    difference: String,
    default: String,
}

impl<'a> Field<'a> {
    /// A field for a text.
    pub(crate) fn text(view: &'a View<'_>, request: &'static str, name: &str, label: &str) -> Self {
        Self {
            view,
            request,
            name: name.to_owned(),
            look: look::Field::new(name.to_owned(), label.to_owned()).scope(request),
            is_number: false,
            is_bench: false,
            has_hint: false,
            unit: String::new(),
            wanted: String::new(),
            limits: Limits::default(),
            difference: String::new(),
            default: String::new(),
        }
    }

    /// A field for a number: judged while it is typed.
    pub(crate) fn number(
        view: &'a View<'_>,
        request: &'static str,
        name: &str,
        label: &str,
    ) -> Self {
        let text = Self::text(view, request, name, label);
        Self { is_number: true, look: text.look.decimal(), ..text }
    }

    /// Sets its id apart from that of another form of this request on the page.
    pub(crate) fn scope(mut self, scope: &str) -> Self {
        self.look = self.look.scope(scope.to_owned());
        self
    }

    pub(crate) fn unit(mut self, unit: &str) -> Self {
        self.look = self.look.unit(unit.to_owned());
        unit.clone_into(&mut self.unit);
        self
    }

    /// What is aimed at, like `375 ± 5`.
    pub(crate) fn wanted(mut self, wanted: &str) -> Self {
        wanted.clone_into(&mut self.wanted);
        self
    }

    pub(crate) fn limits(mut self, limits: Limits) -> Self {
        self.limits = limits;
        self
    }

    /// The limits are of a difference that this reading is part of, by this name; it is judged when
    /// any reading of the form changes.
    pub(crate) fn difference(mut self, what: &str) -> Self {
        what.clone_into(&mut self.difference);
        self.look = self.look.judged_with_all();
        self
    }

    pub(crate) fn hint(mut self, hint: &'a str) -> Self {
        self.look = self.look.hint(hint);
        self.has_hint = true;
        self
    }

    pub(crate) fn default(mut self, default: &str) -> Self {
        default.clone_into(&mut self.default);
        self
    }

    pub(crate) fn value_or(mut self, value: Option<Decimal>) -> Self {
        self.default = value.map(|value| value.to_string()).unwrap_or_default();
        self
    }

    pub(crate) fn optional(mut self) -> Self {
        self.look = self.look.optional();
        self
    }

    /// For some lines of text, such as a pasted table.
    pub(crate) fn lines(mut self) -> Self {
        self.look = self.look.lines();
        self
    }

    /// What may be chosen while it is typed; anything else may be typed as well.
    pub(crate) fn suggest(mut self, values: Vec<String>) -> Self {
        self.look = self.look.suggest(values);
        self
    }

    pub(crate) fn date(mut self) -> Self {
        self.look = self.look.date();
        self
    }

    /// To be read at arm's length, with gloves on.
    pub(crate) fn bench(mut self) -> Self {
        self.look = self.look.reading();
        self.is_bench = true;
        self
    }

    pub(crate) fn focus(mut self) -> Self {
        self.look = self.look.first();
        self
    }

    fn limit_words(&self) -> String {
        if !self.difference.is_empty() {
            return format!("{}: {} {}", self.difference, self.limits, self.unit);
        }
        match (self.wanted.is_empty(), self.limits == Limits::default()) {
            (_, true) => String::new(),
            (false, false) => format!("{} {}", self.wanted, self.unit),
            (true, false) => format!("{} {}", self.limits, self.unit),
        }
    }

    /// What is aimed at where nothing says how far off it may be: no limit, so not called one.
    fn aim_words(&self) -> Option<String> {
        (self.limits == Limits::default() && !self.wanted.is_empty())
            .then(|| format!("aim at {} {}", self.wanted, self.unit).trim_end().to_owned())
    }

    /// Where the field is judged as it is typed; the limits go along, to be drawn.
    fn judge(&self) -> String {
        let mut query = form_urlencoded::Serializer::new(String::new());
        query.append_pair("field", &self.name).append_pair("unit", &self.unit);
        for (name, limit) in [("lower", self.limits.lower), ("upper", self.limits.upper)] {
            if let Some(limit) = limit {
                query.append_pair(name, &limit.to_string());
            }
        }
        if !self.difference.is_empty() {
            query.append_pair("difference", "yes");
        }
        format!("/judge?{}", query.finish())
    }
}

impl Render for Field<'_> {
    fn render(&self) -> Markup {
        let typed = self.view.typed.value(self.request, &self.name).unwrap_or(&self.default);
        let mut field = self.look.clone().value(typed.to_owned());
        let limit = self.limit_words();
        if !limit.trim().is_empty() {
            field = field.limit(limit.trim_end().to_owned());
        }
        if let Some(aim) = self.aim_words().filter(|_| !self.has_hint) {
            field = field.hint(aim);
        }
        if self.is_number {
            field = field.judged_at(self.judge());
        }
        if self.is_bench && typed.trim().is_empty() {
            field = field.verdict(unread(&self.unit, self.limits));
        }
        let problem = self.view.typed.problem(self.request, &self.name);
        field
            .problem(problem.map(|problem| problem_of(problem, id_of(self.request, &self.name))))
            .render()
    }
}

/// What stands below a field as it is typed: nothing while it is empty, else whether it can stay
/// so, and where it lies against its limits.
pub(crate) fn verdict(
    value: &str,
    unit: &str,
    limits: Limits,
    problem: Option<&Problem>,
) -> Markup {
    if value.trim().is_empty() {
        return unread(unit, limits);
    }
    let strip = strip_of(value, unit, limits);
    let understood = understood(value, unit);
    let (tone, words) = match (problem, strip.as_ref().map(ToleranceStrip::standing)) {
        // A check takes a reading that is outside, and fails by it: nothing refuses it, and it is wrong.
        (None, Some(standing)) => {
            let read = understood.map(|read| format!("{read}: ")).unwrap_or_default();
            against(standing, &read, limits, unit)
                .unwrap_or_else(|| (look::Tone::Plain, read_as(value, unit)))
        }
        // Where no limit is known nothing is praised; how it was read shows a slip of the comma.
        (None, None) => (look::Tone::Plain, read_as(value, unit)),
        (Some(problem), _) if problem.excusable => (look::Tone::Edge, super::form::words(problem)),
        (Some(problem), _) => (look::Tone::Bad, super::form::words(problem)),
    };
    look::verdict(tone, words, strip.as_ref())
}

/// What stands below the second of two readings: how far they are apart, and whether that can stay
/// so. `difference` is there once both are read.
pub(crate) fn difference_verdict(
    value: &str,
    difference: Option<&str>,
    unit: &str,
    limits: Limits,
    problem: Option<&Problem>,
) -> Markup {
    if value.trim().is_empty() {
        return unread(unit, limits);
    }
    let (Some(difference), None) = (difference, problem) else {
        return verdict(value, unit, Limits::default(), problem);
    };
    let strip = strip_of(difference, unit, limits);
    let read = format!("difference {difference} {unit}");
    let read = read.trim_end();
    let standing = strip.as_ref().map(ToleranceStrip::standing);
    let (tone, words) = standing
        .and_then(|standing| against(standing, &format!("{read}: "), limits, unit))
        .unwrap_or_else(|| (look::Tone::Plain, read.to_owned()));
    look::verdict(tone, words, strip.as_ref())
}

/// Where a reading lies, in words behind how it was read; nothing where that is not known.
fn against(
    standing: Standing,
    read: &str,
    limits: Limits,
    unit: &str,
) -> Option<(look::Tone, String)> {
    let allowed = format!("{limits} {unit}");
    match standing {
        Standing::Outside => {
            let words = format!("{read}outside; allowed is {}", allowed.trim_end());
            Some((look::Tone::Bad, words))
        }
        Standing::Inside | Standing::Edge => {
            Some((look::Tone::Good, format!("{read}as it must be")))
        }
        Standing::Open => None,
    }
}

/// Where what was typed lies against its limits; `None` where there are none.
pub(crate) fn strip_of(value: &str, unit: &str, limits: Limits) -> Option<ToleranceStrip> {
    (limits != Limits::default()).then(|| ToleranceStrip {
        label: String::new(),
        unit: unit.to_owned(),
        lower: limits.lower,
        upper: limits.upper,
        guard: None,
        value: number_of(value, unit),
        expanded_uncertainty: None,
    })
}

/// What stands there before anything is typed: the limits as they will be met. It is as high as
/// what follows, so that no button moves under a finger; without limits there is nothing.
fn unread(unit: &str, limits: Limits) -> Markup {
    if limits == Limits::default() {
        return html! {};
    }
    let strip = ToleranceStrip {
        unit: unit.to_owned(),
        lower: limits.lower,
        upper: limits.upper,
        ..ToleranceStrip::default()
    };
    look::verdict(look::Tone::Plain, "nothing read yet", Some(&strip))
}

/// The number in what was typed, in the unit of the field.
fn number_of(value: &str, unit: &str) -> Option<Decimal> {
    match unit {
        "g" => balance::read(value).ok().map(|mass| mass.grams()),
        _ => stonewear_measure::read(value).ok(),
    }
}

/// What was understood of a mass that was more than a number of grams: `1.5012 kg = 1501.2 g`.
fn understood(value: &str, unit: &str) -> Option<String> {
    let mass = balance::read(value).ok().filter(|_| unit == "g")?;
    mass.as_read().map(|_| mass.to_string())
}

fn read_as(value: &str, unit: &str) -> String {
    if let Some(understood) = understood(value, unit) {
        return format!("read as {understood}");
    }
    let read = number_of(value, unit).map_or_else(|| value.to_owned(), |it| it.to_string());
    format!("read as {read} {unit}").trim_end().to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn before_anything_is_typed_the_limits_stand_there_as_high_as_the_answer() {
        let limits = Limits { lower: Some(1495.into()), upper: Some(1505.into()) };
        let height = |markup: Markup| {
            let text = markup.into_string();
            let strips = text.split("tolerance-strip").nth(1).map(str::to_owned);
            strips.and_then(|rest| {
                Some(rest.split_once("height=\"")?.1.split('"').next()?.to_owned())
            })
        };
        let empty = verdict("", "g", limits, None);
        assert!(empty.clone().into_string().contains("nothing read yet"));
        let unread = height(empty);
        assert!(unread.is_some());
        assert_eq!(unread, height(verdict("1501", "g", limits, None)));
        assert_eq!(verdict(" ", "g", Limits::default(), None).into_string(), "");
    }

    #[test]
    fn a_field_says_what_it_understood() {
        let limits = Limits { lower: Some(1495.into()), upper: Some(1505.into()) };
        for (value, unit, limits, says) in [
            ("1501.2", "g", limits, "as it must be"),
            ("1.5012 kg", "g", limits, "1.5012 kg = 1501.2 g: as it must be"),
            ("ST,GS,+ 1501.2 g", "g", limits, "1501.2 g: as it must be"),
            ("1.5012 kg", "g", Limits::default(), "read as 1.5012 kg = 1501.2 g"),
            ("1501,2", "g", Limits::default(), "read as 1501.2 g"),
            ("2,00", "L", Limits::default(), "read as 2.00 L"),
        ] {
            let html = verdict(value, unit, limits, None).into_string();
            assert!(
                html.contains(&format!(">{says}<")) || html.contains(&format!(" {says}<")),
                "{value}: {html}"
            );
        }
    }

    #[test]
    fn a_difference_is_judged_once_both_are_read() {
        let most = Limits { lower: None, upper: Some(5.into()) };
        for (value, difference, says) in [
            ("", Some("1"), "nothing read yet"),
            ("5231.2", None, "read as 5231.2 g"),
            ("5231.2", Some("2.9"), "difference 2.9 g: as it must be"),
            ("5222", Some("12.1"), "difference 12.1 g: outside; allowed is at most 5 g"),
        ] {
            let html = difference_verdict(value, difference, "g", most, None).into_string();
            assert!(html.contains(says), "{value}: {html}");
        }
    }

    #[test]
    fn what_is_outside_is_said_so_although_nothing_refuses_it() {
        let bore = Limits { lower: Some(192.into()), upper: Some(196.into()) };
        for (value, said) in [
            ("191", "outside; allowed is 192 to 196 mm"),
            ("196.1", "outside; allowed is 192 to 196 mm"),
            ("192", "as it must be"),
            ("194", "as it must be"),
            ("", "nothing read yet"),
        ] {
            let shown = verdict(value, "mm", bore, None).into_string();
            assert!(shown.contains(said), "{value}: {shown}");
        }
        let free = verdict("194", "mm", Limits::default(), None).into_string();
        assert!(free.contains("read as 194 mm") && !free.contains("as it must be"), "{free}");
    }
}
