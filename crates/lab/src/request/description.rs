//! What can be typed into a request, for programs that ask: every form describes itself with the
//! words that stand at its fields.

/// What a value of a request is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Kind {
    /// A text, as it was typed; numbers too.
    Text,
    /// A whole number, not below 0.
    Whole,
    /// Values of one kind, in order.
    List(Box<Kind>),
    /// Named values.
    Form(Form),
    /// How an apparatus is built, as `docs/procedures.md` describes it; may be absent.
    Apparatus,
}

/// The named values of a request, or of a row in one.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Form {
    /// The name of its type: `WeighBefore`.
    pub name: &'static str,
    /// What it is for, in one or more sentences.
    pub says: &'static str,
    /// Its fields, in order. Every one may be absent, and is empty then.
    pub fields: Vec<Field>,
}

impl Form {
    /// The field with this name.
    pub fn field(&self, name: &str) -> Option<&Field> {
        self.fields.iter().find(|field| field.name == name)
    }
}

/// One value of a form.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Field {
    /// Its name: `mass_g`.
    pub name: &'static str,
    /// What is typed there, with its unit.
    pub says: &'static str,
    /// What kind of value it is.
    pub kind: Kind,
}

/// A type of which a value in a request can be.
pub trait Typed {
    /// What kind of value it is.
    fn kind() -> Kind;
}

impl Typed for String {
    fn kind() -> Kind {
        Kind::Text
    }
}

impl Typed for u64 {
    fn kind() -> Kind {
        Kind::Whole
    }
}

impl<T: Typed> Typed for Vec<T> {
    fn kind() -> Kind {
        Kind::List(Box::new(T::kind()))
    }
}

impl Typed for Option<stonewear_procedure::Apparatus> {
    fn kind() -> Kind {
        Kind::Apparatus
    }
}

/// The description of a form.
pub(super) fn form_of<T: Typed>() -> Form {
    match T::kind() {
        Kind::Form(form) => form,
        // No request is anything else.
        _ => Form { name: "", says: "", fields: Vec::new() },
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Request;
    use serde_json::Value;
    use std::collections::BTreeSet;

    /// What a description allows, as JSON with something in every place.
    fn filled(kind: &Kind) -> Value {
        match kind {
            Kind::Text => "1".into(),
            Kind::Whole => 1.into(),
            Kind::List(each) => vec![filled(each); 2].into(),
            Kind::Form(form) => form
                .fields
                .iter()
                .map(|field| (field.name.to_owned(), filled(&field.kind)))
                .collect::<serde_json::Map<_, _>>()
                .into(),
            Kind::Apparatus => serde_json::to_value(stonewear_procedure::Apparatus::default())
                .expect("an apparatus can be written"),
        }
    }

    #[test]
    fn every_form_describes_itself_whole() {
        for request in Request::empty_ones() {
            let (name, form) = (request.name(), request.form());
            assert!(!form.says.is_empty() && !form.fields.is_empty(), "{name}");
            let written = serde_json::to_value(&request).expect("a request can be written");
            let written: BTreeSet<&str> = written
                .as_object()
                .expect("it is an object")
                .keys()
                .map(String::as_str)
                .filter(|key| *key != "request")
                .collect();
            let described: BTreeSet<&str> = form.fields.iter().map(|field| field.name).collect();
            assert_eq!(written, described, "{name}");
            for field in &form.fields {
                assert!(!field.says.is_empty(), "{name}.{} says nothing", field.name);
                assert!(!field.says.contains("  "), "{name}.{}: {}", field.name, field.says);
            }
            let mut whole = filled(&Kind::Form(form));
            whole["request"] = name.clone().into();
            let read: Request = serde_json::from_value(whole).expect(&name);
            assert_eq!(read.name(), name);
        }
    }

    #[test]
    fn the_words_at_a_field_are_its_description() {
        let form = Request::from(crate::request::WeighBefore::default()).form();
        assert_eq!(form.name, "WeighBefore");
        assert_eq!(form.says, "Weigh a specimen, washed and oven-dry, before the run.");
        assert_eq!(form.field("mass_g").map(|field| field.says), Some("Mass, g."));
        let placed = Request::from(crate::request::StartRun::default()).form();
        let Some(Kind::List(row)) = placed.field("placements").map(|field| &field.kind) else {
            panic!("placements are a list")
        };
        let Kind::Form(row) = row.as_ref() else { panic!("of rows") };
        assert_eq!(row.field("water_l").map(|field| field.says), Some("Water in the jar, L."));
    }
}
