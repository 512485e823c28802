//! What a page says is said in words of the trade: codes of ours are for addresses and values.

use crate::demo::walk;
use crate::site::Site;
use axum::http::StatusCode;

/// Whether a word is the identity of a method: `astm-d6928@2010`.
fn is_code(word: &str) -> bool {
    word.split_once('@').is_some_and(|(name, edition)| {
        name.contains('-') && (edition.starts_with("undated") || edition.starts_with("20"))
    })
}

#[test]
fn no_page_of_the_demo_calls_a_method_by_its_code() {
    let pages = walk(&Site::demo());
    let mut faults = Vec::new();
    for (path, answer) in &pages {
        // The journal shows facts as they are kept; an import says what its file says.
        let is_raw = ["/journal", "/imports", "/guide"].iter().any(|one| path.starts_with(one));
        if is_raw || !answer.header("content-type").starts_with("text/html") {
            continue;
        }
        let text = answer.text();
        faults.extend(
            text.split_whitespace()
                .filter(|word| is_code(word))
                .map(|word| format!("{path}: {word}")),
        );
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
    assert!(is_code("astm-d6928@2010,") && !is_code("lab@example.org"));
    let said = pages["/methods/astm-d6928@2010"].text();
    assert!(said.contains("ASTM D6928-10"), "{said}");
}

#[test]
fn policies_say_their_rules_in_words() {
    let site = Site::demo();
    let said = site.get("/policies").text();
    assert!(
        said.contains("One result beyond 3 s, or two of three beyond 2 s on one side"),
        "{said}"
    );
    for code in ["guarded-conditional", "test-another-pair", "1 2"] {
        assert!(!said.split("  ").any(|one| one.trim() == code), "{code}: {said}");
    }
}

#[test]
fn what_was_recorded_is_said_on_the_page_that_follows() {
    let site = Site::founded();
    let add =
        [("request", "add-person"), ("name", "Cyd Dell"), ("code", "CD"), ("rights.0", "test")];
    let answer = site.post("/people", &add);
    assert_eq!(answer.status, StatusCode::SEE_OTHER, "{}", answer.body);
    let next = site.get(answer.header("location"));
    assert!(next.body.contains("role=\"status\""), "{}", next.body);
    assert!(next.text().contains("The person is added."));
    let plain = site.get("/people");
    assert!(!plain.text().contains("The person is added."));
    // What a link makes up is not said.
    let made_up = site.get("/people?kept=/people:everything-is-fine");
    assert!(!made_up.body.contains("class=\"saved\""), "{}", made_up.body);
}

#[test]
fn several_numbers_of_a_method_are_confirmed_by_one_form() {
    let site = Site::founded();
    site.post("/methods/astm-d6928", &[("request", "adopt-method"), ("method", "astm-d6928")]);
    let page = site.get("/methods/astm-d6928");
    let open = page.body.matches("The same in our copy").count();
    assert!(open > 10, "{open}");
    let figure = |index: usize| {
        let name = format!("name=\"more.{index}.figure\" value=\"");
        page.body.split(&name).nth(1).unwrap().split('"').next().unwrap().to_owned()
    };
    let (first, second) = (figure(0), figure(1));
    let sent = [
        ("request", "confirm-figure"),
        ("method", "astm-d6928@2010"),
        ("against", "our copy of 2019"),
        ("more.0.figure", first.as_str()),
        ("more.0.same", "yes"),
        ("more.0.value", ""),
        ("more.0.against", "clause 8.2"),
        ("more.1.figure", second.as_str()),
        ("more.1.same", "yes"),
        ("more.1.value", ""),
        ("more.1.against", ""),
    ];
    let answer = site.post("/methods/astm-d6928", &sent);
    assert_eq!(answer.status, StatusCode::SEE_OTHER, "{}", answer.text());
    let after = site.get("/methods/astm-d6928");
    assert_eq!(after.body.matches("The same in our copy").count(), open - 2);
    assert!(after.text().contains("clause 8.2") && after.text().contains("our copy of 2019"));
}

#[test]
fn the_zone_is_taken_from_a_list_and_one_that_is_none_is_named_with_those_near_to_it() {
    let site = Site::empty();
    let page = site.get("/").body;
    for zone in ["Europe/Madrid", "America/Toronto", "Asia/Kolkata"] {
        assert!(page.contains(&format!("<option value=\"{zone}\">")), "{zone}");
    }
    let sent = [
        ("request", "found-laboratory"),
        ("name", "Invented laboratory"),
        ("address", "1 Invented Street"),
        ("time_zone", "madrid"),
        ("founder_name", "Ada Brook"),
        ("founder_code", "AB"),
    ];
    let refused = site.post("/", &sent);
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(refused.text().contains("Write Europe/Madrid"), "{}", refused.text());
}

/// Nobody has read counter or timer yet.
#[test]
fn the_end_of_a_run_is_not_filled_in_before_it_is_read() {
    let site = Site::demo();
    let links = crate::markup::links(&site.get("/").body);
    let run = links.into_iter().find(|link| link.starts_with("/runs/R")).unwrap();
    let page = site.get(&run).body;
    for field in ["revolutions", "minutes"] {
        let input = page.split(&format!("name=\"{field}\"")).nth(1).unwrap();
        let input = input.split('>').next().unwrap();
        assert!(!input.contains("value=\"") || input.contains("value=\"\""), "{field}: {input}");
    }
    assert!(page.contains("by the clock"));
    let code = run.rsplit('/').next().unwrap();
    let sent =
        [("request", "stop-run"), ("run", code), ("revolutions", "10500"), ("minutes", "105")];
    let asked = site.post(&run, &sent);
    assert_eq!(asked.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(asked.text().contains("105 min are read off"), "{}", asked.text());
    let late = [&sent[..], &[("deviation", "its beginning was entered late")]].concat();
    assert_eq!(site.post(&run, &late).status, StatusCode::SEE_OTHER);
}
