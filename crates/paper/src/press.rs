//! The press: from data and a template to a file.

use crate::world::Shop;
use crate::{fonts, head, instant, labels, printable, sheet, spoken, test_report};
use serde_json::Value;
use std::sync::atomic::{AtomicUsize, Ordering};
use stonewear_report::{Labels, Logo, Sheet, TestReport, TypesetError, Typesetter};
use typst::World;
use typst::diag::SourceDiagnostic;
use typst::foundations::{Datetime, Smart};
use typst_layout::PagedDocument;
use typst_pdf::{PdfOptions, PdfStandard, PdfStandards, Timestamp};

/// Archival with all its structure, and accessible: the strictest pair the library can write.
const STANDARDS: [PdfStandard; 2] = [PdfStandard::A_2a, PdfStandard::Ua_1];

/// After so many papers the typesetter's memory lets go of what was not used since the last time.
/// What all papers share (templates, shaped words) is used each time and so stays; the rest must
/// go, or memory grows with every report. Looking through it takes a few milliseconds, so not after
/// each.
const KEPT_FOR: usize = 6;

/// Makes papers. Make one and share it: setting it up opens fonts and reads templates.
pub struct Press {
    shop: Shop,
    /// What the templates say themselves, in English.
    texts: Vec<String>,
    standards: PdfStandards,
    /// Papers that were made so far.
    made: AtomicUsize,
}

impl Press {
    /// Sets up a press.
    ///
    /// # Errors
    /// When something built into the program is damaged.
    pub fn new() -> Result<Self, TypesetError> {
        let standards = PdfStandards::new(&STANDARDS)
            .map_err(|error| TypesetError::Incomplete(error.message().to_string()))?;
        let shop = Shop::new(fonts::built_in()?)?;
        Ok(Self { shop, texts: spoken::of_templates(), standards, made: AtomicUsize::new(0) })
    }

    /// Lays out the template with the data and writes it; `identity` tells this paper from all
    /// others and ends, hashed, in the file.
    fn print(
        &self,
        template: &str,
        mut data: Value,
        logo: Option<&Logo>,
        (identity, issued): (String, Datetime),
    ) -> Result<Vec<u8>, TypesetError> {
        let logo = head::logo(logo)?;
        spoken::say_in_its_language(&mut data, &self.texts);
        printable::make_printable(&mut data, &|character| {
            fonts::all_draw(self.shop.fonts(), character)
        });
        if let Value::Object(fields) = &mut data {
            fields.insert("logo".to_owned(), head::format(logo.as_ref()));
        }
        let data = data.to_string().into_bytes();
        let bench = self.shop.with(template, data, logo.map(|picture| picture.bytes))?;
        let laid_out = typst::compile::<PagedDocument>(&bench).output;
        let written = laid_out
            .map_err(|errors| TypesetError::Layout(in_words(&bench, &errors)))
            .and_then(|document| {
                let options = PdfOptions {
                    ident: Smart::Custom(identity),
                    creator: Smart::Custom(Some("Stonewear".into())),
                    timestamp: Some(Timestamp::new_utc(issued)),
                    standards: self.standards.clone(),
                    ..PdfOptions::default()
                };
                typst_pdf::pdf(&document, &options)
                    .map_err(|errors| TypesetError::Write(in_words(&bench, &errors)))
            });
        // After a failure too, or failed papers would be kept for ever.
        if self.made.fetch_add(1, Ordering::Relaxed).is_multiple_of(KEPT_FOR) {
            comemo::evict(1);
        }
        written
    }
}

impl Typesetter for Press {
    fn test_report(&self, report: &TestReport) -> Result<Vec<u8>, TypesetError> {
        let issued = instant::read("instant of issue", &report.issued_at)?;
        let mark = report.mark.as_ref().map_or("", |mark| &mark.fingerprint);
        let identity = format!("test report {} {mark}", report.number);
        let logo = report.laboratory.logo.as_ref();
        self.print(test_report::TEMPLATE, test_report::data(report)?, logo, (identity, issued))
    }

    fn labels(&self, sheet: &Labels) -> Result<Vec<u8>, TypesetError> {
        let made = instant::read("instant of making", &sheet.made_at)?;
        let codes: Vec<&str> = sheet.labels.iter().map(|label| label.scanned.as_str()).collect();
        let identity = format!("labels {} {}", sheet.made_at, codes.join(" "));
        self.print(labels::TEMPLATE, labels::data(sheet)?, None, (identity, made))
    }

    fn sheet(&self, sheet: &Sheet) -> Result<Vec<u8>, TypesetError> {
        let made = instant::read("instant of making", &sheet.made_at)?;
        let identity = format!("sheet {} {} {}", sheet.kind, sheet.title, sheet.made_at);
        let logo = sheet.laboratory.logo.as_ref();
        self.print(sheet::TEMPLATE, sheet::data(sheet)?, logo, (identity, made))
    }
}

/// What the typesetter complains about, with the place in the template and its hints.
fn in_words(world: &dyn World, errors: &[SourceDiagnostic]) -> String {
    let mut words = Vec::new();
    for error in errors {
        let place = error.span.id().and_then(|id| {
            let source = world.source(id).ok()?;
            let start = typst::WorldExt::range(world, error.span)?.start;
            let line = source.lines().byte_to_line(start)? + 1;
            Some(format!(" ({}, line {line})", id.get().vpath().get_without_slash()))
        });
        words.push(format!("{}{}", error.message, place.unwrap_or_default()));
        words.extend(error.hints.iter().map(|hint| hint.v.to_string()));
    }
    words.join("; ")
}
