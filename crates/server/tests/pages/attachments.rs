//! Photos and files: attached on the page of what they belong to, shown there, handed out safely.

use crate::markup;
use crate::site::{Answer, Site};
use axum::http::StatusCode;

const PHOTO: &[u8] = b"\x89PNG\r\n\x1A\n an invented picture";
const CERTIFICATE: &[u8] = b"%PDF-1.7\n an invented certificate";

/// Attaches to an item of the demo laboratory.
fn attach(site: &Site, files: &[(&str, &[u8])]) -> Answer {
    let fields = [("to", "BAL-1"), ("step", ""), ("back", "/equipment/BAL-1")];
    site.send_files(&fields, files)
}

fn files_on(site: &Site, path: &str) -> Vec<String> {
    let page = site.get(path);
    page.is_a_good_page();
    markup::links(&page.body).into_iter().filter(|link| link.starts_with("/files/")).collect()
}

#[test]
fn several_photos_and_files_are_attached_at_once_and_shown_with_who_and_hash() {
    let site = Site::demo();
    let facts = site.facts();
    // A field for files that is left empty sends one without a name.
    let sent = attach(&site, &[("", b""), ("pan 1.png", PHOTO), ("certificate.pdf", CERTIFICATE)]);
    assert_eq!(sent.onward(), "/equipment/BAL-1");
    assert_eq!(site.facts(), facts + 2);
    let links = files_on(&site, "/equipment/BAL-1");
    assert_eq!(links.len(), 2);
    let page = site.get("/equipment/BAL-1");
    let tags = markup::read(&page.body).unwrap();
    let images = tags.iter().filter(|tag| {
        let is_file = tag.attribute("src").is_some_and(|src| src.starts_with("/files/"));
        tag.name == "img" && is_file
    });
    let images: Vec<_> = images.collect();
    assert_eq!(images.len(), 1, "only pictures are shown small");
    assert_eq!(images[0].attribute("alt"), Some("pan 1.png"));
    let hash = images[0].attribute("src").unwrap().strip_prefix("/files/").unwrap();
    assert!(page.text().contains(&format!("PNG, 1 kB, SHA-256 {}…", &hash[..12])));
    assert!(links.contains(&format!("/files/{hash}")));
}

#[test]
fn a_photo_at_the_step_at_hand_of_a_check_names_the_step() {
    let site = Site::demo();
    let links = markup::links(&site.get("/").body);
    let path = links.iter().find(|link| link.starts_with("/checks/")).expect("an open check");
    let page = site.get(path);
    page.is_a_good_page();
    let tags = markup::read(&page.body).unwrap();
    let at = tags.iter().position(|tag| tag.attribute("action") == Some("/attach")).unwrap();
    let hidden = |name: &str| {
        let field = tags[at..].iter().find(|tag| tag.attribute("name") == Some(name));
        field.unwrap().attribute("value").unwrap().to_owned()
    };
    let (to, step, back) = (hidden("to"), hidden("step"), hidden("back"));
    assert_eq!((path.rsplit('/').next().unwrap(), path.as_str()), (to.as_str(), back.as_str()));
    assert!(!step.is_empty());
    let fields = [("to", to.as_str()), ("step", &step), ("back", &back)];
    assert_eq!(site.send_files(&fields, &[("lid.png", PHOTO)]).onward(), path);
    assert!(site.get(path).text().contains("Step: "));
    assert_eq!(files_on(&site, path).len(), 1);
}

#[test]
fn a_form_with_files_sent_twice_happens_once() {
    let site = Site::demo();
    let facts = site.facts();
    let fields = [("_key", "some-key"), ("to", "BAL-1"), ("back", "/equipment/BAL-1")];
    let files: [(&str, &[u8]); 2] = [("pan.png", PHOTO), ("certificate.pdf", CERTIFICATE)];
    for _ in 0..2 {
        assert_eq!(site.send_files(&fields, &files).onward(), "/equipment/BAL-1");
    }
    assert_eq!(site.facts(), facts + 2);
}

