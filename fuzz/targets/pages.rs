//! Markup of any kind, said in another language: signs are kept, and nothing takes for ever.
#![no_main]

use libfuzzer_sys::fuzz_target;
use stonewear_language::Language;

fuzz_target!(|data: (u8, &str)| {
    let (which, html) = data;
    let language = [Language::French, Language::Spanish, Language::German][usize::from(which % 3)];
    let Some(catalogue) = language.catalogue() else { return };
    let said = catalogue.page(html);
    // Elements are neither made nor lost: what is hostile in a text stays a text.
    let opens = |html: &str| html.matches("<script").count();
    assert_eq!(opens(&said), opens(html), "{html:?}");
    let _ = catalogue.text(html);
});
