//! Reads procedures from their files.

use crate::file_faults::FileFaults;
use crate::kind::ItemKind;
use crate::model::{Caution, Confidence, Difference, Expect, Interval, Jars, Procedure, Step};
use crate::procedure_faults::procedure_faults;
use crate::reader::{Fields, Reader, Value, read_file};
use std::collections::BTreeMap;
use stonewear_measure::Limits;

const PROCEDURE_KEYS: [&str; 9] = [
    "id",
    "title",
    "for",
    "proves",
    "needed_for_service",
    "interval_months",
    "sources",
    "step",
    "variant",
];
const STEP_KEYS: [&str; 11] = [
    "id",
    "title",
    "instruction",
    "why",
    "jars",
    "tier",
    "position",
    "expect",
    "caution",
    "on_failure",
    "back_to",
];
const JARS: [(&str, Jars); 3] =
    [("out", Jars::Out), ("in", Jars::In), ("not-involved", Jars::NotInvolved)];

/// Reads the procedures of one file, written as TOML: the procedure itself, then its variants
/// for items that are made for other figures. `docs/procedures.md` describes the form.
///
/// # Errors
/// Every fault of the file with its line and what would be right. `file` is only used to say
/// where.
pub fn read_procedures(file: &str, text: &str) -> Result<Vec<Procedure>, FileFaults> {
    read_file(file, text, |reader, root| {
        let (procedure, places) = procedure(reader, root)?;
        let variants = tables(reader, root, "variant");
        let mut procedures = vec![(procedure, places)];
        for fields in variants {
            let (base, places) = &procedures[0];
            let found = variant(reader, &fields, base);
            if let Some(found) = found {
                let places = places.clone();
                procedures.push((found, places));
            }
        }
        if reader.is_clean() {
            for (procedure, places) in &procedures {
                for fault in procedure_faults(procedure) {
                    let place = fault.step.and_then(|step| places.get(step)).copied().unwrap_or(0);
                    reader.fault(place, fault.wrong, fault.right);
                }
            }
        }
        Some(procedures.into_iter().map(|(procedure, _)| procedure).collect())
    })
}

/// The tables of a list of tables; none when the key is missing.
fn tables<'a, 't>(
    reader: &mut Reader<'_>,
    root: &Fields<'a, 't>,
    key: &str,
) -> Vec<Fields<'a, 't>> {
    let Some(value) = root.get(key) else { return Vec::new() };
    let entries = reader.list(value, key);
    (1..)
        .zip(entries)
        .filter_map(|(number, entry)| reader.table(entry, format!("{key} {number}")))
        .collect()
}

/// The procedure of a file, and where each step begins.
fn procedure(reader: &mut Reader<'_>, root: &Fields<'_, '_>) -> Option<(Procedure, Vec<usize>)> {
    reader.only(root, &PROCEDURE_KEYS);
    let id = reader.needed_text(root, "id");
    let title = reader.needed_text(root, "title");
    let proves_kind = match root.get("for") {
        Some(value) => reader.word(value, "for", &ItemKind::ALL.map(|kind| (kind.as_str(), kind))),
        None => {
            reader.missing(root, "for", "for = \"jar\" or another kind of item");
            None
        }
    };
    let proves = match root.get("proves") {
        Some(value) => {
            let entries = reader.list(value, "proves");
            entries.iter().filter_map(|entry| reader.text(entry, "proves")).collect()
        }
        None => Vec::new(),
    };
    let needed = root.get("needed_for_service");
    let needed_for_service =
        needed.and_then(|value| reader.flag(value, "needed_for_service")).unwrap_or(false);
    let interval_months = root.get("interval_months").and_then(|value| interval(reader, value));
    let sources = root.get("sources").map(|value| sources(reader, value)).unwrap_or_default();
    let written = tables(reader, root, "step");
    let places = written.iter().map(Fields::place).collect();
    let read: Vec<Option<Step>> = written.iter().map(|fields| step(reader, fields)).collect();
    let steps = read.into_iter().collect::<Option<Vec<Step>>>();
    let procedure = Procedure {
        id: id?,
        title: title?,
        proves_kind: proves_kind?,
        proves,
        needed_for_service,
        stands_for: None,
        interval_months,
        sources,
        steps: steps?,
    };
    Some((procedure, places))
}

