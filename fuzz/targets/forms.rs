//! Bodies of forms as a browser, or somebody else, sends them.
#![no_main]

use libfuzzer_sys::fuzz_target;

fuzz_target!(|body: &[u8]| {
    stonewear_server::fuzzing::form(body);
});
