//! Taking methods into use, and confirming their numbers.

use super::Desk;
use super::form::Form;
use crate::fact::{Fact, Right};
use crate::refusal::Refusal;
use crate::request::{AdoptMethod, ConfirmFigure};
use stonewear_method::Method;

impl<'a> Desk<'a> {
    pub(super) fn adopt_method(&self, request: &AdoptMethod) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Manage)?;
        let mut form = Form::new();
        let Some(method) = self.method_in_library(&mut form, "method", &request.method) else {
            return form.refuse();
        };
        if self.lab.methods.contains_key(&method.key()) {
            let message = format!("{} is already in use", method.key());
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
        let figure = request.figure.trim();
        let value = Some(request.value.trim()).filter(|value| !value.is_empty());
        let outcome = match value {
            None => stonewear_method::figures::confirm(&in_use.method, figure),
            Some(value) => stonewear_method::figures::correct(&in_use.method, figure, value),
        };
        if let Err(error) = outcome {
            let field = if value.is_some() { "value" } else { "figure" };
            form.wrong(field, "input-figure", error.to_string(), "");
        }
        form.facts(vec![Fact::FigureConfirmed {
            method: in_use.id.clone(),
            figure: figure.to_owned(),
            value: value.map(str::to_owned),
            against,
        }])
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
