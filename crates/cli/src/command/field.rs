//! What a field of a request is called on the command line.

/// Fields that are given by their place in the command, not by an option.
const BY_PLACE: [&str; 20] = [
    "apparatus",
    "check",
    "code",
    "condition",
    "figure",
    "investigation",
    "item",
    "lot",
    "method",
    "person",
    "policy",
    "procedure",
    "reading",
    "result",
    "run",
    "sample",
    "seen",
    "specimen",
    "specimens",
    "step",
];

/// Options that are called otherwise than the field that they fill.
const OTHERWISE: [(&str, &str); 22] = [
    ("assigned_percent", "--assigned"),
    ("expanded_percent", "--expanded"),
    ("founder_code", "--founder"),
    ("instrument", "--with"),
    ("limit_document", "--limit-from"),
    ("limit_method", "--limit-for"),
    ("limit_percent", "--limit"),
    ("loss_percent", "--loss"),
    ("mass_g", "mass"),
    ("masses_g", "masses"),
    ("nominal_maximum_mm", "--nominal-maximum"),
    ("of", "what it is about"),
    ("opening_mm", "--opening"),
    ("placements", "--place"),
    ("received_g", "--mass"),
    ("received_on", "--received"),
    ("rights", "--may"),
    ("stock_g", "--stock"),
    ("table", "--file"),
    ("sampled_on", "--sampled"),
    ("values", "value"),
    ("water_c", "--water-temperature"),
];

/// The argument that fills this field of this request: `--opening` for `opening_mm`. Numbers of
/// lists count from 1 here, as people do.
pub(super) fn as_argument(request: &str, field: &str) -> String {
    if field.is_empty() {
        return String::new();
    }
    if let Some((list, rest)) = field.split_once('.') {
        let (number, inner) = rest.split_once('.').map_or((rest, None), |(n, i)| (n, Some(i)));
        let number = number.parse::<usize>().map_or(rest.to_owned(), |n| (n + 1).to_string());
        return match (list, inner) {
            ("placements", Some(inner)) => format!("--place {number}, {inner}"),
            ("masses_g", _) => format!("mass {number}"),
            ("values", _) => format!("value {number}"),
            ("factors", Some(inner)) => format!("--factor {number}, {inner}"),
            (list, _) => format!("{} {number}", as_argument(request, list)),
        };
    }
    match (request, field) {
        ("change-charge", "charge" | "change") => return field.to_owned(),
        ("change-charge", "before_g" | "after_g") => {
            return format!("--{}", field.trim_end_matches("_g"));
        }
        ("plan-experiment" | "import-experiment", "method") => return "--method".to_owned(),
        ("plan-experiment", "sample") => return "--sample".to_owned(),
        ("plan-experiment", "levels") => return "--level".to_owned(),
        ("assign-to-experiment", "run") => return "--run".to_owned(),
        ("assign-to-experiment" | "leave-out-of-experiment", "experiment") => {
            return "experiment".to_owned();
        }
        ("plan-study", "item" | "method" | "sample") => return format!("--{field}"),
        ("plan-study", "factors") => return "--factor".to_owned(),
        ("plan-study", "question") | (_, "study") => return field.to_owned(),
        ("assign-study-run", "run") => return "--run".to_owned(),
        ("begin-specimen" | "record-outside-result", "method") => return "--method".to_owned(),
        ("register-item", "apparatus") => return "--apparatus".to_owned(),
        ("correct-run", "specimen") => return "--specimen".to_owned(),
        ("record-sensitivity", "method") => return "--method".to_owned(),
        ("hand-over-sample", "step") => return "--step".to_owned(),
        ("register-lot", "method") => return "--method".to_owned(),
        ("receive-sample", "lot") => return "--lot".to_owned(),
        ("note-event", "what") => return "what".to_owned(),
        ("record-finding", "fault") => return "--fault".to_owned(),
        ("grant-authorisation" | "supervise-work", "activities") => return "--for".to_owned(),
        ("grant-authorisation" | "supervise-work", "method") => return "--method".to_owned(),
        ("change-authorisation", "authorisation") => return "authorisation".to_owned(),
        ("change-authorisation", "standing") => return String::new(),
        ("set-policy", "value") => return "value".to_owned(),
        ("attach-file", "to") => return "code".to_owned(),
        ("attach-file", "step") => return "--step".to_owned(),
        ("attach-file", "name" | "media_type" | "sha256" | "bytes") => return "file".to_owned(),
        (_, "round" | "participant" | "score") => return field.to_owned(),
        ("plan-round" | "take-in-scores", "method") => return "--method".to_owned(),
        ("plan-round", "materials" | "participants") => {
            return format!("--{}", field.trim_end_matches('s'));
        }
        ("join-round", "laboratory") => return field.to_owned(),
        // That of the laboratory itself is another.
        ("record-outside-result", "laboratory") => return "--other-laboratory".to_owned(),
        ("take-in-own-results" | "judge-cell", "material" | "results") => return field.to_owned(),
        // The verb says it.
        ("judge-cell", "left_out") => return String::new(),
        // The command itself says where the item is to stand.
        ("change-standing", "standing") => return String::new(),
        _ => {}
    }
    let otherwise = OTHERWISE.iter().find(|(name, _)| *name == field).map(|(_, option)| *option);
    match otherwise {
        Some(option) => option.to_owned(),
        None if BY_PLACE.contains(&field) => field.to_owned(),
        None => format!("--{}", field.replace('_', "-")),
    }
}

