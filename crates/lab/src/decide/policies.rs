//! Deciding policies, recording what other laboratories found, and what the policies ask of a
//! release.

use super::Desk;
use super::form::Form;
use crate::fact::{Fact, OutsideResultRecorded, Right};
use crate::policy::Policy;
use crate::refusal::Refusal;
use crate::request::{RecordOutsideResult, SetPolicy};
use crate::state::{OutsideResult, TestResult};
use crate::words::listed;
use stonewear_measure::Decimal;

impl Desk<'_> {
    pub(super) fn set_policy(&self, request: &SetPolicy) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Manage)?;
        let mut form = Form::new();
        let reason = form.text("reason", &request.reason, "the grounds for the decision");
        let policy = match request.policy.parse::<Policy>() {
            Ok(policy) => policy,
            Err(known) => {
                let message = format!("“{}” is not a policy", request.policy.trim());
                form.wrong("policy", "policy-unknown", message, known);
                return form.refuse();
            }
        };
        let value = match policy.read(&request.value) {
            Ok(value) => value,
            Err(right) => {
                let message = format!("“{}” is not a value of {policy}", request.value.trim());
                form.wrong("value", "input-value", message, right);
                return form.refuse();
            }
        };
        let in_force = self.lab.policy(policy);
        // The default may be decided, too: then somebody stands for it.
        if in_force.decided.is_some() && in_force.value == value {
            let message = format!("{policy} is already {value}");
            form.wrong("value", "policy-in-force", message, "nothing needs to be done");
        }
        form.facts(vec![Fact::PolicySet { policy, value, reason }])
    }

    pub(super) fn record_outside_result(
        &self,
        request: &RecordOutsideResult,
    ) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Test)?;
        let mut form = Form::new();
        let laboratory =
            form.text("laboratory", &request.laboratory, "the name of the other laboratory");
        let document = form.text("document", &request.document, "the document that says so");
        let reason = form.optional("reason", &request.reason);
        let loss_percent = self.loss_reported(&mut form, &request.loss_percent);
        let typed = request.sample.trim();
        let Some(sample) = self.lab.samples.get(typed.to_uppercase().as_str()) else {
            let message = format!("there is no sample “{typed}”");
            form.wrong("sample", "sample-unknown", message, "look under samples");
            return form.refuse();
        };
        let in_use = self.lab.method_in_use(request.method.trim()).map(|in_use| in_use.id.clone());
        let method = in_use.or_else(|| {
            self.method_in_library(&mut form, "method", &request.method)
                .map(stonewear_method::Method::key)
        });
        let (Some(method), Some(loss_percent)) = (method, loss_percent) else {
            return form.refuse();
        };
        let new = OutsideResult { method, laboratory, loss_percent, document, reason };
        let known = sample.outside_before(u64::MAX);
        let earlier = known.into_iter().find(|one| one.value.is_of_same_document(&new));
        if let Some(earlier) = earlier.filter(|_| new.reason.is_empty()) {
            let message = format!(
                "{} of {} is already recorded: {} %",
                earlier.value.document, earlier.value.laboratory, earlier.value.loss_percent
            );
            form.wrong("reason", "value-replaced", message, "say why it is replaced");
        }
        let OutsideResult { method, laboratory, loss_percent, document, reason } = new;
        form.facts(vec![Fact::OutsideResultRecorded(OutsideResultRecorded {
            sample: sample.code.clone(),
            method,
            laboratory,
            loss_percent,
            document,
            reason,
        })])
    }

    /// A loss that somebody else reported: anything from nothing to all of the specimen.
    fn loss_reported(&self, form: &mut Form, typed: &str) -> Option<Decimal> {
        let value = form.number("loss_percent", typed)?;
        if value < Decimal::ZERO || value > Decimal::ONE_HUNDRED {
            let message = format!("a loss of {value} % cannot be");
            form.wrong("loss_percent", "input-impossible", message, "it lies from 0 to 100 %");
            return None;
        }
        Some(value)
    }

    /// What the policies ask of the release of a result.
    pub(super) fn check_release(&self, form: &mut Form, result: &TestResult) {
        self.judge_releaser(form, result);
        let by = &self.context.by;
        if self.lab.wants_release_by_another() && self.lab.testers(result).contains(by) {
            let name = self.lab.people.get(by).map_or(by.as_str(), |person| person.name.as_str());
            let message = format!(
                "{name} tested {}, and here another person than those who tested releases",
                result.code
            );
            let others = self.lab.may_release(result);
            let hint = if others.is_empty() {
                "nobody else may release: have the right granted to somebody who did not test it"
                    .to_owned()
            } else {
                format!("ask {}", listed(others.iter().map(|person| person.code.to_string())))
            };
            form.wrong("by", "release-by-tester", message, hint);
        }
        if self.lab.wants_another_pair() {
            for pair in self.lab.agreement(result).in_the_way() {
                form.departs(
                    "result",
                    "results-differ",
                    pair.in_words(),
                    "test another pair, or record why it is released all the same",
                );
            }
        }
    }
}
