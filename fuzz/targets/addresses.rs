//! Addresses of webhooks and of the page itself: what is let through is reached by HTTP alone.
#![no_main]

use libfuzzer_sys::fuzz_target;
use stonewear_server::Reach;
use stonewear_server::hooks::check_address;

fuzz_target!(|url: &str| {
    let strict = check_address(url, false).is_ok();
    let open = check_address(url, true).is_ok();
    // What is refused where everything is allowed is refused everywhere.
    assert!(!strict || open, "{url:?}");
    let _ = Reach::through_proxy(url);
});
