//! Taking methods into use, and confirming their numbers.

use super::Desk;
use super::form::Form;
use crate::fact::{Fact, Right};
use crate::refusal::Refusal;
use crate::request::{AdoptMethod, ConfirmFigure};
use stonewear_method::{Method, figures};

/// A number that was compared, and where in the request it stands: `more.0.`.
struct Compared<'r> {
    at: String,
    figure: &'r str,
    value: Option<&'r str>,
    against: &'r str,
}

/// The numbers of a request that were compared; one of several is passed over while nothing is said
/// of it.
fn compared<'r>(request: &'r ConfirmFigure, against: &'r str) -> Vec<Compared<'r>> {
    let typed = |value: &'r str| Some(value.trim()).filter(|value| !value.is_empty());
    let first = typed(&request.figure).map(|figure| Compared {
        at: String::new(),
        figure,
        value: typed(&request.value),
        against,
    });
    let more = request.more.iter().enumerate().filter_map(|(index, one)| {
        let value = typed(&one.value);
        typed(&one.same).or(value)?;
        Some(Compared {
            at: format!("more.{index}."),
            figure: one.figure.trim(),
            value,
            against: typed(&one.against).unwrap_or(against),
        })
    });
    first.into_iter().chain(more).collect()
}

impl<'a> Desk<'a> {
    pub(super) fn adopt_method(&self, request: &AdoptMethod) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Manage)?;
        let mut form = Form::new();
        let Some(method) = self.method_in_library(&mut form, "method", &request.method) else {
            return form.refuse();
        };
        if self.lab.methods.contains_key(&method.key()) {
            let message = format!("{} is already in use", method.dated());
            form.wrong("method", "method-in-use", message, "nothing needs to be done");
        }
        form.facts(vec![Fact::MethodAdopted { method: Box::new(method.clone()) }])
    }

    pub(super) fn confirm_figure(&self, request: &ConfirmFigure) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Manage)?;
        let mut form = Form::new();
        let Some(in_use) = self.lab.method_in_use(request.method.trim()) else {
            let message = format!("the method “{}” is not in use here", request.method.trim());
            form.wrong("method", "method-not-in-use", message, "take it into use first");
            return form.refuse();
        };
        let against = form.text("against", &request.against, "the copy it was compared with");
        let compared = compared(request, &against);
        if compared.is_empty() {
            let message = "no number is compared";
            form.wrong(
                "figure",
                "input-missing",
                message,
                "say which ones your copy says the same of",
            );
        }
        let mut corrections = Vec::new();
        for one in &compared {
            let outcome = match one.value {
                None => figures::confirm(&in_use.method, one.figure),
                Some(value) => {
                    corrections.push((one.figure, value));
                    figures::correct_as_recorded(&in_use.method, one.figure, value)
                }
            };
            if let Err(error) = outcome {
                let field = if one.value.is_some() { "value" } else { "figure" };
                form.wrong(&format!("{}{field}", one.at), "input-figure", error.to_string(), "");
            }
        }
        // Figures that hang together, such as the masses of a grading, are judged once all are there.
        if !form.is_hopeless()
            && let Err(error) = figures::correct_together(&in_use.method, &corrections)
        {
            let first = compared.iter().find(|one| one.value.is_some());
            let field = format!("{}value", first.map_or("", |one| one.at.as_str()));
            form.wrong(&field, "input-figure", error.to_string(), "");
        }
        let fact = |one: &Compared<'_>| Fact::FigureConfirmed {
            method: in_use.id.clone(),
            figure: one.figure.to_owned(),
            value: one.value.map(str::to_owned),
            against: one.against.to_owned(),
        };
        form.facts(compared.iter().map(fact).collect())
    }

    /// A method that can be taken into use; the newest edition when none is named.
    pub(super) fn method_in_library(
        &self,
        form: &mut Form,
        field: &str,
        typed: &str,
    ) -> Option<&'a Method> {
        match stonewear_method::library::find(self.context.methods, typed.trim()) {
            Ok(method) => Some(method),
            Err(error) => {
                form.wrong(field, "method-unknown", error.to_string(), "");
                None
            }
        }
    }
}
