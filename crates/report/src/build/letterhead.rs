//! The letterhead of the laboratory as its papers print it.

use super::instant;
use crate::{JournalAnchor, Laboratory, Logo, PaperSize, Sheet, TestReport};
use jiff::Timestamp;
use stonewear_lab::Lab;
use stonewear_lab::fact::{PaperLanguage, SheetSize};

/// Who speaks on a paper: the letterhead, and what it leaves out from the founding.
pub(crate) fn laboratory(lab: &Lab) -> Laboratory {
    let Some(identity) = &lab.identity else { return Laboratory::default() };
    let set = lab.letterhead().cloned().unwrap_or_default();
    let founding = || identity.address.lines().map(str::to_owned).collect();
    Laboratory {
        name: identity.name.clone(),
        address: if set.address.is_empty() { founding() } else { set.address },
        place_of_work: Some(set.place_of_work).filter(|place| !place.is_empty()),
        contact: set.contact,
        accreditation: set.accreditation,
        limits: set.limits,
        logo: set.logo.map(|logo| Logo { media_type: logo.media_type, base64: logo.base64 }),
    }
}

/// A report of invented facts under the laboratory's letterhead, to see how its papers look.
pub fn letterhead_preview(lab: &Lab) -> TestReport {
    TestReport {
        laboratory: laboratory(lab),
        language: language(lab),
        paper: paper_size(lab),
        number: "PREVIEW".to_owned(),
        authorised: None,
        invented: true,
        ..TestReport::example()
    }
}

/// What the laboratory prints on.
pub(crate) fn paper_size(lab: &Lab) -> PaperSize {
    match lab.letterhead().map(|head| head.sheet).unwrap_or_default() {
        SheetSize::A4 => PaperSize::A4,
        SheetSize::Letter => PaperSize::Letter,
    }
}

/// The language of the laboratory's papers, as a tag (BCP 47).
pub(crate) fn language(lab: &Lab) -> String {
    lab.letterhead().map(|head| head.language).unwrap_or_default().tag().to_owned()
}

impl TestReport {
    /// The report in another language than that of the letterhead, where one is asked for. It comes
    /// before the mark: in another language it is another paper.
    #[must_use]
    pub fn in_language(self, asked: Option<PaperLanguage>) -> Self {
        let language = asked.map_or(self.language, |asked| asked.tag().to_owned());
        Self { language, ..self }
    }
}

impl Sheet {
    /// The sheet in another language than that of the letterhead, where one is asked for. It comes
    /// before the mark: in another language it is another paper.
    #[must_use]
    pub fn in_language(self, asked: Option<PaperLanguage>) -> Self {
        let language = asked.map_or(self.language, |asked| asked.tag().to_owned());
        Self { language, ..self }
    }
}

/// An empty sheet of the laboratory: its letterhead, when it was made, and where the journal stood.
pub(crate) fn sheet_of(
    lab: &Lab,
    kind: impl Into<String>,
    title: impl Into<String>,
    journal: Option<JournalAnchor>,
    at: Timestamp,
) -> Sheet {
    Sheet {
        laboratory: laboratory(lab),
        invented: lab.identity.as_ref().is_some_and(|identity| identity.invented),
        language: language(lab),
        paper: paper_size(lab),
        made_at: instant(Some(at)),
        journal,
        ..Sheet::new(kind, title)
    }
}
