//! Issuing papers, and setting their letterhead.

use super::Desk;
use super::attachments::is_hash;
use super::form::Form;
use crate::fact::{
    Fact, LetterheadSet, Logo, PaperFact, PaperIssued, PaperKind, PaperLanguage, Right, SheetSize,
};
use crate::refusal::Refusal;
use crate::request::{IssuePaper, SetLetterhead};
use crate::state::NextPaper;
use base64::Engine;
use base64::engine::general_purpose::STANDARD;

/// The largest logo that is kept, in bytes: it stands in the journal itself.
pub(super) const LARGEST_LOGO: usize = 64 * 1024;
/// So many lines stand at the head of a paper without pushing down what it says.
const MOST_LINES: usize = 4;

impl Desk<'_> {
    pub(super) fn issue_paper(&self, request: &IssuePaper) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Release)?;
        let mut form = Form::new();
        let typed_reason = form.optional("reason", &request.reason);
        let of = request.of.trim();
        let Ok(kind) = request.paper.trim().parse::<PaperKind>() else {
            let known = PaperKind::ALL.map(PaperKind::name).join(", ");
            let message = format!("“{}” is no paper that is issued", request.paper.trim());
            form.wrong("paper", "paper-kind", message, known);
            return form.refuse();
        };
        let Some(next) = self.lab.next_paper(kind, of, self.context.at) else {
            let (rule, message) = self.why_not(kind, of);
            form.wrong("of", rule, message, "release a result, then issue its report");
            return form.refuse();
        };
        if request.number.trim() != next.number {
            let message =
                format!("the paper is numbered “{}”, the next is {}", request.number, next.number);
            form.wrong("number", "paper-number", message, "make the paper again");
        }
        let reason = if typed_reason.is_empty() { next.reason.clone() } else { typed_reason };
        if let (Some(former), true) = (&next.replaces, reason.is_empty()) {
            let message =
                format!("{former} was issued already; why another takes its place is missing");
            form.wrong("reason", "input-missing", message, "say what changed, and why");
        }
        let made_at = self.made_at(&mut form, &request.made_at, &next);
        let language = language(&mut form, &request.language);
        for (field, hash) in [("fingerprint", &request.fingerprint), ("sha256", &request.sha256)] {
            if !is_hash(hash.trim()) {
                let message = format!("“{}” is no SHA-256", hash.trim());
                form.wrong(
                    field,
                    "input-hash",
                    message,
                    "it is 64 hexadecimal digits in lower case",
                );
            }
        }
        if let Some(there) = self.lab.papers.get(request.fingerprint.trim()) {
            let message = format!("this very paper was issued already, as {}", there.value.number);
            form.wrong("fingerprint", "paper-issued", message, "nothing is to be done");
        }
        let bytes = request.bytes.trim().parse::<u64>().ok().filter(|bytes| *bytes > 0);
        if bytes.is_none() {
            let message = format!("“{}” is not the size of a file", request.bytes.trim());
            form.wrong("bytes", "input-number", message, "it is a whole number of bytes");
        }
        form.facts(vec![Fact::Paper(PaperFact::Issued(PaperIssued {
            paper: kind,
            of: of.to_owned(),
            number: next.number,
            covers: next.covers,
            fingerprint: request.fingerprint.trim().to_owned(),
            made_at,
            sha256: request.sha256.trim().to_owned(),
            bytes: bytes.unwrap_or_default(),
            replaces: next.replaces,
            reason,
            language,
        }))])
    }

    fn why_not(&self, kind: PaperKind, of: &str) -> (&'static str, String) {
        match kind {
            PaperKind::TestReport if self.lab.results.contains_key(of) => {
                ("result-not-released", format!("nobody has released {of} yet"))
            }
            PaperKind::TestReport => ("result-unknown", format!("there is no result “{of}”")),
            PaperKind::ProjectReport => {
                ("project-unknown", format!("no result of a project “{of}” is released"))
            }
        }
    }

    /// Up to where in the journal the paper was made: what it reports may not have changed since.
    fn made_at(&self, form: &mut Form, typed: &str, next: &NextPaper) -> u64 {
        let position = self.lab.position;
        let Some(made_at) = typed.trim().parse::<u64>().ok().filter(|made| *made <= position)
        else {
            let message = format!("“{}” is no place in the journal", typed.trim());
            form.wrong("made_at", "input-number", message, format!("it is at fact {position}"));
            return 0;
        };
        let changed = next.covers.iter().filter_map(|one| self.lab.results.get(&one.result));
        let changed = changed.filter(|result| {
            let doubts = self.lab.doubts_of(&result.code).flat_map(|doubt| {
                let closed = doubt.closed.get(&result.code).map(|closed| closed.position);
                std::iter::once(doubt.opened.position).chain(closed)
            });
            let version = result.current().map(|version| version.position);
            let release = result.release().map(|release| release.position);
            doubts.chain(version).chain(release).any(|changed| changed > made_at)
        });
        for result in changed {
            let message = format!("{} has changed since the paper was made", result.code);
            form.wrong("made_at", "paper-outdated", message, "make the paper again, and read it");
        }
        made_at
    }

    pub(super) fn set_letterhead(&self, request: &SetLetterhead) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Manage)?;
        let mut form = Form::new();
        let address = lines(&mut form, "address", &request.address);
        let contact = lines(&mut form, "contact", &request.contact);
        let sheet = match request.sheet.trim().to_lowercase().as_str() {
            "" | "a4" => SheetSize::A4,
            "letter" => SheetSize::Letter,
            _ => {
                let message = format!("“{}” is no size of paper", request.sheet.trim());
                form.wrong("sheet", "input-value", message, "a4 or letter");
                SheetSize::A4
            }
        };
        let language = language(&mut form, &request.language);
        let page = form.optional("page", &request.page).trim_end_matches('/').to_owned();
        let is_address = page.strip_prefix("http://").or_else(|| page.strip_prefix("https://"));
        if !page.is_empty()
            && is_address.is_none_or(|rest| {
                rest.is_empty() || !rest.is_ascii() || rest.contains(char::is_whitespace)
            })
        {
            let message = format!("“{page}” is no address of a page");
            form.wrong("page", "input-address", message, "write it like http://bench:7007");
        }
        let logo = match request.logo.trim() {
            "" | "keep" => self.lab.letterhead().and_then(|head| head.logo.clone()),
            "none" => None,
            bytes => logo(&mut form, bytes, &request.logo_name),
        };
        let set = LetterheadSet {
            address,
            contact,
            place_of_work: form.optional("place_of_work", &request.place_of_work),
            accreditation: form.optional("accreditation", &request.accreditation),
            limits: form.optional("limits", &request.limits),
            sheet,
            language,
            page,
            logo,
        };
        if self.lab.letterhead() == Some(&set) {
            let message = "the letterhead is that already";
            form.wrong("address", "letterhead-in-force", message, "nothing needs to be done");
        }
        form.facts(vec![Fact::Paper(PaperFact::LetterheadSet(Box::new(set)))])
    }
}

