//! Parts of a list as links: an address is a view, so it can be kept, sent, and gone back to.

use crate::look;
use crate::page::View;
use maud::{Markup, html};

/// One way to part a list: by state, by kind.
pub(crate) struct Part<'a> {
    /// Its name in the address.
    pub(crate) name: &'static str,
    /// The words for no part, like `Every state`.
    pub(crate) every: &'static str,
    /// What stands in the address, its words, and how many there are.
    pub(crate) options: Vec<(&'a str, String, usize)>,
}

/// The address of this list with one value of its query replaced; others stay.
fn address(view: &View<'_>, name: &str, value: Option<&str>) -> String {
    let mut query = form_urlencoded::Serializer::new(String::new());
    for (key, old) in others(view, name) {
        query.append_pair(&key, &old);
    }
    if let Some(value) = value {
        query.append_pair(name, value);
    }
    match query.finish() {
        query if query.is_empty() => view.path.to_owned(),
        query => format!("{}?{query}", view.path),
    }
}

/// What only the last sending said, and which leaf of the list was looked at.
const FOR_ONCE: [&str; 2] = ["kept", LEAF];

/// What the address asks for beside this, and what goes on to hold.
fn others(view: &View<'_>, name: &str) -> Vec<(String, String)> {
    form_urlencoded::parse(view.query.as_bytes())
        .filter(|(key, value)| key != name && !FOR_ONCE.contains(&&**key) && !value.is_empty())
        .map(|(key, value)| (key.into_owned(), value.into_owned()))
        .collect()
}

/// The links to the parts of a list, and a field that narrows it down by words.
pub(crate) fn filters(view: &View<'_>, words: &str, parts: &[Part<'_>]) -> Markup {
    let typed = view.asked("words").unwrap_or_default();
    html! {
        nav.filters aria-label="Part of the list" {
            @for part in parts {
                @let chosen = view.asked(part.name).filter(|chosen| !chosen.is_empty());
                ul.tasks.inline {
                    li { a.task href=(address(view, part.name, None)) aria-current=[chosen.is_none().then_some("true")] { (part.every) } }
                    @for (value, words, count) in &part.options {
                        @let is_chosen = chosen.as_deref() == Some(*value);
                        @if *count > 0 || is_chosen {
                            li { a.task href=(address(view, part.name, Some(value))) aria-current=[is_chosen.then_some("true")] { (words) ": " (count) } }
                        }
                    }
                }
            }
            form.choose method="get" action=(view.path) {
                @for (name, value) in others(view, "words") { input type="hidden" name=(name) value=(value); }
                (look::Field::new("words", words.to_owned()).scope("filter").value(typed.clone()).optional())
                (look::actions(&html! {
                    (look::button("Narrow down"))
                    @if !typed.is_empty() { (look::link_button("All of them", &address(view, "words", None))) }
                }))
            }
        }
    }
}

const LEAF: &str = "leaf";
/// Rows of a long list that are shown at once: more would be slow to load on a tablet, and nobody
/// reads them.
const AT_ONCE: usize = 100;

/// The rows of a long list that its address asks for, and the links to those before and after.
pub(crate) fn leaf<'r, T>(view: &View<'_>, rows: &'r [T]) -> (&'r [T], Markup) {
    let last = rows.len().div_ceil(AT_ONCE).max(1);
    let asked = view.asked(LEAF).and_then(|leaf| leaf.parse::<usize>().ok());
    let leaf = asked.unwrap_or(1).clamp(1, last);
    let from = (leaf - 1) * AT_ONCE;
    let shown = &rows[from..rows.len().min(from + AT_ONCE)];
    let to = |leaf: usize| address(view, LEAF, (leaf > 1).then(|| leaf.to_string()).as_deref());
    let links = html! {
        @if last > 1 {
            nav.leaves aria-label="Further rows" {
                p { "Rows " (from + 1) " to " (from + shown.len()) " of " (rows.len()) }
                @if leaf > 1 { (look::link_button("Newer", &to(leaf - 1))) }
                @if leaf < last { (look::link_button("Older", &to(leaf + 1))) }
            }
        }
    };
    (shown, links)
}

/// Whether a row is asked for: by the words that were typed, each anywhere in its texts.
pub(crate) fn has_words(view: &View<'_>, texts: &[&str]) -> bool {
    let typed = view.asked("words").unwrap_or_default().to_lowercase();
    let text = texts.join(" ").to_lowercase();
    typed.split_whitespace().all(|word| text.contains(word))
}

/// Whether a row is of the part that is asked for.
pub(crate) fn is_of(view: &View<'_>, name: &str, value: &str) -> bool {
    view.asked(name).is_none_or(|asked| asked.is_empty() || asked == value)
}

/// Said where a part of a list holds nothing.
pub(crate) fn nothing_of_it(view: &View<'_>) -> Markup {
    html! { p { "Nothing here is of this part. " a href=(view.path) { "Show the whole list" } "." } }
}
