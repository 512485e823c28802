//! Reading the facts of every day straight into their fields.
//!
//! A journal is read at every start. The derived reader of an enum that carries its name among its fields
//! takes every fact apart into a tree before it looks at the name; for the ten kinds that make up nearly the
//! whole of a journal the name is sought first, and then each field is read into its place. Whatever is in
//! the least unusual is left to the derived reader, so both read the same, and all words about what is wrong
//! are its own.

use super::Fact;
use serde::de::{Deserializer, Error, MapAccess, Visitor};
use std::fmt;

impl Fact {
    /// Reads a fact from its JSON.
    ///
    /// # Errors
    /// As [`serde_json::from_str`] gives them.
    pub fn read(text: &str) -> Result<Self, serde_json::Error> {
        everyday(text).map_or_else(|| serde_json::from_str(text), Ok)
    }
}

fn everyday(text: &str) -> Option<Fact> {
    // What stands here may be part of another field: then it is not what `kind` holds.
    let (_, behind) = text.split_once(r#""kind":""#)?;
    let (kind, _) = behind.split_once('"')?;
    let mut reader = serde_json::Deserializer::from_str(text);
    let fact = read_as(kind, &mut reader)?;
    reader.end().ok()?;
    Some(fact)
}

/// Kinds by their name, with the fields that they must have, and those that have a default.
macro_rules! everyday {
    ($($kind:literal => $variant:ident { $($field:ident),* ; $($spare:ident),* })*) => {
        /// Reads a fact of this kind; nothing where the derived reader is to have it.
        fn read_as<'de, D: Deserializer<'de>>(kind: &str, reader: D) -> Option<Fact> {
            match kind {
                $($kind => reader.deserialize_map($variant).ok(),)*
                _ => None,
            }
        }

        $(
            struct $variant;

            impl<'de> Visitor<'de> for $variant {
                type Value = Fact;

                fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                    f.write_str($kind)
                }

                fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Fact, A::Error> {
                    let mut is_it = false;
                    $(let mut $field = None;)*
                    $(let mut $spare = None;)*
                    while let Some(key) = map.next_key::<&str>()? {
                        match key {
                            "kind" if !is_it => is_it = map.next_value::<&str>()? == $kind,
                            $(stringify!($field) if $field.is_none() => {
                                $field = Some(map.next_value()?);
                            })*
                            $(stringify!($spare) if $spare.is_none() => {
                                $spare = Some(map.next_value()?);
                            })*
                            _ => return Err(A::Error::custom("a field more, or one twice")),
                        }
                    }
                    if !is_it {
                        return Err(A::Error::custom("another kind"));
                    }
                    Ok(Fact::$variant {
                        $($field: $field
                            .ok_or_else(|| A::Error::missing_field(stringify!($field)))?,)*
                        $($spare: $spare.unwrap_or_default(),)*
                    })
                }
            }
        )*
    };
}

everyday! {
    "check-started" => CheckStarted { check, item, procedure; }
    "step-observed" => StepObserved {
        check, step, seen, passed; instrument, uncertainty, note, as_read
    }
    "check-ended" => CheckEnded { check, passed; reason }
    "sample-received" => SampleReceived {
        sample, source, client, project, material, intended_use, nominal_maximum_mm, condition,
        received_on;
        limit_percent, limit_document, limit_method, reference, received_g, received_as_read, bags,
        sampled_by, client_address, client_reference, sampling_plan, sampled_on, delivered_by, place
    }
    "specimen-begun" => SpecimenBegun {
        specimen, sample, method, grading, balance; grading_reason, deviations
    }
    "mass-weighed" => MassWeighed {
        specimen, weighing, mass_g, balance; as_read, sieve, guard_sieve, oven, reason, deviations
    }
    "run-started" => RunStarted {
        run, apparatus, ended_by, revolutions_wanted, placed; water_c, thermometer, deviations, made
    }
    "run-stopped" => RunStopped { run; revolutions, minutes, reason, deviations }
    "result-worked-out" => ResultWorkedOut {
        result, sample, specimens; loss_percent, properties, deviations
    }
    "result-released" => ResultReleased {
        result; loss_percent, properties, remark, external, judgement, deviations
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const WEIGHED: &str = r#"{"balance":"BAL-1","kind":"mass-weighed","mass_g":"1499.8","specimen":"S26-001-1","weighing":{"fraction":2}}"#;

    /// Both readers say the same of a text: the same fact, or the same words.
    #[track_caller]
    fn same(text: &str) {
        let derived = serde_json::from_str::<Fact>(text).map_err(|error| error.to_string());
        assert_eq!(Fact::read(text).map_err(|error| error.to_string()), derived, "{text}");
    }

    #[test]
    fn a_fact_of_every_day_is_read_without_the_derived_reader() {
        assert_eq!(everyday(WEIGHED), serde_json::from_str(WEIGHED).ok());
        assert!(everyday(WEIGHED).is_some(), "{:?}", serde_json::from_str::<Fact>(WEIGHED));
    }

    #[test]
    fn what_is_unusual_is_read_as_the_derived_reader_reads_it() {
        let with = |from: &str, to: &str| {
            let changed = WEIGHED.replacen(from, to, 1);
            assert_ne!(changed, WEIGHED, "{from}");
            changed
        };
        for text in [
            // A name that is part of a field, escaped, twice, missing, of another kind, of none.
            with(r#""balance":"BAL-1""#, r#""as_read":"\"kind\":\"check-ended\"","balance":"B""#),
            with("mass-weighed", "mass\\u002dweighed"),
            with("mass-weighed", "mass-weighed\",\"kind\":\"mass-weighed"),
            with(r#""kind":"mass-weighed","#, ""),
            with("mass-weighed", "check-ended"),
            with("mass-weighed", "no-such-kind"),
            with(r#""kind":"#, r#""kind" : "#),
            // A field more, twice, missing, of another type, empty, with an escape; more behind the end.
            with("{\"balance", "{\"colour\":\"red\",\"balance"),
            with("\"mass_g\"", "\"mass_g\":\"1\",\"mass_g\""),
            with(r#""mass_g":"1499.8","#, ""),
            with("\"1499.8\"", "true"),
            with("\"mass_g\"", "\"as_read\":null,\"mass_g\""),
            with("\"mass_g\"", "\"sieve\":null,\"mass_g\""),
            with("\"mass_g\"", "\"reason\":\"\\u00b5 \\\"\",\"mass_g\""),
            with("}}", "}} "),
            with("}}", "}} x"),
            with("}}", "}"),
        ] {
            same(&text);
        }
    }
}
