//! Small pieces of markup that every page shares.

use crate::look::{self, Hazard, Tone};
use crate::page::View;
use jiff::Timestamp;
use maud::{Markup, html};
use stonewear_lab::fact::{Deviation, Standing};
use stonewear_lab::state::{Noted, TestResult};
use stonewear_measure::{Decimal, Limits, balance};
use stonewear_method::{Confidence, Method, MethodId};
use stonewear_picture::ToleranceStrip;
use stonewear_report::Cell;

/// The method that a form proposes, as it is written: the one of the newest result, or any that
/// is in use.
pub(crate) fn usual_method_written(view: &View<'_>) -> String {
    method(view, &usual_method(view))
}

/// Its identity.
pub(crate) fn usual_method(view: &View<'_>) -> String {
    let newest = view.lab.results.values().next_back().map(|result| result.method.to_string());
    let any = || view.lab.methods.keys().next().map(ToString::to_string);
    newest.or_else(any).unwrap_or_default()
}

/// A method as its publisher writes it, by its identity or by what a person called it.
pub(crate) fn method(view: &View<'_>, named: &str) -> String {
    let known = view.laboratory.methods();
    let of_library = || known.iter().find(|method| method.answers_to(named));
    match view.lab.method_in_use(named) {
        Some(in_use) => in_use.method.dated(),
        None => of_library().map_or_else(|| named.to_owned(), Method::dated),
    }
}

/// The same as a link to its page.
pub(crate) fn method_link(view: &View<'_>, id: &MethodId) -> Markup {
    html! { a href={ "/methods/" (id) } { (method(view, id.as_str())) } }
}

/// A part of a page under its heading.
pub(crate) fn section(title: &str, body: Markup) -> Markup {
    html! { section.section { h2 { (title) } (body) } }
}

/// Nothing is here yet: what to do first.
pub(crate) fn lead(title: &str, words: &str, href: &str, action: &str) -> Markup {
    let empty = look::Empty {
        heading: title.into(),
        words: words.into(),
        steps: Vec::new(),
        action: look::link_button(action, href),
    };
    html! { (empty) }
}

/// A table with its caption; `numbers` are the columns that hold numbers.
pub(crate) fn table(
    caption: &str,
    head: &[&str],
    numbers: &[usize],
    rows: Vec<Vec<Markup>>,
) -> Markup {
    filled(look::Table::new(caption), head, numbers, rows)
}

/// The same below a heading that says what its caption says.
pub(crate) fn table_below_heading(
    caption: &str,
    head: &[&str],
    numbers: &[usize],
    rows: Vec<Vec<Markup>>,
) -> Markup {
    filled(look::Table::new(caption).below_heading(), head, numbers, rows)
}

fn filled(
    mut table: look::Table<'_>,
    head: &[&str],
    numbers: &[usize],
    rows: Vec<Vec<Markup>>,
) -> Markup {
    let head: Vec<String> = head.iter().map(|name| (*name).to_owned()).collect();
    for (column, name) in head.into_iter().enumerate() {
        table = if numbers.contains(&column) { table.figures(name) } else { table.column(name) };
    }
    let table = rows.into_iter().fold(table, look::Table::row);
    html! { (table) }
}

/// A table as papers print it.
pub(crate) fn sheet_table(table: &stonewear_report::Table) -> Markup {
    let shown =
        table.columns.iter().fold(look::Table::new(table.caption.as_str()), |shown, one| {
            if one.figures {
                shown.figures(one.head.as_str())
            } else {
                shown.column(one.head.as_str())
            }
        });
    let cell = |cell: &Cell| match cell {
        Cell::Text(text) => html! { (text) },
        Cell::Strip(strip) => html! { (strip.value) },
        Cell::Blank | Cell::ToFill => html! { "–" },
    };
    let rows = table.rows.iter().map(|row| row.iter().map(cell).collect::<Vec<_>>());
    html! { (rows.fold(shown, look::Table::row)) }
}

