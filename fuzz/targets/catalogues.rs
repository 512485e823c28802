//! Catalogues of messages in another language; one that is taken says texts and pages.
#![no_main]

use libfuzzer_sys::fuzz_target;
use stonewear_language::{Catalogue, Language};

fuzz_target!(|po: &str| {
    let Ok(catalogue) = Catalogue::read(Language::French, po) else { return };
    // A message without an end, or with too many, may be said all the same.
    let text = po.lines().last().unwrap_or_default();
    let _ = catalogue.text(text);
    let messages: Vec<String> = catalogue.messages().map(str::to_owned).collect();
    for message in messages.iter().take(8) {
        let _ = (catalogue.message(message), catalogue.text(message));
    }
    let _ = catalogue.page(text);
});