fn interval(reader: &mut Reader<'_>, value: &Value<'_>) -> Option<Interval> {
    let fields = reader.table(value, "interval_months".to_owned())?;
    reader.only(&fields, &["value", "source", "confidence"]);
    let months = match fields.get("value") {
        Some(value) => reader.whole(value, "value"),
        None => {
            reader.missing(&fields, "value", "value = 12, in months");
            None
        }
    };
    let source = reader.needed_text(&fields, "source");
    let confidence = match fields.get("confidence") {
        Some(value) => reader.word(value, "confidence", Confidence::WORDS),
        None => {
            let right = "confidence = \"seen\", \"memory\", \"practice\" or \"derived\"";
            reader.missing(&fields, "confidence", right);
            None
        }
    };
    Some(Interval { value: months?, source: source?, confidence: confidence? })
}

fn sources(reader: &mut Reader<'_>, value: &Value<'_>) -> BTreeMap<String, String> {
    let Some(fields) = reader.table(value, "sources".to_owned()) else { return BTreeMap::new() };
    let entries: Vec<_> = fields.entries().collect();
    entries
        .into_iter()
        .filter_map(|(key, value)| Some((key.to_owned(), reader.text(value, key)?)))
        .collect()
}

fn step(reader: &mut Reader<'_>, fields: &Fields<'_, '_>) -> Option<Step> {
    reader.only(fields, &STEP_KEYS);
    let id = reader.needed_text(fields, "id");
    let title = reader.needed_text(fields, "title");
    let instruction = reader.needed_text(fields, "instruction");
    let jars = match fields.get("jars") {
        Some(value) => reader.word(value, "jars", &JARS),
        None => Some(Jars::NotInvolved),
    };
    let tier = reader.optional_text(fields, "tier");
    let position = fields.get("position").and_then(|value| reader.whole(value, "position"));
    let expect = match fields.get("expect") {
        Some(value) => expect(reader, value),
        None => {
            let right = "expect = { observe = \"seen\", what = \"…\" }";
            reader.missing(fields, "expect", right);
            None
        }
    };
    let caution = fields.get("caution").and_then(|value| caution(reader, value));
    let on_failure = reader.needed_text(fields, "on_failure");
    let back_to = reader.optional_text(fields, "back_to");
    let why = reader.optional_text(fields, "why");
    Some(Step {
        id: id?,
        title: title?,
        instruction: instruction?,
        why: why.unwrap_or_default(),
        jars: jars?,
        tier,
        position,
        expect: expect?,
        caution,
        on_failure: on_failure?,
        back_to,
    })
}

fn caution(reader: &mut Reader<'_>, value: &Value<'_>) -> Option<Caution> {
    let fields = reader.table(value, "caution".to_owned())?;
    reader.only(&fields, &["text", "source"]);
    let text = reader.needed_text(&fields, "text");
    let source = reader.needed_text(&fields, "source");
    Some(Caution { text: text?, source: source? })
}

fn expect(reader: &mut Reader<'_>, value: &Value<'_>) -> Option<Expect> {
    #[derive(Clone, Copy)]
    enum Observe {
        Seen,
        Number,
    }
    let fields = reader.table(value, "expect".to_owned())?;
    let kinds = [("seen", Observe::Seen), ("number", Observe::Number)];
    let observe = match fields.get("observe") {
        Some(value) => reader.word(value, "observe", &kinds),
        None => {
            reader.missing(&fields, "observe", "observe = \"seen\" or \"number\"");
            None
        }
    };
    let what = reader.needed_text(&fields, "what");
    match observe? {
        Observe::Seen => {
            reader.only(&fields, &["observe", "what"]);
            Some(Expect::Seen { what: what? })
        }
        Observe::Number => {
            let keys = ["observe", "what", "unit", "limits", "source", "with", "difference"];
            reader.only(&fields, &keys);
            let unit = reader.optional_text(&fields, "unit").unwrap_or_default();
            let limits = fields.get("limits").map(|value| limits(reader, value));
            let source = reader.optional_text(&fields, "source").unwrap_or_default();
            let kinds = ItemKind::ALL.map(|kind| (kind.as_str(), kind));
            let instrument =
                fields.get("with").and_then(|value| reader.word(value, "with", &kinds));
            let limits = limits.unwrap_or_default();
            let difference = match fields.get("difference") {
                Some(value) => Some(difference(reader, value)?),
                None => None,
            };
            Some(Expect::Number { what: what?, unit, limits, source, instrument, difference })
        }
    }
}