/// Where an item stands: word, shape and colour.
pub(crate) fn standing(standing: Standing) -> Markup {
    let tone = match standing {
        Standing::BeingProved => Tone::Active,
        Standing::InService => Tone::Good,
        Standing::Held => Tone::Bad,
        Standing::Retired => Tone::Plain,
    };
    look::mark(tone, standing.in_words())
}

/// How sure a number is: word and shape.
pub(crate) fn confidence(confidence: Confidence) -> Markup {
    let tone = if confidence.is_sure() { Tone::Good } else { Tone::Edge };
    look::mark(tone, confidence.in_words())
}

/// What can hurt, and who has the last word.
pub(crate) fn caution(hazard: Hazard, text: &str, source: &str) -> Markup {
    html! { (caution_of(hazard, text, source)) }
}

/// The same as a part of a step.
pub(crate) fn caution_of(hazard: Hazard, text: &str, source: &str) -> look::Caution<'static> {
    const DEFERS: &str = "Local codes and licensed practice come first.";
    // The cautions of procedures say it themselves, so that they say it on paper too.
    let text = text.trim().trim_end_matches(DEFERS).trim_end();
    look::Caution {
        hazard,
        heading: "Caution".into(),
        words: format!("{text} {DEFERS}").into(),
        source: format!("Source: {source}").into(),
    }
}

/// A value against its limits.
pub(crate) fn strip(label: &str, value: Decimal, unit: &str, limits: Limits) -> Markup {
    look::strip(&ToleranceStrip {
        label: label.to_owned(),
        unit: unit.to_owned(),
        lower: limits.lower,
        upper: limits.upper,
        guard: None,
        value: Some(value),
        expanded_uncertainty: None,
    })
}

/// Departures that somebody answers for.
pub(crate) fn deviations(view: &View<'_>, deviations: &[Noted<Deviation>]) -> Markup {
    html! {
        @for deviation in deviations {
            div.panel role="note" {
                p { (look::mark(Tone::Edge, "Deviation")) " " (deviation.value.what) }
                p { "Reason: " (deviation.value.reason) " (" (person(view, deviation.by.as_str())) ", " (moment(view, deviation.at)) ")" }
            }
        }
    }
}

/// The numbers that a result rests on and that nobody here has confirmed.
pub(crate) fn unsure(view: &View<'_>, result: &TestResult) -> Markup {
    let position = result.current().map_or(0, |version| version.position);
    let Some(in_use) = view.lab.methods.get(&result.method) else { return html! {} };
    let first = result.specimens.first().and_then(|code| view.lab.specimens.get(code));
    let grading = first.map(|specimen| specimen.grading.as_str());
    let unsure = stonewear_method::figures::unsure(in_use.at(position), grading);
    if unsure.is_empty() {
        return html! {};
    }
    html! {
        details.unsure {
            summary { (unsure.len()) " numbers of the method are not confirmed by the laboratory" }
            ul { @for figure in &unsure { li { (figure.label) ": " (figure.value) " " (figure.unit) ", " (figure.confidence.in_words()) } } }
            p { a href={ "/methods/" (in_use.id) } { "Compare them with your own copy" } }
        }
    }
}

/// A person, always shown the same way.
pub(crate) fn person(view: &View<'_>, code: &str) -> Markup {
    let name = view.lab.people.get(code).map_or(code, |person| person.name.as_str());
    look::person(code, name)
}

/// A day and time by the laboratory's clock.
pub(crate) fn moment(view: &View<'_>, at: Timestamp) -> Markup {
    html! { time datetime=(at.to_string()) { (view.lab.local(at).strftime("%Y-%m-%d %H:%M")) } }
}

/// A day by the laboratory's calendar.
pub(crate) fn day(view: &View<'_>, at: Timestamp) -> Markup {
    html! { time datetime=(at.to_string()) { (day_text(view, at)) } }
}

/// A day as text.
pub(crate) fn day_text(view: &View<'_>, at: Timestamp) -> String {
    view.lab.local(at).date().to_string()
}

