//! Requests about papers: what leaves the laboratory, and under which letterhead.

use super::Request;
use crate::fact::LetterheadSet;
use base64::Engine;
use base64::engine::general_purpose::STANDARD;

forms! {
    /// Issue a paper: from then on it is what the laboratory said. Its file is kept by its hash,
    /// beside the request.
    IssuePaper {
        /// What it is: `test-report`, `project-report`.
        paper: String,
        /// What it is about: the code of a result, the name of a project.
        of: String,
        /// Its number.
        number: String,
        /// SHA-256 of what it says, 64 hexadecimal digits in lower case.
        fingerprint: String,
        /// The place in the journal up to which it was made.
        made_at: String,
        /// SHA-256 of its file, 64 hexadecimal digits in lower case.
        sha256: String,
        /// How large the file is, in bytes.
        bytes: String,
        /// Why it replaces an earlier one about the same, if it does.
        reason: String,
        /// In which language it is: `en`, `fr`, `es`, `de`; empty for `en`.
        language: String,
    }
    /// Set the letterhead of the laboratory's papers, whole: what is empty is left out.
    SetLetterhead {
        /// Lines of the address; empty for the address of the founding.
        address: String,
        /// How the laboratory is reached, a line each.
        contact: String,
        /// Where the work is done, when that is not the address.
        place_of_work: String,
        /// What the laboratory says of its accreditation.
        accreditation: String,
        /// The limits of what a paper claims; empty for the usual sentence.
        limits: String,
        /// What papers are printed on: `a4` or `letter`; empty for `a4`.
        sheet: String,
        /// The language of the papers: `en`, `fr`, `es`, `de`; empty for `en`.
        language: String,
        /// The address of the laboratory's page, for the square codes.
        page: String,
        /// `keep` for the logo that is there, `none` for none, or a new one as its file's bytes
        /// in Base64; empty to keep.
        logo: String,
        /// What the file of a new logo is called.
        logo_name: String,
    }
}

impl SetLetterhead {
    /// A request that changes nothing of a letterhead.
    pub fn keeping(set: &LetterheadSet) -> Self {
        Self {
            address: set.address.join("\n"),
            contact: set.contact.join("\n"),
            place_of_work: set.place_of_work.clone(),
            accreditation: set.accreditation.clone(),
            limits: set.limits.clone(),
            sheet: set.sheet.name().to_owned(),
            language: set.language.tag().to_owned(),
            page: set.page.clone(),
            logo: "keep".to_owned(),
            logo_name: String::new(),
        }
    }

    /// With the bytes of the file of a new logo.
    #[must_use]
    pub fn with_logo(self, bytes: &[u8]) -> Self {
        Self { logo: STANDARD.encode(bytes), ..self }
    }
}
