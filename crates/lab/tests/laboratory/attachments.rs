//! Photos and files attached to what was observed.

use crate::story::Story;
use stonewear_lab::fact::{Fact, FileAttached};
use stonewear_lab::request::*;

const HASH: &str = "0123456789abcdef0123456789abcdef0123456789abcdef0123456789abcdef";

fn photo(to: &str) -> AttachFile {
    AttachFile {
        to: to.into(),
        step: String::new(),
        name: "lid mark.jpg".into(),
        media_type: "image/jpeg".into(),
        sha256: HASH.into(),
        bytes: "48213".into(),
    }
}

/// A check of a jar at its first step, and this step.
fn at_a_step(story: &mut Story) -> (String, String) {
    story.given(StartCheck { item: "J1".into(), procedure: "jar-inspection".into() });
    let check = story.lab.checks.values().max_by_key(|check| check.started.position).unwrap();
    (check.code.to_string(), check.procedure.steps[0].id.clone())
}

#[test]
fn a_photo_of_a_step_is_kept_by_its_hash_with_who_and_when() {
    let mut story = Story::equipped();
    let (check, step) = at_a_step(&mut story);
    story.by = "CD".into();
    let facts = story.given(AttachFile { step: step.clone(), ..photo(&check.to_lowercase()) });
    assert_eq!(
        facts,
        [Fact::FileAttached(FileAttached {
            to: check.clone(),
            step: Some(step.clone()),
            name: "lid mark.jpg".into(),
            media_type: "image/jpeg".into(),
            sha256: HASH.into(),
            bytes: 48_213,
        })]
    );
    let attached = story.lab.attachments_of(&check);
    assert_eq!(attached.len(), 1);
    assert_eq!((attached[0].by.as_str(), attached[0].at), ("CD", story.at));
    assert_eq!(attached[0].position, story.lab.position);
    assert!(attached[0].value.is_picture());
    assert_eq!(story.lab.attached(HASH), Some(&attached[0]));
    assert_eq!(story.lab.attached(&"f".repeat(64)), None);
}

#[test]
fn files_belong_to_anything_that_is_observed() {
    let mut story = Story::equipped();
    let (specimen, result) = story.loss();
    let known = &story.lab.specimens[specimen.as_str()];
    let (sample, run) = (known.sample.to_string(), known.run.clone().unwrap().to_string());
    for code in ["BAL", &sample, &specimen, &run, &result] {
        story.given(photo(code));
        assert_eq!(story.lab.attachments_of(code).len(), 1, "{code}");
    }
}

#[test]
fn what_cannot_be_attached_is_refused_with_what_would_be_right() {
    let mut story = Story::equipped();
    let (check, step) = at_a_step(&mut story);
    let photo = || photo(&check);
    let table = [
        (
            AttachFile { to: "Q99".into(), ..photo() },
            "[code-unknown] to: nothing here has the code “Q99”; name a check, an item, a sample, \
             a specimen, a run, a result or an authorisation",
        ),
        (AttachFile { to: " ".into(), ..photo() }, "[code-unknown] to: what the file belongs to"),
        (
            AttachFile { step: "weld it".into(), ..photo() },
            "[step-unknown] step: jar inspection, bore 194 mm, height 170 mm has no step “weld it”; its steps: ",
        ),
        (
            AttachFile { to: "J1".into(), step, ..photo() },
            "but only checks have steps; name a check, or leave the step out",
        ),
        (AttachFile { name: " ".into(), ..photo() }, "[input-missing] name: the file has no name"),
        (AttachFile { name: "..".into(), ..photo() }, "[input-missing] name: the file has no name"),
        (
            AttachFile { name: "é".repeat(121), ..photo() },
            "[input-too-long] name: the name of the file is longer than 120 characters",
        ),
        (AttachFile { name: "../lid.jpg".into(), ..photo() }, "[input-file-name] name: "),
        (AttachFile { name: "C:\\lid.jpg".into(), ..photo() }, "[input-file-name] name: "),
        (AttachFile { name: "lid\u{0}.jpg".into(), ..photo() }, "[input-file-name] name: "),
        (AttachFile { name: "lid\u{202E}gpj.exe".into(), ..photo() }, "that cannot be seen"),
        (AttachFile { sha256: HASH.to_uppercase(), ..photo() }, "[input-hash] sha256: "),
        (AttachFile { sha256: HASH[1..].into(), ..photo() }, "[input-hash] sha256: "),
        (
            AttachFile { bytes: "20000001".into(), ..photo() },
            "[file-too-large] bytes: the file has 20000001 bytes; at most 20000000 (20 MB) are kept",
        ),
        (
            AttachFile { bytes: "0".into(), ..photo() },
            "[input-impossible] bytes: the file is empty",
        ),
        (AttachFile { bytes: "-1".into(), ..photo() }, "[input-number] bytes: "),
        (
            AttachFile { media_type: "image/svg+xml".into(), ..photo() },
            "[input-media-type] media_type: it is not a kind of file that is kept; attach a picture",
        ),
    ];
    for (request, wanted) in table {
        let refused = story.refused(request.clone());
        assert!(refused.contains(wanted) && !refused.contains('\n'), "{request:?}\n{refused}");
    }
    story.given(AttachFile { name: "é".repeat(120), bytes: "20000000".into(), ..photo() });
}

#[test]
fn the_same_file_is_attached_to_the_same_place_once() {
    let mut story = Story::equipped();
    let (check, step) = at_a_step(&mut story);
    story.given(photo(&check));
    let again = story.refused(AttachFile { name: "other name.jpg".into(), ..photo(&check) });
    assert_eq!(
        again,
        "[file-attached] sha256: the very same file is attached here already, as “lid mark.jpg” \
         by AB; nothing is to be done"
    );
    // The check as a whole and its step are two places; so are the check and its item.
    story.given(AttachFile { step, ..photo(&check) });
    story.given(photo("J1"));
}

#[test]
fn who_may_not_test_attaches_nothing() {
    let mut story = Story::equipped();
    story.given(AddPerson {
        code: "EF".into(),
        name: "Eva Fell".into(),
        rights: vec!["release".into()],
    });
    story.by = "EF".into();
    assert!(story.refused(photo("J1")).starts_with("[right-missing] by: Eva Fell may not test"));
}

#[test]
fn an_item_cannot_have_a_code_that_a_sample_could_have() {
    let story = Story::founded();
    let item = RegisterItem {
        code: "s26-001".into(),
        kind: "jar".into(),
        name: "jar".into(),
        ..RegisterItem::default()
    };
    let refused = story.refused(item);
    assert!(refused.starts_with("[input-code] code: S26-001 reads like the code of"), "{refused}");
}
