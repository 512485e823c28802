//! Any requests in any order, of an empty laboratory or one in which much has happened: each is decided or
//! refused with a reason, what was decided is applied, and the facts alone, read back as the journal keeps
//! them, give the same laboratory.
#![no_main]

#[path = "../../crates/lab/tests/laboratory/story/mod.rs"]
mod story;

use libfuzzer_sys::arbitrary::{Arbitrary, Unstructured};
use libfuzzer_sys::fuzz_target;
use serde_json::{Map, Value};
use std::cell::LazyCell;
use stonewear_lab::request::{Form, Kind};
use stonewear_lab::{Lab, Recorded, Request};
use story::Story;
use story::busy::TYPED;

struct Known {
    busy: Story,
    forms: Vec<(Request, Form)>,
    words: Vec<String>,
}

thread_local! {
    static KNOWN: LazyCell<Known> = LazyCell::new(known);
}

/// Every word that fits somewhere: those of the stories, and every code of the laboratory.
fn known() -> Known {
    let busy = Story::busy();
    let mut words: Vec<String> = TYPED.iter().map(|word| (*word).to_owned()).collect();
    words.extend(busy.lab.samples.keys().map(ToString::to_string));
    words.extend(busy.lab.specimens.keys().map(ToString::to_string));
    words.extend(busy.lab.runs.keys().map(ToString::to_string));
    words.extend(busy.lab.results.keys().map(ToString::to_string));
    words.extend(busy.lab.checks.keys().map(ToString::to_string));
    words.extend(busy.lab.items.keys().map(ToString::to_string));
    let forms = Request::empty_ones().into_iter().map(|one| (one.clone(), one.form())).collect();
    Known { busy, forms, words }
}

type Typed<T> = libfuzzer_sys::arbitrary::Result<T>;

fn text(words: &[String], from: &mut Unstructured<'_>) -> Typed<Value> {
    Ok(match u8::arbitrary(from)? {
        0..=99 => String::new(),
        100..=219 => from.choose(words)?.clone(),
        220..=239 => i32::arbitrary(from)?.to_string(),
        240..=247 => format!("{}.{}", u16::arbitrary(from)?, u8::arbitrary(from)?),
        _ => <&str>::arbitrary(from)?.to_owned(),
    }
    .into())
}

fn value(kind: &Kind, words: &[String], from: &mut Unstructured<'_>) -> Typed<Value> {
    Ok(match kind {
        Kind::Text => text(words, from)?,
        Kind::Whole => u32::arbitrary(from)?.into(),
        Kind::List(each) => {
            let many = from.int_in_range(0..=4)?;
            (0..many).map(|_| value(each, words, from)).collect::<Typed<Vec<_>>>()?.into()
        }
        Kind::Form(form) => Value::Object(fields(form, words, from)?),
        Kind::Apparatus => match bool::arbitrary(from)? {
            true => {
                serde_json::to_value(stonewear_procedure::Apparatus::default()).unwrap_or_default()
            }
            false => Value::Null,
        },
    })
}

fn fields(form: &Form, words: &[String], from: &mut Unstructured<'_>) -> Typed<Map<String, Value>> {
    let each = form.fields.iter();
    each.map(|field| Ok((field.name.to_owned(), value(&field.kind, words, from)?))).collect()
}

fn request(known: &Known, from: &mut Unstructured<'_>) -> Typed<Request> {
    let (empty, form) = from.choose(&known.forms)?;
    let mut typed = fields(form, &known.words, from)?;
    typed.insert("request".to_owned(), empty.name().into());
    Ok(serde_json::from_value(Value::Object(typed)).expect("it fits its form"))
}

fn bytes(lab: &Lab) -> Vec<u8> {
    serde_json::to_vec(lab).expect("a laboratory can be written")
}

// Told once, before anything is timed.
fuzz_target!(init: KNOWN.with(|known| assert!(!known.words.is_empty())), |data: &[u8]| {
    KNOWN.with(|known| {
        let mut from = Unstructured::new(data);
        let start = match from.ratio(1_u8, 8).unwrap_or(false) {
            true => Lab::new(),
            false => known.busy.lab.clone(),
        };
        let mut again = start.clone();
        let mut story = Story { lab: start, recorded: Vec::new(), ..Story::empty() };
        // Time goes on behind what has happened.
        story.at = known.busy.at;
        for _ in 0..12 {
            if from.is_empty() {
                break;
            }
            let Ok(request) = request(known, &mut from) else { break };
            story.by = if from.ratio(1_u8, 6).unwrap_or(false) { "CD" } else { "AB" }.to_owned();
            match story.when(request) {
                Ok(facts) => assert!(!facts.is_empty()),
                Err(refusal) => assert!(!refusal.problems.is_empty()),
            }
        }
        if story.recorded.is_empty() {
            return;
        }
        for recorded in &story.recorded {
            let kept = serde_json::to_string(&recorded.fact).expect("a fact can be written");
            let fact = serde_json::from_str(&kept).expect("and read again");
            again.apply(&Recorded { fact, ..recorded.clone() });
        }
        assert!(bytes(&again) == bytes(&story.lab), "replayed, it is another laboratory");
    });
});
