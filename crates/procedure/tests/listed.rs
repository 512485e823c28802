//! The list of procedures in the documentation is the list of procedures that there are.

use std::fmt::Write;
use stonewear_procedure::{Apparatus, Confidence, Procedure, built_in_procedures, function_check};

const PAGE: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../../docs/procedures.md");
const BEGINS: &str = "<!-- list begins -->\n";
const ENDS: &str = "<!-- list ends -->";

fn row(procedure: &Procedure, steps: &str) -> String {
    let needed = match (&procedure.stands_for, procedure.needed_for_service) {
        (Some(other), _) => format!("stands for `{other}`"),
        (None, true) => "yes".to_owned(),
        (None, false) => "no".to_owned(),
    };
    let interval = procedure.interval_months.as_ref().map_or("not set".to_owned(), |interval| {
        let word = Confidence::WORDS.iter().find(|(_, value)| *value == interval.confidence);
        let word = word.map_or("", |(word, _)| word);
        format!("{} months ({}, {word})", interval.value, interval.source)
    });
    format!(
        "| `{}` | {} | {} | {} | {needed} | {interval} | {steps} |",
        procedure.id,
        procedure.title,
        procedure.proves_kind.in_words(),
        procedure.proves.join(", "),
    )
}

fn list() -> String {
    let mut list = String::from(
        "\n| id | title | for | proves | needed for service | due again after | steps |\n| --- | --- | --- | --- | --- | --- | --- |\n",
    );
    let generated = function_check(&Apparatus::default());
    writeln!(list, "{}", row(&generated, "generated")).expect("a text takes every line");
    for procedure in built_in_procedures() {
        writeln!(list, "{}", row(&procedure, &procedure.steps.len().to_string()))
            .expect("a text takes every line");
    }
    list.push('\n');
    list
}

#[test]
fn the_list_in_the_documentation_is_not_stale() {
    let page = std::fs::read_to_string(PAGE).unwrap();
    let (head, rest) = page.split_once(BEGINS).expect("the page has a place for the list");
    let (written, tail) = rest.split_once(ENDS).expect("the list has an end");
    let list = list();
    if written != list && std::env::var_os("UPDATE_DOCS").is_some() {
        std::fs::write(PAGE, format!("{head}{BEGINS}{list}{ENDS}{tail}")).unwrap();
        return;
    }
    assert_eq!(written, list, "run this test with UPDATE_DOCS=1 to write the list again");
}

#[test]
fn the_description_in_the_documentation_can_be_read() {
    let page = std::fs::read_to_string(PAGE).unwrap();
    let mut examples = page.split("```toml\n").skip(1);
    let example = examples.next().and_then(|text| text.split("```").next()).unwrap();
    let described = stonewear_procedure::read_apparatus("docs", example).unwrap();
    // Only what the example leaves away on purpose.
    assert_eq!(described.defaults_used, ["door “lower”: latch = false"]);
    let example = examples.next().and_then(|text| text.split("```").next()).unwrap();
    let procedures = stonewear_procedure::read_procedures("docs", example).unwrap();
    assert_eq!(procedures[0].id, "stopwatch-check");
}