fn difference(reader: &mut Reader<'_>, value: &Value<'_>) -> Option<Difference> {
    let fields = reader.table(value, "difference".to_owned())?;
    reader.only(&fields, &["read", "less", "from"]);
    let read = reader.needed_text(&fields, "read");
    let less = reader.optional_text(&fields, "less");
    let from = reader.optional_text(&fields, "from");
    match (less, from) {
        (Some(less), None) => Some(Difference::Less { read: read?, less }),
        (None, Some(from)) => Some(Difference::From { read: read?, from }),
        (Some(_), Some(_)) => {
            let wrong =
                "the difference is taken between two readings here and from an earlier step";
            let right =
                "write less = \"…\" for a second reading, or from = \"…\" for an earlier step";
            reader.fault(fields.place_of("from"), wrong, right);
            None
        }
        (None, None) => {
            let right = "less = \"…\", what is read besides, or from = \"…\", an earlier step";
            reader.missing(&fields, "less", right);
            None
        }
    }
}

fn limits(reader: &mut Reader<'_>, value: &Value<'_>) -> Limits {
    let Some(fields) = reader.table(value, "limits".to_owned()) else { return Limits::default() };
    reader.only(&fields, &["lower", "upper"]);
    let mut limit = |key| fields.get(key).and_then(|value| reader.decimal(value, key));
    Limits { lower: limit("lower"), upper: limit("upper") }
}

/// The same procedure for an item that is made for other figures: other limits in some steps.
fn variant(
    reader: &mut Reader<'_>,
    fields: &Fields<'_, '_>,
    base: &Procedure,
) -> Option<Procedure> {
    reader.only(fields, &["id", "title", "step"]);
    let id = reader.needed_text(fields, "id");
    let title = reader.needed_text(fields, "title");
    let changes = tables(reader, fields, "step");
    if changes.is_empty() {
        let right = "a [[variant.step]] with id, limits and source";
        reader.missing(fields, "step", right);
    }
    let mut steps = base.steps.clone();
    for change in &changes {
        change_step(reader, change, &mut steps);
    }
    Some(Procedure {
        id: id?,
        title: title?,
        needed_for_service: false,
        stands_for: Some(base.id.clone()),
        steps,
        ..base.clone()
    })
}

fn change_step(reader: &mut Reader<'_>, change: &Fields<'_, '_>, steps: &mut [Step]) {
    reader.only(change, &["id", "title", "instruction", "what", "limits", "source"]);
    let Some(id) = reader.needed_text(change, "id") else { return };
    let known: Vec<String> = steps.iter().map(|step| step.id.clone()).collect();
    let step = steps.iter_mut().find(|step| step.id == id);
    let Some(Step {
        title,
        instruction,
        expect: Expect::Number { what, limits: old, source, .. },
        ..
    }) = step
    else {
        let wrong =
            format!("the variant changes “{id}”, which is no step in which a number is read");
        reader.fault(change.place_of("id"), wrong, format!("write one of {}", known.join(", ")));
        return;
    };
    for (key, text) in [("title", title), ("instruction", instruction), ("what", what)] {
        if let Some(other) = reader.optional_text(change, key) {
            *text = other;
        }
    }
    if let Some(value) = change.get("limits") {
        *old = limits(reader, value);
    }
    // Another figure has another source; the old one must not stay beside it.
    if let Some(other) = reader.needed_text(change, "source") {
        *source = other;
    }
}
