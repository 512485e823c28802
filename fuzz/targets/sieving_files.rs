//! Sieve analyses from anybody's CSV, and all that is worked out from them.
#![no_main]

use libfuzzer_sys::fuzz_target;
use stonewear_sieving::{ClosingRule, SieveAnalysis, read};

fuzz_target!(|bytes: &[u8]| {
    let Ok(read) = read(bytes) else { return };
    let Ok(analysis) = SieveAnalysis::new(read.retained, read.pan_g, None, None) else { return };
    let _ = analysis.lines();
    let _ = analysis.closing(ClosingRule::default());
    let _ = analysis.finest_percent().to_decimals(3);
});
