//! The methods that come with the program, and finding one by what somebody typed.

use crate::model::Method;
use thiserror::Error;

/// A method file that comes with the program.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct BuiltIn {
    /// Name of the file: `astm-d6928.toml`.
    pub file_name: &'static str,
    /// Its whole text.
    pub text: &'static str,
}

macro_rules! built_in {
    ($($name:literal),* $(,)?) => {
        &[$(BuiltIn {
            file_name: $name,
            text: include_str!(concat!("../../../methods/", $name)),
        }),*]
    };
}

/// A test compares this list with the folder.
static BUILT_IN: &[BuiltIn] = built_in![
    "aashto-t327.toml",
    "aashto-t85.toml",
    "aashto-t96.toml",
    "astm-c127.toml",
    "astm-c131.toml",
    "astm-c535.toml",
    "astm-c88-magnesium.toml",
    "astm-c88-sodium.toml",
    "astm-d6928.toml",
    "astm-d7428.toml",
    "csa-a23.2-23a.toml",
    "csa-a23.2-29a.toml",
    "en-1097-1-ballast.toml",
    "en-1097-1.toml",
    "en-1097-2.toml",
    "en-1097-6.toml",
    "ls-603.toml",
    "ls-618.toml",
    "ls-619.toml",
    "minnesota-1216.toml",
    "tex-461-a.toml",
];

/// The method files that come with the program, by name.
pub fn built_in() -> impl Iterator<Item = &'static BuiltIn> {
    BUILT_IN.iter()
}

/// The methods that come with the program, by name.
///
/// A file with a fault would be left out; a test proves that none has any.
pub fn built_in_methods() -> Vec<Method> {
    built_in().filter_map(|file| crate::read::read(file.file_name, file.text).ok()).collect()
}

/// One of the methods that come with the program, as [`find`] finds it, reading no more files than
/// can hold it: for commands that are over in a few milliseconds.
///
/// # Errors
/// As [`find`].
pub fn built_in_method(typed: &str) -> Result<Method, UnknownMethod> {
    let wanted = typed.trim().to_lowercase();
    let id = wanted.split('@').next().unwrap_or_default();
    // A file is called by the name of its method; a test holds that.
    let candidates: Vec<Method> = built_in()
        .filter(|file| file.file_name.starts_with(id))
        .filter_map(|file| crate::read::read(file.file_name, file.text).ok())
        .collect();
    match find(&candidates, typed) {
        Ok(method) => Ok(method.clone()),
        Err(_) => find(&built_in_methods(), typed).cloned(),
    }
}

/// No method answers to what was typed.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("there is no method “{typed}”; {}", near_words(.near))]
pub struct UnknownMethod {
    /// What was typed.
    pub typed: String,
    /// Identities that resemble it, nearest first; empty where nothing is known at all.
    pub near: Vec<String>,
}

fn near_words(near: &[String]) -> String {
    if near.is_empty() {
        "no method is known here".to_owned()
    } else {
        format!("near to it: {}", near.join(", "))
    }
}

/// The method that answers to `typed`: an edition by its whole identity, `astm-d6928@2010`, or
/// the newest edition by its name, `astm-d6928`, or as its publisher writes it, `ASTM D6928-10`.
/// Large letters and spaces around are forgiven.
///
/// # Errors
/// When none answers; the error names those that resemble it.
pub fn find<'m>(methods: &'m [Method], typed: &str) -> Result<&'m Method, UnknownMethod> {
    let wanted = typed.trim().to_lowercase();
    methods
        .iter()
        .filter(|method| method.answers_to(&wanted))
        .max_by_key(|method| edition_order(&method.edition))
        .ok_or_else(|| {
            let known: Vec<String> =
                methods.iter().map(|method| method.key().to_string()).collect();
            let near = nearest(&wanted, known.iter().map(String::as_str));
            UnknownMethod { typed: typed.trim().to_owned(), near }
        })
}

/// A year comes after what is no year, so that `undated` is never the newest edition.
fn edition_order(edition: &str) -> (bool, &str) {
    (edition.starts_with(|c: char| c.is_ascii_digit()), edition)
}

/// The few names that resemble `typed` most, nearest first.
pub(crate) fn nearest<'n>(typed: &str, names: impl Iterator<Item = &'n str>) -> Vec<String> {
    const SHOWN: usize = 4;
    let mut ranked: Vec<(f64, &str)> =
        names.map(|name| (strsim::jaro_winkler(typed, name), name)).collect();
    ranked.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(b.1)));
    ranked.into_iter().take(SHOWN).map(|(_, name)| name.to_owned()).collect()
}

#[cfg(test)]
mod tests;
