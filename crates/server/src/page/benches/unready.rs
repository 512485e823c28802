//! What is not ready and why: one line a lack, with the link that mends it.

use crate::look::{self, Tone};
use crate::page::View;
use maud::{Markup, html};
use stonewear_lab::ready::{About, Lack, Readiness};
use stonewear_lab::state::Item;
use stonewear_procedure::ItemKind;

/// The same lack, for every method of a machine that it keeps from being run.
struct Line<'a> {
    machine: &'a Item,
    lack: &'a Lack,
    why: Vec<&'a str>,
    methods: Vec<String>,
}

/// Every machine that cannot run a method, then what wants doing before it becomes a lack.
pub(super) fn section(view: &View<'_>, machines: &[(&Item, Vec<Readiness>)]) -> Markup {
    let lacks = lines(view, machines, |one| &one.lacks);
    let soon = lines(view, machines, |one| &one.warnings);
    if lacks.is_empty() && soon.is_empty() {
        return html! {};
    }
    html! {
        section.section id="not-ready" {
            h2 { "Not ready, and why" }
            @if lacks.is_empty() { p { (look::mark(Tone::Good, "every machine is ready for every method in use")) } }
            @else { ul.lacks { @for line in &lacks { li { (said(line)) } } } }
            @if !soon.is_empty() {
                details {
                    summary { "Wants doing before long: " (soon.len()) }
                    ul.lacks { @for line in &soon { li { (said(line)) } } }
                }
            }
        }
    }
}

fn lines<'a>(
    view: &View<'_>,
    machines: &'a [(&'a Item, Vec<Readiness>)],
    of: impl Fn(&'a Readiness) -> &'a Vec<Lack>,
) -> Vec<Line<'a>> {
    let mut lines: Vec<Line<'a>> = Vec::new();
    for (machine, all) in machines {
        for one in all {
            let name = view.lab.methods.get(&one.method);
            let name = name.map_or("", |in_use| in_use.method.designation.as_str());
            for lack in of(one) {
                let same = lines.iter_mut().find(|line| {
                    line.machine.code == machine.code && line.lack.about == lack.about
                });
                let line = match same {
                    Some(line) => line,
                    None => {
                        let (why, methods) = (Vec::new(), Vec::new());
                        lines.push(Line { machine, lack, why, methods });
                        let Some(last) = lines.last_mut() else { continue };
                        last
                    }
                };
                if !line.why.contains(&lack.why.as_str()) {
                    line.why.push(&lack.why);
                }
                if !line.methods.iter().any(|method| method == name) {
                    line.methods.push(name.to_owned());
                }
            }
        }
    }
    lines
}

fn said(line: &Line<'_>) -> Markup {
    let is_itself = line.lack.what == line.machine.code.as_str();
    html! {
        span {
            b { (line.machine.code) }
            span.quiet { " for " (stonewear_lab::words::listed(line.methods.iter().map(String::as_str))) ": " }
            @if !is_itself && line.lack.about != About::People { (line.lack.what) ": " }
            (in_short(&line.why))
        }
        a.button.second href=(mended_at(line)) { (mend(line)) }
    }
}

/// Reasons that begin alike are one sentence: `nobody is authorised to run specimens, release`.
fn in_short(why: &[&str]) -> String {
    const NOBODY: &str = "nobody is authorised to ";
    let acts: Option<Vec<&str>> = why.iter().map(|one| one.strip_prefix(NOBODY)).collect();
    match acts {
        Some(acts) if acts.len() > 1 => {
            format!(
                "{NOBODY}{} or to {}",
                acts[..acts.len() - 1].join(", to "),
                acts[acts.len() - 1]
            )
        }
        _ => why.join("; "),
    }
}

fn mended_at(line: &Line<'_>) -> String {
    match &line.lack.about {
        About::Item(item) => format!("/equipment/{item}"),
        About::Kind(kind) => format!("/equipment/new?kind={}", kind.as_str()),
        About::People => "/people".to_owned(),
        About::Lot(lot) => format!("/control/{lot}"),
    }
}

/// The button: short, and it names what it leads to.
fn mend(line: &Line<'_>) -> String {
    match &line.lack.about {
        About::Item(item) => format!("See to {item}"),
        About::Kind(ItemKind::Apparatus) => "Register one".to_owned(),
        About::Kind(kind) => format!("Register one: {}", kind.in_words()),
        About::People => "See to the people".to_owned(),
        About::Lot(lot) => format!("Run lot {lot}"),
    }
}

#[cfg(test)]
mod tests {
    use super::in_short;

    #[test]
    fn reasons_that_begin_alike_are_one_sentence() {
        for (why, said) in [
            (&["it is held"][..], "it is held"),
            (&["nobody is authorised to run specimens"], "nobody is authorised to run specimens"),
            (
                &[
                    "nobody is authorised to a",
                    "nobody is authorised to b",
                    "nobody is authorised to c",
                ],
                "nobody is authorised to a, to b or to c",
            ),
            (
                &["nobody may test", "nobody is authorised to a"],
                "nobody may test; nobody is authorised to a",
            ),
        ] {
            assert_eq!(in_short(why), said);
        }
    }
}