#[cfg(test)]
mod tests {
    use super::as_argument;

    #[test]
    fn a_field_is_called_as_its_argument() {
        for (request, field, argument) in [
            ("register-item", "opening_mm", "--opening"),
            ("register-item", "apparatus", "--apparatus"),
            ("start-run", "apparatus", "apparatus"),
            ("start-run", "placements.0.charge_g", "--place 1, charge_g"),
            ("start-run", "placements", "--place"),
            ("start-run", "water_c", "--water-temperature"),
            ("weigh-fractions", "masses_g.2", "mass 3"),
            ("begin-specimen", "method", "--method"),
            ("adopt-method", "method", "method"),
            ("receive-sample", "intended_use", "--intended-use"),
            ("observe", "step", "step"),
            ("hand-over-sample", "step", "--step"),
            ("hand-over-sample", "sample", "sample"),
            ("hand-over-sample", "to", "--to"),
            ("receive-sample", "received_g", "--mass"),
            ("receive-sample", "sampled_by", "--sampled-by"),
            ("add-person", "rights.0", "--may 1"),
            ("correct-run", "run", "run"),
            ("correct-run", "specimen", "--specimen"),
            ("record-sensitivity", "condition", "condition"),
            ("attach-file", "to", "code"),
            ("attach-file", "step", "--step"),
            ("attach-file", "media_type", "file"),
            ("set-policy", "value", "value"),
            ("confirm-figure", "value", "--value"),
            ("record-outside-result", "loss_percent", "--loss"),
            ("record-outside-result", "method", "--method"),
            ("record-outside-result", "laboratory", "--other-laboratory"),
            ("register-lot", "stock_g", "--stock"),
            ("register-lot", "method", "--method"),
            ("import-reference", "table", "--file"),
            ("import-reference", "lot", "lot"),
            ("receive-sample", "lot", "--lot"),
            ("freeze-baseline", "excluded.0.point", "--excluded 1"),
            ("plan-round", "materials", "--material"),
            ("plan-round", "method", "--method"),
            ("plan-round", "closes_on", "--closes-on"),
            ("take-in-results", "round", "round"),
            ("take-in-results", "table", "--file"),
            ("take-in-own-results", "material", "material"),
            ("receive-sample", "material", "--material"),
            ("join-round", "laboratory", "laboratory"),
            ("judge-cell", "participant", "participant"),
            ("close-score", "score", "score"),
            ("change-charge", "change", "change"),
            ("change-charge", "after_g", "--after"),
            ("start-run", "placements.0.charge", "--place 1, charge"),
            ("plan-experiment", "levels.1", "--level 2"),
            ("plan-experiment", "condition", "condition"),
            ("assign-to-experiment", "run", "--run"),
            ("leave-out-of-experiment", "run", "run"),
            ("record-sensitivity", "experiment", "--experiment"),
            ("import-experiment", "table", "--file"),
            ("grant-authorisation", "activities", "--for"),
            ("grant-authorisation", "person", "person"),
            ("supervise-work", "method", "--method"),
            ("change-authorisation", "authorisation", "authorisation"),
            ("weigh-before", "", ""),
            ("change-standing", "standing", ""),
        ] {
            assert_eq!(as_argument(request, field), argument, "{request} {field}");
        }
    }
}
