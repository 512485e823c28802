//! Papers and tables in the description: one address each, from the list that hands them out.

use super::{Describer, path_parameters, problems, title};
use crate::papers;
use serde_json::{Map, json};
use stonewear_lab::fact::PaperLanguage;

impl Describer {
    pub(super) fn papers(&mut self) {
        for handed in papers::all() {
            let mut parameters = path_parameters(handed.path);
            let ending = handed.path.rsplit_once('.').map_or("", |(_, ending)| ending);
            // Of which kind it is turns out by the name of the file, where that is filled in.
            let kind = papers::media_type(ending);
            if kind.is_none_or(|kind| kind == "application/pdf") {
                parameters.push(json!({
                    "name": "language",
                    "in": "query",
                    "required": false,
                    "description": "The language of a paper that is made now; that of the letterhead where nothing is said. An issued file stays as it is.",
                    "schema": { "type": "string", "enum": PaperLanguage::ALL.map(PaperLanguage::tag) },
                }));
            }
            if handed.name == "labels" {
                parameters.push(json!({
                    "name": "code",
                    "in": "query",
                    "required": true,
                    "description": "What a label is made of, by its code; again for the next.",
                    "schema": { "type": "array", "items": { "type": "string" }, "minItems": 1 },
                }));
                parameters.push(json!({
                    "name": "size",
                    "in": "query",
                    "required": false,
                    "description": "Width x height of a label in mm, like 62x29, or A4-sheet.",
                    "schema": { "type": "string" },
                }));
            }
            let mut responses = problems(&[404, 422]);
            let mut content = Map::new();
            content.insert(kind.unwrap_or("*/*").to_owned(), json!({}));
            responses.insert(
                "200".to_owned(),
                json!({ "description": handed.says, "content": content }),
            );
            let operation = json!({
                "operationId": format!("print-{}", handed.name),
                "summary": title(handed.name),
                "description": format!("{} Needs the scope read.", handed.says),
                "tags": ["Papers and tables"],
                "parameters": parameters,
                "responses": responses,
            });
            self.add(handed.path, "get", operation);
        }
    }
}
