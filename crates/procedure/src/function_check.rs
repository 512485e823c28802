//! The function check of an apparatus, generated from how it is built.
//!
//! What an empty machine must show is proved before a jar is laid in, and the means to stop it
//! before everything else that moves. Every step begins and ends with the machine standing
//! still, so that a check can be interrupted between any two steps and continued by somebody
//! else. A step that fails with jars in the machine never leads back to one that needs it empty:
//! the jars are taken out and a new check begins.

mod bench;
mod cautions;
mod empty;
mod forecast;
mod guards;
mod loaded;
mod standing;
mod why;
mod words;

pub use forecast::{End, Forecast, Load, forecast};

use crate::apparatus::{Apparatus, Control};
use crate::kind::ItemKind;
use crate::model::{Confidence, Interval, Procedure, Step};
use std::collections::{BTreeMap, BTreeSet};

/// Generates the function check of an apparatus whose description has no
/// [`faults`](crate::apparatus::faults()).
pub fn function_check(apparatus: &Apparatus) -> Procedure {
    let controls = Controls::of(apparatus);
    let mut steps = standing::steps(apparatus);
    steps.extend(guards::steps(apparatus, &controls));
    steps.extend(empty::steps(apparatus, &controls));
    steps.extend(bench::before(apparatus));
    steps.extend(loaded::steps(apparatus, &controls));
    steps.extend(bench::after());
    why::explain(&mut steps);
    name_apart(&mut steps);
    Procedure {
        id: "function-check".to_owned(),
        title: "function check".to_owned(),
        proves_kind: ItemKind::Apparatus,
        proves: proved(apparatus),
        needed_for_service: true,
        stands_for: None,
        // It measures the speed of the loaded machine, which is to be done yearly.
        interval_months: Some(Interval {
            value: 12,
            source: "LAB21".to_owned(),
            confidence: Confidence::Seen,
        }),
        sources: sources(),
        steps,
    }
}

fn proved(apparatus: &Apparatus) -> Vec<String> {
    let mut proved = vec!["function", "speed"];
    if apparatus.has_counter() {
        proved.push("counter");
    }
    if apparatus.interlock {
        proved.push("interlock");
    }
    proved.into_iter().map(str::to_owned).collect()
}

fn sources() -> BTreeMap<String, String> {
    [
        ("T327", "AASHTO T 327-12(2020) §6.1: 100 ± 5 revolutions per minute"),
        (
            "BRE-MDmethod",
            "European aggregate cross-testing programme, description of the EN 1097-1 test: ± 10 revolutions",
        ),
        (
            "LAB21",
            "UKAS LAB 21, edition 2 (2000), appendix A: roller machines, speed when fully loaded, yearly",
        ),
        (
            "MN1216",
            "Minnesota DOT Laboratory Manual 1216 (2002): charge of 5000 ± 5 g in a jar of 5 L",
        ),
    ]
    .into_iter()
    .map(|(key, title)| (key.to_owned(), title.to_owned()))
    .collect()
}

/// The controls of an apparatus in the order in which the check goes through them: empty from
/// the first to the last, and with jars back again, so that the change is seen both ways.
struct Controls(Vec<Control>);

impl Controls {
    fn of(apparatus: &Apparatus) -> Self {
        let mut controls = Vec::new();
        for control in &apparatus.control {
            if !controls.contains(control) {
                controls.push(*control);
            }
        }
        Self(controls)
    }

    fn first(&self) -> Control {
        self.0.first().copied().unwrap_or(Control::Time)
    }

    fn last(&self) -> Control {
        self.0.last().copied().unwrap_or(Control::Time)
    }

    fn several(&self) -> bool {
        self.0.len() > 1
    }
}

/// Gives steps whose ids are the same (tiers called `A+` and `A-`) ids of their own.
fn name_apart(steps: &mut [Step]) {
    let mut taken = BTreeSet::new();
    for step in steps {
        let mut id = step.id.clone();
        let mut number = 2;
        while !taken.insert(id.clone()) {
            id = format!("{}-{number}", step.id);
            number += 1;
        }
        step.id = id;
    }
}
