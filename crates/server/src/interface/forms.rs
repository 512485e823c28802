//! The requests that there are, by name, each with its form and the scope that a token needs.

use std::collections::BTreeMap;
use std::sync::LazyLock;
use stonewear_access::Scope;
use stonewear_lab::fact::Right;
use stonewear_lab::request::Form;
use stonewear_lab::{Context, Fact, Lab, PersonCode, Recorded, Request, decide};

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
    Request::empty_ones().into_iter().map(sendable).collect()
});

/// The scope that a request needs: asked of the decision itself, as somebody who may test and
/// nothing else, so that there is no second list of who may do what.
fn scope_of(request: &Request) -> Scope {
    let mut lab = Lab::new();
    let founding = [
        Fact::LaboratoryFounded {
            name: "x".to_owned(),
            address: String::new(),
            invented: true,
            time_zone: "UTC".to_owned(),
        },
        Fact::PersonAdded {
            person: PersonCode::from("T"),
            name: "x".to_owned(),
            rights: vec![Right::Test],
        },
    ];
    for (position, fact) in (1..).zip(founding) {
        let at = jiff::Timestamp::UNIX_EPOCH;
        lab.apply(&Recorded { position, at, by: PersonCode::from("T"), fact });
    }
    let context = Context {
        at: jiff::Timestamp::UNIX_EPOCH,
        by: PersonCode::from("T"),
        methods: &[],
        procedures: &[],
    };
    let is_beyond = decide(&lab, &context, request).is_err_and(|refusal| {
        let is_right = |rule: &str| matches!(rule, "right-missing" | "laboratory-founded");
        refusal.problems.iter().any(|problem| is_right(problem.rule))
    });
    // Founding is refused for another reason wherever there is a token; it is no work at the bench.
    let is_founding = matches!(request, Request::FoundLaboratory(_));
    if is_beyond || is_founding { Scope::Manage } else { Scope::Record }
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
        let mut lab = Lab::new();
        let fact = Fact::LaboratoryFounded {
            name: "x".to_owned(),
            address: String::new(),
            invented: true,
            time_zone: "UTC".to_owned(),
        };
        let person = Fact::PersonAdded {
            person: PersonCode::from("N"),
            name: "x".to_owned(),
            rights: Vec::new(),
        };
        for (position, fact) in (1..).zip([fact, person]) {
            let at = jiff::Timestamp::UNIX_EPOCH;
            lab.apply(&Recorded { position, at, by: PersonCode::from("N"), fact });
        }
        let context = Context {
            at: jiff::Timestamp::UNIX_EPOCH,
            by: PersonCode::from("N"),
            methods: &[],
            procedures: &[],
        };
        for request in Request::empty_ones() {
            if matches!(request, Request::FoundLaboratory(_)) {
                continue;
            }
            let refusal = decide(&lab, &context, &request).expect_err(&request.name());
            let rules: Vec<&str> = refusal.problems.iter().map(|problem| problem.rule).collect();
            assert_eq!(rules, ["right-missing"], "{}", request.name());
        }
    }
}
