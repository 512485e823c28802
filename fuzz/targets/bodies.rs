//! Bodies of requests as programs send them: for each request, JSON of any shape.
#![no_main]

use libfuzzer_sys::fuzz_target;

fuzz_target!(|data: (u8, &[u8])| {
    stonewear_server::fuzzing::body(usize::from(data.0), data.1);
});
