//! What people type to come in: pass phrases, codes, scopes of tokens.
#![no_main]

use libfuzzer_sys::fuzz_target;
use stonewear_access::{Code, Phrase, Scope};

fuzz_target!(|typed: &str| {
    let phrase = Phrase::read(typed);
    let _ = phrase.judge(&["Ada Brook", "Invented laboratory"]);
    assert!(!Code::is(&[0; 32], typed), "nobody holds the code of nothing");
    let _ = typed.parse::<Scope>();
});
