//! A test report on its way out: its number, its day, what it replaces.

use super::{day, instant};
use crate::{Amendment, TestReport};
use jiff::Timestamp;
use stonewear_lab::Lab;
use stonewear_lab::state::NextPaper;

impl TestReport {
    /// The report as it is issued: with its number, the day of issue, and what it replaces where no
    /// other version of the result says it. `who` issues it, for this `reason`.
    #[must_use]
    pub fn to_be_issued(
        mut self,
        lab: &Lab,
        next: &NextPaper,
        (who, reason): (&str, &str),
        at: Timestamp,
    ) -> Self {
        self.number.clone_from(&next.number);
        self.issued_at = instant(Some(at));
        self.dates.issued = day(lab, Some(at));
        self.before_issue = false;
        if let Some(replaces) = &next.replaces
            && !self.amendments.iter().any(|one| one.replaces == *replaces)
        {
            self.amendments.push(Amendment {
                replaces: replaces.clone(),
                what: "issued again".to_owned(),
                reason: reason.to_owned(),
                who: who.to_owned(),
                at: day(lab, Some(at)),
            });
        }
        self
    }
}