/// A time of the day as text.
pub(crate) fn clock_time(view: &View<'_>, at: Timestamp) -> String {
    view.lab.local(at).strftime("%H:%M").to_string()
}

/// A text, or that there is none.
pub(crate) fn or_none(text: &str) -> &str {
    if text.is_empty() { "not recorded" } else { text }
}

/// A mass, or that there is none yet.
pub(crate) fn grams(mass: Option<Decimal>) -> String {
    mass.map_or_else(|| "–".to_owned(), |mass| format!("{} g", balance::shown(mass)))
}

/// The sieves to wash over, in words.
pub(crate) fn sieves(method: &Method) -> String {
    let all: Vec<String> =
        method.wash_sieves_mm.iter().map(|sieve| format!("{} mm", sieve.value)).collect();
    all.join(" above ")
}

/// A word with a capital letter.
pub(crate) fn capital(word: &str) -> String {
    let mut letters = word.chars();
    letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or_default()
}

/// A word with its article: `an oven`.
pub(crate) fn article(word: &str) -> String {
    let article = if word.starts_with(['a', 'e', 'i', 'o', 'u']) { "an" } else { "a" };
    format!("{article} {word}")
}

/// Two parts of a page, one beside the other where there is room.
pub(crate) fn beside(left: Markup, right: Markup) -> Markup {
    html! { div.beside { div.section { (left) } div.section { (right) } } }
}

/// Links to other places, each large enough for a glove.
pub(crate) fn ways(all: &[(&str, &str)]) -> Markup {
    html! { ul.ways { @for (words, href) in all { li { a href=(href) { (words) } } } } }
}

/// A link that is as large as a button, on its own line.
pub(crate) fn go(words: &str, href: &str) -> Markup {
    look::actions(&look::link_button(words.to_owned(), href))
}

/// Like [`go`], where it is what comes next: it has the focus, so that Enter goes on.
pub(crate) fn go_on(words: &str, href: &str) -> Markup {
    look::actions(&html! { a class="button second" href=(href) data-autofocus { (words) } })
}

/// The label of what has this code, to be printed and stuck on.
pub(crate) fn label_link(code: &str) -> Markup {
    go("Print its label", &format!("/labels.pdf?code={code}"))
}

/// What a caution of a procedure is about, for its sign: what it names first. The words carry the
/// caution; the sign only helps to find it.
pub(crate) fn hazard_of(text: &str) -> Hazard {
    const SIGNS: [(Hazard, &[&str]); 6] = [
        (Hazard::Mains, &["mains", "electric", "shock"]),
        (Hazard::Hot, &["hot", "burn", "oven"]),
        (Hazard::Dust, &["dust", "silica"]),
        (Hazard::Noise, &["noise", "hearing"]),
        (Hazard::Lifting, &["lift", "heavy", "kg"]),
        (Hazard::Turning, &["turn", "roller", "draw", "rotat"]),
    ];
    let text = text.to_lowercase();
    let first = |words: &[&str]| words.iter().filter_map(|word| text.find(word)).min();
    SIGNS
        .into_iter()
        .filter_map(|(hazard, words)| Some((first(words)?, hazard)))
        .min_by_key(|(at, _)| *at)
        .map_or(Hazard::Other, |(_, hazard)| hazard)
}

#[cfg(test)]
mod tests {
    use super::{Hazard, hazard_of};

    #[test]
    fn the_sign_of_a_caution_is_what_it_names_first() {
        for (text, hazard) in [
            ("Rollers draw in fingers. Wear hearing protection where it is loud.", Hazard::Turning),
            ("Mains voltage kills; keep hands away from what turns.", Hazard::Mains),
            ("A jar of 9 kg: power off while hands are between the rollers.", Hazard::Lifting),
            ("Doors crush fingers.", Hazard::Other),
        ] {
            assert_eq!(hazard_of(text), hazard, "{text}");
        }
    }
}
