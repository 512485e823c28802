//! A story about reference aggregate: a lot, its baseline, its runs.

use super::Story;
use stonewear_lab::Fact;
use stonewear_lab::request::*;
use stonewear_measure::Decimal;

impl Story {
    /// Equipped, with lot RA-1 of 60 kg for the 19.0 grading of ASTM D6928. Nothing of it was run.
    pub(crate) fn with_lot() -> Self {
        let mut story = Self::equipped();
        // The method comes into use with the first specimen.
        let sample = story.sample("19.0");
        story.specimen(&sample);
        story.lot("RA-1");
        story
    }

    pub(crate) fn lot(&mut self, code: &str) {
        self.given(RegisterLot {
            lot: code.into(),
            name: format!("reference {code}"),
            source: "Invented quarry, bench 2".into(),
            method: "astm-d6928".into(),
            grading: "19.0".into(),
            stock_g: "60 kg".into(),
            ..RegisterLot::default()
        });
    }

    /// Centre 14.25 %, s 0.5 %, by an invented document.
    pub(crate) fn stated_baseline(&mut self, lot: &str) {
        self.given(FreezeBaseline {
            lot: lot.into(),
            apparatus: "MILL".into(),
            centre: "stated".into(),
            stated_centre: "14.25".into(),
            spread: "stated".into(),
            stated_sigma: "0.5".into(),
            document: "invented certificate 1".into(),
            reason: "the certificate of the lot".into(),
            ..FreezeBaseline::default()
        });
    }

    /// A sample of a lot, made up.
    pub(crate) fn made_up(&mut self, lot: &str) -> String {
        let facts = self.given(ReceiveSample {
            source: "our bin".into(),
            material: "reference aggregate".into(),
            nominal_maximum_mm: "19.0".into(),
            lot: lot.into(),
            ..ReceiveSample::default()
        });
        let Fact::SampleReceived { sample, .. } = &facts[0] else { panic!("{facts:?}") };
        let sample = sample.to_string();
        self.specimen(&sample)
    }

    /// A sample of a lot, made up and turned.
    pub(crate) fn turned(&mut self, lot: &str) -> String {
        let specimen = self.made_up(lot);
        self.run(&specimen);
        specimen
    }

    /// A run of a lot with this loss, %: what follows from weighing it.
    pub(crate) fn reference(&mut self, lot: &str, loss: Decimal) -> Vec<Fact> {
        let specimen = self.turned(lot);
        let mass_g = Decimal::from(1500) - Decimal::from(15) * loss;
        self.given(WeighAfter { specimen, mass_g: mass_g.to_string(), ..WeighAfter::default() })
    }

    /// The same with the loss in tenths of a percent; the result's code.
    pub(crate) fn reference_tenths(&mut self, lot: &str, tenths: i64) -> String {
        let facts = self.reference(lot, Decimal::new(tenths, 1));
        let found = facts.iter().find_map(|fact| match fact {
            Fact::ResultWorkedOut { result, .. } => Some(result.to_string()),
            _ => None,
        });
        found.unwrap()
    }
}
