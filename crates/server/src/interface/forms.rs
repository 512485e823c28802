//! The requests that there are, by name, each with its form and the scope that a token needs.

use jiff::Timestamp;
use std::collections::BTreeMap;
use std::sync::LazyLock;
use stonewear_access::Scope;
use stonewear_lab::fact::Right;
use stonewear_lab::request::Form;
use stonewear_lab::{Context, Fact, Lab, PersonCode, Recorded, Refusal, Request, decide};

/// A request that can be sent.
#[derive(Debug)]
pub(super) struct Sendable {
    /// What can be typed into it.
    pub(super) form: Form,
    /// The scope that a token needs.
    pub(super) scope: Scope,
}

/// All requests by name.
pub(super) static ALL: LazyLock<BTreeMap<String, Sendable>> = LazyLock::new(|| {
    let sendable = |request: Request| {
        let scope = scope_of(&request);
        (request.name(), Sendable { form: request.form(), scope })
    };
    // A request that comes with its file is made where the file is read or printed.
    let all = Request::empty_ones().into_iter();
    all.filter(|request| !request.comes_with_file()).map(sendable).collect()
});

/// The scope that a request needs: asked of the decision itself, as somebody who may test and
/// nothing else, so that there is no second list of who may do what.
fn scope_of(request: &Request) -> Scope {
    let is_beyond = decided(vec![Right::Test], request).is_err_and(|refusal| {
        refusal.problems.iter().any(|problem| problem.rule == "right-missing")
    });
    // Founding is refused for another reason wherever there is a token; it is no work at the bench.
    let is_founding = matches!(request, Request::FoundLaboratory(_));
    if is_beyond || is_founding { Scope::Manage } else { Scope::Record }
}

/// What an empty laboratory says to somebody who has these rights.
fn decided(rights: Vec<Right>, request: &Request) -> Result<Vec<Fact>, Refusal> {
    let (by, at) = (PersonCode::from("X"), Timestamp::UNIX_EPOCH);
    let mut lab = Lab::new();
    let founded = Fact::LaboratoryFounded {
        name: "x".to_owned(),
        address: String::new(),
        invented: true,
        time_zone: "UTC".to_owned(),
    };
    let person = Fact::PersonAdded { person: by.clone(), name: "x".to_owned(), rights };
    for (position, fact) in (1..).zip([founded, person]) {
        lab.apply(&Recorded { position, at, by: by.clone(), fact });
    }
    decide(&lab, &Context { at, made: None, by, methods: &[], procedures: &[] }, request)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn work_at_the_bench_needs_to_record_and_everything_else_to_manage() {
        for (name, scope) in [
            ("weigh-before", Scope::Record),
            ("start-run", Scope::Record),
            ("receive-sample", Scope::Record),
            ("observe", Scope::Record),
            ("open-doubt", Scope::Record),
            ("release-result", Scope::Manage),
            ("close-doubt", Scope::Manage),
            ("add-person", Scope::Manage),
            ("register-item", Scope::Manage),
            ("set-policy", Scope::Manage),
            ("found-laboratory", Scope::Manage),
            ("close-round", Scope::Manage),
        ] {
            assert_eq!(ALL.get(name).map(|one| one.scope), Some(scope), "{name}");
        }
    }

    /// Were a right asked for only after something else was found wrong, its request would be taken
    /// for work at the bench.
    #[test]
    fn every_decision_asks_for_the_right_first() {
        for request in Request::empty_ones() {
            if matches!(request, Request::FoundLaboratory(_)) {
                continue;
            }
            let refusal = decided(Vec::new(), &request).expect_err(&request.name());
            let rules: Vec<&str> = refusal.problems.iter().map(|problem| problem.rule).collect();
            assert_eq!(rules, ["right-missing"], "{}", request.name());
        }
    }
}
