//! Judging and comparing, as the laboratory decided it: policies, a pair of results that agree, one
//! that do not, and what another laboratory found on a split sample.

use crate::everyday::Stone;
use crate::story::{DemoError, Story};
use jiff::ToSpan;
use stonewear_lab::request::{RecordOutsideResult, ReleaseResult, SetPolicy};

/// What the laboratory decides, and why. All of it is invented.
const POLICIES: [(&str, &str, &str); 5] = [
    ("uncertainty", "method-reproducibility", "until our own budget is done"),
    ("decision-rule", "guarded-conditional", "agreed with the clients at the yearly meeting"),
    ("repeatability-limit", "1.2", "2.8 standard deviations of our reference runs, rounded"),
    ("results-differ", "test-another-pair", "laboratory manual, 7.4"),
    ("release-by-another", "required", "laboratory manual, 7.8"),
];

impl Story<'_> {
    /// The laboratory decides what the standards leave open.
    pub(crate) fn decide_policies(&mut self, manager: &str) -> Result<(), DemoError> {
        for (policy, value, reason) in POLICIES {
            self.later(4.minutes())?;
            self.ask(
                manager,
                SetPolicy {
                    policy: policy.to_owned(),
                    value: value.to_owned(),
                    reason: reason.to_owned(),
                },
            )?;
        }
        Ok(())
    }

    /// Two specimens of a sample with these losses, tenths of a percent; both results released, with
    /// a reason where they do not agree.
    pub(crate) fn replicate(
        &mut self,
        (tester, releaser): (&str, &str),
        balance: &str,
        stone: Stone,
        losses_tenths: [i64; 2],
        deviation: &str,
    ) -> Result<String, DemoError> {
        let sample = self.receive(tester, stone)?;
        let mut results = Vec::new();
        for loss_tenths in losses_tenths {
            self.later(14.hours())?;
            let stone = Stone { loss_tenths, ..stone };
            results.push(self.one_loss(tester, balance, stone, &sample)?);
        }
        for result in results {
            self.later(30.minutes())?;
            let deviation = deviation.to_owned();
            self.ask(releaser, ReleaseResult { result, deviation, ..ReleaseResult::default() })?;
        }
        Ok(sample.to_string())
    }

    /// What another laboratory found on its half of a sample.
    pub(crate) fn outside(
        &mut self,
        tester: &str,
        sample: &str,
        loss_percent: &str,
    ) -> Result<(), DemoError> {
        self.later(1.hour())?;
        self.ask(
            tester,
            RecordOutsideResult {
                sample: sample.to_owned(),
                method: "astm-d6928".to_owned(),
                laboratory: "Kelsby Road Laboratory".to_owned(),
                loss_percent: loss_percent.to_owned(),
                document: "their report K-311".to_owned(),
                ..RecordOutsideResult::default()
            },
        )?;
        Ok(())
    }
}
