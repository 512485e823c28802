//! Every file in the folder is built in, and every one can be read.

use super::*;
use crate::figure::Confidence;
use crate::figures::figures;
use std::collections::BTreeSet;
use std::path::Path;

#[test]
fn every_built_in_file_can_be_read_and_is_called_as_its_method() {
    for file in built_in() {
        let method =
            crate::read::read(file.file_name, file.text).unwrap_or_else(|error| panic!("{error}"));
        assert_eq!(file.file_name, format!("{}.toml", method.id));
    }
    assert_eq!(built_in_methods().len(), built_in().count());
}

#[test]
fn every_file_of_the_folder_is_built_in() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../methods");
    let on_disk: BTreeSet<String> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .filter(|name| name.ends_with(".toml"))
        .collect();
    let compiled: BTreeSet<String> = built_in().map(|file| file.file_name.to_owned()).collect();
    assert_eq!(on_disk, compiled);
}

#[test]
fn built_in_figures_have_honest_marks() {
    for method in built_in_methods() {
        let mut used = BTreeSet::new();
        for figure in figures(&method) {
            let at = format!("{}: {}", method.key(), figure.path);
            assert_ne!(
                figure.confidence,
                Confidence::Confirmed,
                "{at}: a laboratory confirms, not we"
            );
            let without = figure.source.is_empty();
            assert!(
                figure.confidence != Confidence::Memory || without,
                "{at}: memory has no source"
            );
            used.extend(figure.source.split(", ").map(str::to_owned));
            used.extend(figure.note.iter().flat_map(|note| keys_in(note, &method)));
        }
        for note in &method.notes {
            used.extend(keys_in(note, &method));
        }
        for key in method.sources.keys() {
            assert!(used.contains(key), "{}: nothing rests on the source {key}", method.key());
        }
    }
}

fn keys_in<'m>(note: &'m str, method: &'m Method) -> impl Iterator<Item = String> + 'm {
    method.sources.keys().filter(move |key| note.contains(&**key)).cloned()
}

#[test]
fn a_method_is_found_by_name_and_by_edition() {
    let mut methods = built_in_methods();
    let mut older = find(&methods, "astm-d6928").unwrap().clone();
    older.edition = "2003".to_owned();
    let mut undated = older.clone();
    undated.edition = "undated".to_owned();
    methods.extend([older, undated]);
    for (typed, key) in [
        ("astm-d6928", "astm-d6928@2010"),
        ("astm-d6928@2010", "astm-d6928@2010"),
        ("astm-d6928@2003", "astm-d6928@2003"),
        ("astm-d6928@undated", "astm-d6928@undated"),
        (" ASTM-D6928 ", "astm-d6928@2010"),
        ("en-1097-1", "en-1097-1@2011"),
        ("en-1097-1-ballast", "en-1097-1-ballast@2024"),
    ] {
        assert_eq!(find(&methods, typed).unwrap().key().as_str(), key, "{typed}");
    }
}

#[test]
fn one_method_alone_is_found_like_among_all() {
    let methods = built_in_methods();
    for typed in ["en-1097-1", "en-1097-1-ballast@2024", " LS-618", "ls", "", "astm-d6928@1999"] {
        assert_eq!(built_in_method(typed), find(&methods, typed).cloned(), "{typed}");
    }
}

#[test]
fn an_unknown_method_is_answered_with_near_names() {
    let methods = built_in_methods();
    let said = |typed: &str| find(&methods, typed).unwrap_err().to_string();
    insta::assert_snapshot!(said("astm-d6982"), @"there is no method “astm-d6982”; near to it: astm-d6928@2010, astm-d7428@2015, aashto-t96@2002, aashto-t85@2014");
    insta::assert_snapshot!(said("astm-d6928@1999"), @"there is no method “astm-d6928@1999”; near to it: astm-d6928@2010, astm-d7428@2015, ls-619@1991, astm-c127@undated");
    insta::assert_snapshot!(said("en1097"), @"there is no method “en1097”; near to it: en-1097-1@2011, en-1097-2@undated, en-1097-6@undated, en-1097-1-ballast@2024");
    insta::assert_snapshot!(find(&[], "ls-618").unwrap_err(), @"there is no method “ls-618”; no method is known here");
}
