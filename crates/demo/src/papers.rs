//! The letterhead of the demo laboratory.

use crate::story::{DemoError, Story};
use stonewear_lab::request::SetLetterhead;

/// A jar seen from its end with the stones in it: drawn for this laboratory.
const LOGO: &str = r##"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 60 60"><circle cx="30" cy="30" r="27" fill="none" stroke="#22292c" stroke-width="5"/><path d="M12 38l10-8l9 7l8-10l11 12a24 24 0 0 1-38-1Z" fill="#1d6a66"/></svg>"##;

impl Story<'_> {
    /// Sets the letterhead.
    pub(crate) fn letterhead(&mut self, by: &str) -> Result<(), DemoError> {
        let request = SetLetterhead {
            address: "3 Weighbridge Lane\nTarnbeck".to_owned(),
            contact: "lab@tarnbeck.example".to_owned(),
            place_of_work: "wet room, bays 1 to 3".to_owned(),
            accreditation: "Invented: no body has accredited this laboratory".to_owned(),
            logo_name: "jar.svg".to_owned(),
            ..SetLetterhead::default()
        };
        self.ask(by, request.with_logo(LOGO.as_bytes())).map(drop)
    }
}