#[test]
fn a_file_is_handed_out_as_what_it_is_and_can_do_nothing() {
    let site = Site::demo();
    let files: [(&str, &[u8]); 3] =
        [("pan é*.png", PHOTO), ("certificate.pdf", CERTIFICATE), ("log.csv", b"a;b\n1;2\n")];
    attach(&site, &files);
    let mut kinds = Vec::new();
    for link in files_on(&site, "/equipment/BAL-1") {
        let file = site.get(&link);
        assert_eq!(file.status, StatusCode::OK);
        assert_eq!(file.header("x-content-type-options"), "nosniff");
        assert_eq!(file.header("cache-control"), "private, max-age=31536000, immutable");
        let (kind, place) = (file.header("content-type"), file.header("content-disposition"));
        let policy = file.header("content-security-policy");
        assert!(policy.contains("default-src 'none'"), "{policy}");
        assert_eq!(policy.starts_with("sandbox; "), kind != "application/pdf", "{kind}");
        kinds.push(format!("{kind} | {place}"));
    }
    kinds.sort();
    assert_eq!(
        kinds,
        [
            "application/pdf | inline; filename*=UTF-8''certificate.pdf",
            "image/png | inline; filename*=UTF-8''pan%20%C3%A9%2A.png",
            "text/csv; charset=utf-8 | attachment; filename*=UTF-8''log.csv",
        ]
    );
    for unknown in ["0".repeat(64), "x".to_owned(), "..%2F..%2Fetc%2Fpasswd".to_owned()] {
        let answer = site.get(&format!("/files/{unknown}"));
        assert_eq!(answer.status, StatusCode::NOT_FOUND, "{unknown}");
        answer.is_a_good_page();
    }
}

#[test]
fn what_is_not_attached_is_said_on_a_page_with_the_way_back() {
    let site = Site::demo();
    let facts = site.facts();
    let page: &[u8] = b"<html><script>alert(1)</script></html>";
    let refused = attach(&site, &[("<img src=x>.png", page), ("pan.png", PHOTO)]);
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    refused.is_a_good_page();
    assert!(!refused.body.contains("<img src=x"), "{}", refused.body);
    let text = refused.text();
    assert!(text.contains("it is not a kind of file that is kept"), "{text}");
    assert!(markup::links(&refused.body).contains("/equipment/BAL-1"));
    assert_eq!(site.facts(), facts + 1, "the photo beside it is attached");
    for (fields, files, wanted) in [
        (vec![("to", "BAL-1")], vec![("", &b""[..])], "No file was chosen"),
        (vec![("to", "NO-1")], vec![("a.png", PHOTO)], "nothing here has the code “NO-1”"),
        (vec![("to", "BAL-1")], vec![("b.png", PHOTO)], "attached here already, as “pan.png”"),
        (vec![("to", "BAL-1"), ("step", "x")], vec![("c.png", PHOTO)], "only checks have steps"),
    ] {
        let refused = site.send_files(&fields, &files);
        assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
        refused.is_a_good_page();
        assert!(refused.text().contains(wanted), "{wanted}: {}", refused.text());
    }
    assert_eq!(site.facts(), facts + 1);
}

#[test]
fn nobody_is_led_elsewhere_and_nobody_unnamed_attaches() {
    let mut site = Site::demo();
    let fields = [("to", "BAL-1"), ("back", "//elsewhere.example/")];
    assert_eq!(site.send_files(&fields, &[("pan.png", PHOTO)]).onward(), "/");
    site.seat = String::new();
    let refused = attach(&site, &[("certificate.pdf", CERTIFICATE)]);
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(markup::links(&refused.body).contains("/who?back=/equipment/BAL-1"));
}

#[test]
fn files_beyond_all_measure_are_not_taken_in_and_other_forms_stay_small() {
    let site = Site::demo();
    let facts = site.facts();
    let mut large = PHOTO.to_vec();
    large.resize(20_000_001, 0);
    let refused = attach(&site, &[("large.png", &large)]);
    assert!(refused.text().contains("at most 20000000 (20 MB) are kept"), "{}", refused.text());
    large.resize(21_000_001, 0);
    let refused = attach(&site, &[("larger.png", &large)]);
    assert_eq!(refused.status, StatusCode::PAYLOAD_TOO_LARGE);
    assert!(refused.text().contains("The files are too large together"), "{}", refused.text());
    refused.is_a_good_page();
    assert_eq!(site.facts(), facts);
    let plain = site.post("/attach", &[("to", "BAL-1")]);
    assert_eq!(plain.status, StatusCode::BAD_REQUEST);
    plain.is_a_good_page();
}

#[test]
fn a_file_that_was_changed_or_lost_is_named_and_not_handed_out() {
    for (trigger, statement, wanted) in [
        ("blob_is_never_changed", "UPDATE blob SET bytes = x'89504e47'", "was changed after"),
        ("blob_is_never_removed", "DELETE FROM blob", "is missing"),
    ] {
        let site = Site::demo();
        attach(&site, &[("pan.png", PHOTO)]);
        let link = files_on(&site, "/equipment/BAL-1").remove(0);
        site.tamper_with_files(trigger, statement);
        let answer = site.get(&link);
        assert_eq!(answer.status, StatusCode::INTERNAL_SERVER_ERROR);
        assert!(answer.body.contains(wanted), "{}", answer.body);
    }
}
