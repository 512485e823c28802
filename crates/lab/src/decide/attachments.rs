//! Files attached to what was observed.

use super::Desk;
use super::form::Form;
use crate::attachment::{KINDS_IN_WORDS, LARGEST_FILE, LONGEST_NAME, MEDIA_TYPES};
use crate::fact::{Fact, FileAttached, Right};
use crate::refusal::Refusal;
use crate::request::AttachFile;

impl Desk<'_> {
    pub(super) fn attach_file(&self, request: &AttachFile) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Test)?;
        let mut form = Form::new();
        let to = request.to.trim().to_uppercase();
        if !self.has_code(&to) {
            let message = if to.is_empty() {
                "what the file belongs to is missing".to_owned()
            } else {
                format!("nothing here has the code “{}”", request.to.trim())
            };
            let hint =
                "name a check, an item, a sample, a specimen, a run, a result or an authorisation";
            form.wrong("to", "code-unknown", message, hint);
        }
        let step = self.step_of(&mut form, &to, &request.step);
        let name = read_name(&mut form, &request.name);
        let media_type = request.media_type.trim().to_owned();
        if !MEDIA_TYPES.contains(&media_type.as_str()) {
            let message = "it is not a kind of file that is kept";
            form.wrong(
                "media_type",
                "input-media-type",
                message,
                format!("attach {KINDS_IN_WORDS}"),
            );
        }
        let sha256 = request.sha256.trim().to_owned();
        if !is_hash(&sha256) {
            let message = format!("“{sha256}” is not the SHA-256 of a file");
            let hint = "it is 64 hexadecimal digits in lower case";
            form.wrong("sha256", "input-hash", message, hint);
        }
        let bytes = read_size(&mut form, &request.bytes);
        let is_there = self
            .lab
            .attachments_of(&to)
            .iter()
            .find(|one| one.value.sha256 == sha256 && one.value.step == step);
        if let Some(there) = is_there {
            let message = format!(
                "the very same file is attached here already, as “{}” by {}",
                there.value.name, there.by
            );
            form.wrong("sha256", "file-attached", message, "nothing is to be done");
        }
        form.facts(vec![Fact::FileAttached(FileAttached {
            to,
            step,
            name,
            media_type,
            sha256,
            bytes,
        })])
    }

    fn has_code(&self, code: &str) -> bool {
        let lab = self.lab;
        lab.checks.contains_key(code)
            || lab.authorisations.contains_key(code)
            || lab.items.contains_key(code)
            || lab.samples.contains_key(code)
            || lab.specimens.contains_key(code)
            || lab.runs.contains_key(code)
            || lab.results.contains_key(code)
    }

    /// The step that is named, which must be one of the check's.
    fn step_of(&self, form: &mut Form, to: &str, typed: &str) -> Option<String> {
        let typed = typed.trim();
        if typed.is_empty() {
            return None;
        }
        let Some(check) = self.lab.checks.get(to) else {
            let message = format!("a step is named, “{typed}”, but only checks have steps");
            form.wrong("step", "step-unknown", message, "name a check, or leave the step out");
            return None;
        };
        if check.procedure.step(typed).is_none() {
            let known = check.procedure.steps.iter().map(|step| step.id.clone());
            let message = format!("{} has no step “{typed}”", check.procedure.title);
            let hint = format!("its steps: {}", crate::words::listed(known));
            form.wrong("step", "step-unknown", message, hint);
        }
        Some(typed.to_owned())
    }
}

/// A name that can be shown on a page and written to any disk.
pub(super) fn read_name(form: &mut Form, typed: &str) -> String {
    let name = typed.trim();
    let (rule, message, hint) = if name.is_empty() || name.chars().all(|c| c == '.') {
        ("input-missing", "the file has no name".to_owned(), "give it one, like lid-mark.jpg")
    } else if name.chars().count() > LONGEST_NAME {
        let message = format!("the name of the file is longer than {LONGEST_NAME} characters");
        ("input-too-long", message, "rename it, and attach it again")
    } else if name.contains(['/', '\\']) {
        let message = "the name of the file holds a path".to_owned();
        ("input-file-name", message, "give the name alone, without / and \\")
    } else if name.chars().any(|c| c.is_control() || turns_text_around(c)) {
        let message = "the name of the file holds characters that cannot be seen".to_owned();
        ("input-file-name", message, "rename it, and attach it again")
    } else {
        return name.to_owned();
    };
    form.wrong("name", rule, message, hint);
    name.to_owned()
}

/// Unicode's marks that change the direction of writing: with one of them a name can be made to
/// look as if it ended otherwise than it does.
fn turns_text_around(letter: char) -> bool {
    matches!(letter, '\u{200E}' | '\u{200F}' | '\u{202A}'..='\u{202E}' | '\u{2066}'..='\u{2069}')
}

pub(super) fn read_size(form: &mut Form, typed: &str) -> u64 {
    let Ok(bytes) = typed.trim().parse::<u64>() else {
        let message = format!("“{}” is not the size of a file", typed.trim());
        form.wrong("bytes", "input-number", message, "it is a whole number of bytes");
        return 0;
    };
    if bytes == 0 {
        form.wrong("bytes", "input-impossible", "the file is empty", "choose another");
    }
    if bytes > LARGEST_FILE {
        let message =
            format!("the file has {bytes} bytes; at most {LARGEST_FILE} (20 MB) are kept");
        form.wrong("bytes", "file-too-large", message, "make it smaller, or attach it in parts");
    }
    bytes
}

pub(super) fn is_hash(text: &str) -> bool {
    text.len() == 64 && text.bytes().all(|b| matches!(b, b'0'..=b'9' | b'a'..=b'f'))
}
