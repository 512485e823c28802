//! The guide to method files, `docs/methods.md`, holds a table of all methods: kept true here.

use std::path::Path;
use stonewear_method::figures::{figures, unsure};
use stonewear_method::library::built_in_methods;
use stonewear_method::{Confidence, Method};

const BEGIN: &str = "<!-- table of methods: begin -->\n";
const END: &str = "<!-- table of methods: end -->";

#[test]
fn the_table_of_methods_is_up_to_date() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs/methods.md");
    let guide = std::fs::read_to_string(path).unwrap();
    let written = guide.split_once(BEGIN).unwrap().1.split_once(END).unwrap().0;
    let table = table();
    assert_eq!(written.trim(), table.trim(), "docs/methods.md should hold this table:\n{table}");
}

fn table() -> String {
    let mut table =
        "| method | document | gradings | figures | seen | unsure: memory | practice | derived |\n\
                     | --- | --- | --- | --: | --: | --: | --: | --: |\n"
            .to_owned();
    for method in built_in_methods() {
        table.push_str(&row(&method));
    }
    table
}

fn row(method: &Method) -> String {
    let all = figures(method);
    let of = |confidence| all.iter().filter(|figure| figure.confidence == confidence).count();
    let gradings: Vec<&str> = method.gradings.iter().map(|grading| &*grading.name).collect();
    assert_eq!(of(Confidence::Seen) + unsure(method, None).len(), all.len());
    format!(
        "| `{}` | {} | {} | {} | {} | {} | {} | {} |\n",
        method.key(),
        method.designation,
        gradings.join(", "),
        all.len(),
        of(Confidence::Seen),
        of(Confidence::Memory),
        of(Confidence::Practice),
        of(Confidence::Derived),
    )
}

/// The example in the guide is a method file that can be read.
#[test]
fn the_example_can_be_read() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs/methods.md");
    let guide = std::fs::read_to_string(path).unwrap();
    let example = guide.split_once("```toml\n").unwrap().1.split_once("```").unwrap().0;
    let method =
        stonewear_method::read("example.toml", example).unwrap_or_else(|error| panic!("{error}"));
    assert_eq!(method.key().as_str(), "hill-lab-coarse@2026");
}
