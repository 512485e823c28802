//! Markup of any kind, said in another language: signs are kept, and nothing takes for ever.
#![no_main]

use libfuzzer_sys::fuzz_target;
use stonewear_language::Language;

const LANGUAGES: [Language; 3] = [Language::French, Language::Spanish, Language::German];

// Catalogues are read once, before anything is timed.
fuzz_target!(init: LANGUAGES.iter().for_each(|one| assert!(one.catalogue().is_some())), |data: (u8, &str)| {
    let (which, html) = data;
    let language = LANGUAGES[usize::from(which % 3)];
    let Some(catalogue) = language.catalogue() else { return };
    let said = catalogue.page(html);
    // Elements are neither made nor lost: what is hostile in a text stays a text.
    let opens = |html: &str| html.matches("<script").count();
    assert_eq!(opens(&said), opens(html), "{html:?}");
    let _ = catalogue.text(html);
});