/// A language of the papers; English where nothing is said.
fn language(form: &mut Form, typed: &str) -> PaperLanguage {
    match typed.trim() {
        "" => PaperLanguage::default(),
        typed => typed.parse().unwrap_or_else(|_| {
            let message = format!("the program writes no papers in “{typed}”");
            form.wrong("language", "input-value", message, "en, fr, es or de");
            PaperLanguage::default()
        }),
    }
}

/// A few lines; blank ones are left out.
fn lines(form: &mut Form, field: &str, typed: &str) -> Vec<String> {
    let text = form.optional(field, typed);
    let lines: Vec<String> =
        text.lines().map(str::trim).filter(|line| !line.is_empty()).map(str::to_owned).collect();
    if lines.len() > MOST_LINES {
        let message = format!("{} lines are too many at the head of a paper", lines.len());
        form.wrong(field, "input-too-long", message, format!("at most {MOST_LINES}"));
    }
    lines
}

fn logo(form: &mut Form, typed: &str, name: &str) -> Option<Logo> {
    const KINDS: &str = "choose a PNG, a JPEG, or an SVG of plain shapes, of at most 64 KiB";
    let Ok(bytes) = STANDARD.decode(typed) else {
        form.wrong("logo", "input-media-type", "the logo did not arrive whole", KINDS);
        return None;
    };
    if bytes.len() > LARGEST_LOGO {
        let message =
            format!("the logo has {} bytes; at most {LARGEST_LOGO} are kept", bytes.len());
        form.wrong("logo", "file-too-large", message, KINDS);
        return None;
    }
    let Some(media_type) = kind_of_logo(&bytes) else {
        form.wrong("logo", "input-media-type", "this file is no logo that can be printed", KINDS);
        return None;
    };
    let name = form.optional("logo_name", name);
    Some(Logo { name, media_type: media_type.to_owned(), base64: typed.to_owned() })
}

/// The kind of a logo by its content. An SVG may hold shapes only: nothing that runs, nothing from
/// elsewhere.
fn kind_of_logo(bytes: &[u8]) -> Option<&'static str> {
    if bytes.starts_with(b"\x89PNG\r\n\x1A\n") {
        return Some("image/png");
    }
    if bytes.starts_with(&[0xFF, 0xD8, 0xFF]) {
        return Some("image/jpeg");
    }
    let text = std::str::from_utf8(bytes).ok()?.trim_start_matches('\u{FEFF}').trim_start();
    let is_svg = (text.starts_with("<svg") || text.starts_with("<?xml")) && text.contains("</svg>");
    let low = text.to_lowercase();
    let foreign = ["<script", "<foreignobject", "<image", "<!entity", "javascript:", "url(http"];
    (is_svg && !foreign.iter().any(|word| low.contains(word))).then_some("image/svg+xml")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_content_says_what_a_logo_is() {
        let table: [(&[u8], Option<&str>); 7] = [
            (b"\x89PNG\r\n\x1A\nrest", Some("image/png")),
            (b"\xFF\xD8\xFF\xE0", Some("image/jpeg")),
            (b"<svg xmlns='http://www.w3.org/2000/svg'><path/></svg>", Some("image/svg+xml")),
            (b"<?xml version='1.0'?><svg><circle/></svg>", Some("image/svg+xml")),
            (b"<svg><script>alert(1)</script></svg>", None),
            (b"<svg><image href='http://elsewhere/x.png'/></svg>", None),
            (b"%PDF-1.7", None),
        ];
        for (bytes, kind) in table {
            assert_eq!(kind_of_logo(bytes), kind, "{}", String::from_utf8_lossy(bytes));
        }
    }
}
