//! How an apparatus is built, asked in a form instead of a file.

use super::View;
use super::parts::{self, Field};
use maud::{Markup, html};
use serde_json::{Map, Value, json};

/// Most tiers and doors that the form asks for; larger machines are described in a file.
const MOST_TIERS: usize = 3;
const MOST_DOORS: usize = 2;

pub(super) fn fields(view: &View<'_>, request: &'static str) -> Markup {
    let options = |list: &[(&str, &str)]| -> Vec<(String, String)> {
        list.iter().map(|(value, label)| ((*value).to_owned(), (*label).to_owned())).collect()
    };
    html! {
        h2 { "How it is built" }
        p { "Its function check follows from this, so look at the machine and its manual." }
        (parts::radios(view, request, "built.control", "A run can be made to end by", options(&[
            ("both", "a timer or a revolution counter"),
            ("revolutions", "a revolution counter only"),
            ("time", "a timer only"),
        ]), Some("both")))
        (parts::radios(view, request, "built.counter_senses", "The counter senses", options(&[
            ("roller", "the shaft of a roller: it counts on an empty machine too"),
            ("jar lid", "a mark on the lid of a jar: an empty machine counts nothing"),
            ("nothing", "there is no counter"),
        ]), Some("roller")))
        (parts::radios(view, request, "built.mode_change", "Timer or counter is chosen", options(&[
            ("at the panel", "at the panel"),
            ("power off and on", "by switching the power off and on"),
        ]), Some("at the panel")))
        (parts::radios(view, request, "built.after_power_loss", "When the power fails, the count", options(&[
            ("count lost", "starts again from zero"),
            ("count kept", "is kept"),
        ]), Some("count lost")))
        (Field::text(view, request, "built.time_step", "Smallest step of the timer").default("1 min"))
        (Field::number(view, request, "built.nominal_rpm", "Nominal speed").unit("rev/min").default("100"))
        @for index in 1..=MOST_TIERS {
            fieldset.panel {
                legend { "Tier " (index) @if index > 1 { " (leave empty if there is none)" } }
                (Field::text(view, request, &format!("built.tier_{index}_name"), "Name").hint("like upper").optional()
                    .default(if index == 1 { "upper" } else { "" }))
                (Field::number(view, request, &format!("built.tier_{index}_positions"), "Places for jars").optional()
                    .default(if index == 1 { "1" } else { "" }))
            }
        }
        @for index in 1..=MOST_DOORS {
            fieldset.panel {
                legend { "Door of the guard that is closed as number " (index) " (leave empty if there is none)" }
                (Field::text(view, request, &format!("built.door_{index}_name"), "Name").hint("like front").optional()
                    .default(if index == 1 { "front" } else { "" }))
                (parts::tick_box(view, request, &format!("built.door_{index}_latch"), "It has a latch"))
            }
        }
        (parts::radios(view, request, "built.interlock", "An open door", options(&[
            ("yes", "stops the drive"),
            ("no", "does not stop the drive"),
        ]), Some("yes")))
    }
}

/// Turns the form's answers into the description that the request carries.
pub(crate) fn describe(request: &mut Value) {
    let Some(fields) = request.as_object_mut() else { return };
    let Some(Value::Object(built)) = fields.remove("built") else { return };
    let text =
        |key: &str| built.get(key).and_then(Value::as_str).unwrap_or_default().trim().to_owned();
    let control = match text("control").as_str() {
        "time" => json!(["time"]),
        "revolutions" => json!(["revolutions"]),
        _ => json!(["time", "revolutions"]),
    };
    let name = fields.get("name").cloned().unwrap_or_default();
    let mut description = Map::new();
    for key in ["counter_senses", "mode_change", "after_power_loss", "time_step"] {
        let answer = text(key);
        if !answer.is_empty() {
            description.insert(key.to_owned(), Value::String(answer));
        }
    }
    // What is no number becomes zero, which the rules of a description refuse in words.
    let rpm = stonewear_measure::read(&text("nominal_rpm")).unwrap_or_default();
    description.insert("nominal_rpm".to_owned(), Value::String(rpm.to_string()));
    description.insert("name".to_owned(), name);
    description.insert("control".to_owned(), control);
    description.insert("interlock".to_owned(), Value::Bool(text("interlock") != "no"));
    let tiers: Vec<Value> = (1..=MOST_TIERS)
        .filter(|index| !text(&format!("tier_{index}_name")).is_empty())
        .map(|index| {
            let positions = text(&format!("tier_{index}_positions")).parse::<u32>().unwrap_or(0);
            json!({ "name": text(&format!("tier_{index}_name")), "positions": positions })
        })
        .collect();
    let doors: Vec<Value> = (1..=MOST_DOORS)
        .filter(|index| !text(&format!("door_{index}_name")).is_empty())
        .map(|index| {
            let latch = text(&format!("door_{index}_latch")) == "yes";
            json!({ "name": text(&format!("door_{index}_name")), "close": index, "latch": latch })
        })
        .collect();
    description.insert("tiers".to_owned(), Value::Array(tiers));
    description.insert("doors".to_owned(), Value::Array(doors));
    fields.insert("apparatus".to_owned(), Value::Object(description));
}
