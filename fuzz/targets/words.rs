//! Words that are one of a few: kinds, rules, patterns of policies. What is read is written back as itself.
#![no_main]

use libfuzzer_sys::fuzz_target;
use std::fmt::{Debug, Display};
use std::str::FromStr;
use std::sync::LazyLock;
use stonewear_lab::authorisation::{Activity, AuthorisationStanding};
use stonewear_lab::fact::{ImportKind, PaperKind, PaperLanguage};
use stonewear_lab::policy::Policy;
use stonewear_method::Method;
use stonewear_method::library::{built_in_methods, find};
use stonewear_procedure::apparatus::TimeStep;

static METHODS: LazyLock<Vec<Method>> = LazyLock::new(built_in_methods);

/// Reads a word; what it says of itself is read as the same.
fn again<T: FromStr + Display + PartialEq + Debug>(typed: &str) {
    if let Ok(read) = typed.parse::<T>() {
        let said = read.to_string();
        assert!(said.parse::<T>().is_ok_and(|again| again == read), "{typed:?} is {said:?}");
    }
}

fn once<T: FromStr>(typed: &str) {
    let _ = typed.parse::<T>();
}

fuzz_target!(init: LazyLock::force(&METHODS), |typed: &str| {
    once::<Activity>(typed);
    once::<AuthorisationStanding>(typed);
    again::<ImportKind>(typed);
    once::<PaperKind>(typed);
    once::<PaperLanguage>(typed);
    once::<stonewear_method::Confidence>(typed);
    once::<stonewear_measure::Rule>(typed);
    once::<stonewear_procedure::ItemKind>(typed);
    once::<stonewear_exchange::taken::DayOrder>(typed);
    once::<stonewear_exchange::out::What>(typed);
    once::<stonewear_report::LabelSize>(typed);
    again::<stonewear_journal::Instant>(typed);
    again::<stonewear_journal::Hash>(typed);
    once::<stonewear_journal::signature::PublicKey>(typed);
    if let Ok(step) = TimeStep::read(typed) {
        assert_eq!(TimeStep::read(&step.to_string()).ok(), Some(step), "{typed:?}");
    }
    for policy in Policy::ALL {
        if let Ok(kept) = policy.read(typed) {
            assert_eq!(policy.read(&kept).as_ref(), Ok(&kept), "{typed:?}");
        }
    }
    let _ = stonewear_language::Language::preferred(typed);
    let _ = find(&METHODS, typed);
});
