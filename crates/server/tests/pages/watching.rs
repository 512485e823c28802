//! What whoever operates the program asks for: whether it lives, whether it takes entries, figures.

use crate::site::Site;
use serde_json::Value;

fn ready(site: &Site) -> (u16, Value) {
    let answer = site.get("/health/ready");
    assert_eq!(answer.header("content-type"), "application/json");
    (answer.status.as_u16(), serde_json::from_str(&answer.body).unwrap())
}

#[test]
fn a_laboratory_that_takes_entries_is_ready() {
    let site = Site::founded();
    let (status, said) = ready(&site);
    assert_eq!((status, &said["ready"], &said["why"]), (200, &Value::Bool(true), &Value::Null));
    assert_eq!((said["position"].as_u64(), said["signed"].as_u64()), (Some(2), Some(0)));
    assert_eq!(site.get("/health/live").body, "alive\n");
    let figures = site.get("/metrics");
    assert!(figures.header("content-type").starts_with("text/plain; version=0.0.4"));
    for line in ["stonewear_facts 2", "stonewear_can_record 1", "stonewear_append_seconds_count 1"]
    {
        assert!(figures.body.lines().any(|said| said == line), "{line}: {}", figures.body);
    }
}

/// A monitor has no account; what it is told names nobody, and nothing else is.
#[test]
fn a_monitor_is_answered_where_people_sign_in_and_learns_nothing_of_them() {
    let mut site = crate::accounts::with_accounts();
    site.held.clear();
    assert_eq!(site.get("/results").onward(), "/sign-in");
    assert_eq!(site.get("/metricsx").onward(), "/sign-in");
    for path in ["/health/live", "/health/ready", "/metrics"] {
        let answer = site.get(path);
        assert_eq!(answer.status, 200, "{path}");
        for name in ["Ines", "Korhola", "MILL-1", "Tarnbeck"] {
            assert!(!answer.body.contains(name), "{path} names {name}");
        }
    }
}

#[test]
fn a_damaged_one_lives_and_is_not_ready() {
    let site = Site::damaged(700);
    let (status, said) = ready(&site);
    assert_eq!((status, &said["ready"]), (503, &Value::Bool(false)));
    let why = said["why"].as_str().unwrap();
    assert!(why.contains("entry 700") && why.contains("stonewear restore"), "{why}");
    assert_eq!(site.get("/health/live").status.as_u16(), 200);
    assert!(site.get("/metrics").body.contains("stonewear_can_record 0"));
}

#[test]
fn what_hinders_is_said_in_the_readers_language() {
    let mut site = Site::damaged(700);
    for (language, words) in [
        ("de", "Das Programm beenden, den Ordner so, wie er ist, als Kopie aufheben"),
        ("fr", "Arrêtez le programme, gardez une copie du dossier tel quel"),
        ("es", "Detenga el programa, guarde una copia de la carpeta tal como está"),
    ] {
        site.language = language.to_owned();
        let text = site.get("/samples").text();
        assert!(text.contains(words), "{language}: {text}");
    }
}

#[test]
fn the_journal_page_tells_how_far_it_is_signed_and_backed_up() {
    let site = Site::founded();
    let text = site.get("/journal").text();
    assert!(text.contains("Nothing is signed yet.") && text.contains("no backup"), "{text}");
    let to = tempfile::tempdir().unwrap();
    stonewear_runtime::back_up(site.folder(), to.path(), None).unwrap();
    stonewear_runtime::note_backup_trouble(site.folder(), "no room", now());
    let answer = site.get("/journal");
    answer.is_a_good_page();
    let text = answer.text();
    for words in
        ["entries 1 to 2 of 2", "Fingerprint of the key", "Last backup", "backup failed", "no room"]
    {
        assert!(text.contains(words), "{words}: {text}");
    }
}

fn now() -> jiff::Timestamp {
    stonewear_runtime::Clock::Machine.now()
}
