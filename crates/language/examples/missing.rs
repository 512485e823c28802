//! Lists what no message of a language says in some pages: `missing fr PAGE.html …`.

use std::collections::BTreeMap;
use stonewear_language::Language;

fn main() {
    let mut arguments = std::env::args().skip(1);
    let language = arguments.next().as_deref().and_then(Language::of_tag);
    let catalogue =
        language.and_then(Language::catalogue).expect("the tag of a language: fr, es, de");
    let mut all: BTreeMap<String, (usize, String)> = BTreeMap::new();
    for path in arguments {
        let page = std::fs::read_to_string(&path).expect("a page");
        for missing in catalogue.missing(&page) {
            all.entry(missing).or_insert_with(|| (0, path.clone())).0 += 1;
        }
    }
    for (text, (often, path)) in all {
        println!("{often}\t{path}\t{}", text.replace('\n', " "));
    }
}
