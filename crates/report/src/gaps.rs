//! What a report would still need to be complete.

use crate::TestReport;

impl TestReport {
    /// Names what ISO/IEC 17025:2017 clause 7.8.2.1 asks for and this report leaves blank, in the
    /// order of the paper. Blank is a text of nothing but white space.
    pub fn gaps(&self) -> Vec<&'static str> {
        let wanted = [
            ("title", self.title.as_str()),
            ("report number", &self.number),
            ("laboratory's name", &self.laboratory.name),
            ("laboratory's address", first(&self.laboratory.address)),
            ("customer's name", &self.customer.name),
            ("method", &self.method.designation),
            ("edition of the method", &self.method.edition),
            ("code of the sample", &self.sample.code),
            ("what the sample is", &self.sample.material),
            ("condition of the sample", &self.sample.condition),
            ("day of receipt", &self.dates.received),
            ("day of the test", &self.dates.tested),
            ("day of issue", &self.dates.issued),
            ("result", &self.loss.value),
            ("who authorised it", self.authorised.as_ref().map_or("", |who| &who.name)),
        ];
        wanted
            .into_iter()
            .filter(|(_, text)| text.trim().is_empty())
            .map(|(name, _)| name)
            .collect()
    }
}

/// The first line, or nothing.
fn first(lines: &[String]) -> &str {
    lines.first().map_or("", String::as_str)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_example_is_complete() {
        assert_eq!(TestReport::example().gaps(), Vec::<&str>::new());
    }

    #[test]
    fn an_empty_report_lacks_everything_and_a_blank_is_a_gap() {
        assert_eq!(TestReport::default().gaps().len(), 15);
        let mut report = TestReport::example();
        report.sample.condition = "  ".into();
        report.authorised = None;
        assert_eq!(report.gaps(), ["condition of the sample", "who authorised it"]);
    }
}
