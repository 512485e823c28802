//! Forms that the page's script sends, at once or after the line was down.

use crate::site::Site;
use axum::http::StatusCode;

const SAMPLE: [(&str, &str); 4] = [
    ("request", "receive-sample"),
    ("source", "Invented quarry"),
    ("material", "crushed stone"),
    ("nominal_maximum_mm", "19.0"),
];

fn sample<'a>(more: &[(&'a str, &'a str)]) -> Vec<(&'a str, &'a str)> {
    SAMPLE.iter().chain(more).copied().collect()
}

/// What tells the laboratory of the site from others, as its pages have it.
fn laboratory(site: &Site) -> String {
    let page = site.get("/samples").body;
    let (_, rest) = page.split_once("data-laboratory=\"").unwrap();
    rest.split('"').next().unwrap().to_owned()
}

#[test]
fn the_script_is_told_what_became_of_an_entry() {
    let site = Site::founded();
    let answer = site.post_by_script("/samples/new", &sample(&[]));
    assert_eq!(answer.status, StatusCode::OK);
    assert_eq!(answer.header("stonewear-outcome"), "recorded");
    assert!(
        answer.header("stonewear-onward").starts_with("/samples/S"),
        "{}",
        answer.header("stonewear-onward")
    );

    let answer = site.post_by_script("/samples/new", &SAMPLE[..2]);
    assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(answer.header("stonewear-outcome"), "refused");
    assert!(answer.body.starts_with("<ul><li>"), "a piece of a page: {}", answer.body);

    // Without the script's header a form is answered as ever.
    assert!(site.post("/samples/new", &sample(&[])).onward().starts_with("/samples/S"));
}

/// The first sending may have arrived although its answer was lost; the later one says when the
/// entry was made. In either order it is one entry.
#[test]
fn an_entry_is_recorded_once_however_it_is_sent() {
    const KEY: (&str, &str) = ("_key", "5f0c2a7d90e14f7fa1b2c3d4e5f60718");
    const MADE: (&str, &str) = ("_made", "2026-03-04T10:41:07Z");
    for order in [[&[KEY][..], &[KEY, MADE]], [&[KEY, MADE], &[KEY, MADE]], [&[KEY, MADE], &[KEY]]]
    {
        let site = Site::founded();
        let before = site.facts();
        let onward: Vec<String> = order
            .iter()
            .map(|more| {
                let answer = site.post_by_script("/samples/new", &sample(more));
                assert_eq!(answer.header("stonewear-outcome"), "recorded");
                answer.header("stonewear-onward").to_owned()
            })
            .collect();
        if order[1].len() == 2 {
            assert_eq!(site.facts(), before + 1, "{order:?}");
            assert_eq!(onward[0], onward[1]);
        }
    }
}

#[test]
fn a_key_that_only_begins_alike_is_another_entry() {
    let site = Site::founded();
    let before = site.facts();
    for key in ["abcdef", "abc"] {
        let more = [("_key", key), ("_made", "2026-03-04T10:41:07Z")];
        site.post_by_script("/samples/new", &sample(&more));
    }
    assert_eq!(site.facts(), before + 2);
}

#[test]
fn the_journal_keeps_when_an_entry_was_made_and_not_what_is_no_time() {
    let site = Site::founded();
    for (made, kept) in
        [("2026-03-04T10:41:07Z", "key-1 made 2026-03-04T10:41:07Z"), ("soon", "key-2")]
    {
        let key = kept.split(' ').next().unwrap();
        site.post_by_script("/samples/new", &sample(&[("_key", key), ("_made", made)]));
        let folder = site.folder().join("journal.sqlite");
        let found = std::fs::read_dir(site.folder()).unwrap().flatten().any(|file| {
            let bytes = std::fs::read(file.path()).unwrap_or_default();
            bytes.windows(kept.len()).any(|part| part == kept.as_bytes())
        });
        assert!(found, "{kept} in {folder:?}");
    }
}

#[test]
fn an_entry_stays_that_of_the_person_who_made_it() {
    let mut site = Site::demo();
    let by = |site: &Site, more: &[(&str, &str)]| {
        let answer = site.post_by_script("/samples/new", &sample(more));
        let outcome = answer.header("stonewear-outcome").to_owned();
        let onward = answer.header("stonewear-onward").split('?').next().unwrap().to_owned();
        (outcome, onward, answer.text())
    };
    let (outcome, onward, _) = by(&site, &[("_by", "DO")]);
    assert_eq!(outcome, "recorded");
    assert!(site.get(&onward).text().contains("by DO"), "{}", site.get(&onward).text());

    // Nobody unknown, and only the script is heard.
    let (outcome, _, words) = by(&site, &[("_by", "ZZ")]);
    assert_eq!(outcome, "refused");
    assert!(words.contains("Nobody here has the initials “ZZ”"), "{words}");
    site.seat = String::new();
    let answer = site.post("/samples/new", &sample(&[("_by", "DO")]));
    assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY, "a form of another kind");
}

#[test]
fn an_entry_for_another_laboratory_is_refused() {
    let site = Site::founded();
    let own = laboratory(&site);
    assert_eq!(own.len(), 64, "{own}");
    let before = site.facts();
    let answer = site.post_by_script("/samples/new", &sample(&[("_laboratory", "0000")]));
    assert_eq!(answer.header("stonewear-outcome"), "refused");
    assert!(answer.text().contains("for another laboratory"), "{}", answer.body);
    assert_eq!(site.facts(), before);
    let answer = site.post_by_script("/samples/new", &sample(&[("_laboratory", &own)]));
    assert_eq!(answer.header("stonewear-outcome"), "recorded");
}

#[test]
fn what_is_only_looked_at_is_shown_and_not_recorded() {
    let site = Site::founded();
    let before = site.facts();
    let answer = site.post("/samples/new", &sample(&[("_look", "yes")]));
    assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY);
    answer.is_a_good_page();
    assert!(answer.text().contains("Nothing speaks against it any longer"), "{}", answer.text());
    assert!(answer.body.contains("value=\"Invented quarry\""));
    assert_eq!(site.facts(), before);
}

#[test]
fn what_the_journal_cannot_take_may_go_well_later() {
    let site = Site::damaged(5);
    let answer = site.post_by_script("/samples/new", &sample(&[]));
    assert_eq!(answer.status, StatusCode::SERVICE_UNAVAILABLE, "{}", answer.body);
    assert_eq!(answer.header("stonewear-outcome"), "not-recorded");
}

#[test]
fn bench_and_desk_are_remembered_by_the_browser() {
    let site = Site::demo();
    let check = {
        let page = site.get("/").body;
        let (_, rest) = page.split_once("href=\"/checks/").unwrap();
        format!("/checks/{}", rest.split('"').next().unwrap())
    };
    let bench = site.get(&check);
    bench.is_a_good_page();
    let desk = site.get(&format!("{check}?mode=desk"));
    desk.is_a_good_page();
    assert!(desk.header("set-cookie").starts_with("stonewear-mode=desk; Path=/; HttpOnly"));
    let shown =
        |page: &str| page.matches("data-step=").count() - page.matches("\" hidden>").count();
    assert_eq!(shown(&bench.body), 1, "one step at the bench");
    assert!(shown(&desk.body) > 1);
    assert_eq!(site.get(&format!("{check}?mode=sideways")).header("set-cookie"), "");
}
