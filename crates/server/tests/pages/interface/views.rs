//! What can be read: every view of the demo laboratory, page by page.

use super::program::{Program, json, problem, sample};
use crate::site::Site;
use axum::body::Body;
use axum::http::Method;
use serde_json::{Value, json as j};
use std::collections::BTreeSet;
use stonewear_access::Scope;

/// The codes that stand for `{code}` in a path of the description.
fn filled(program: &Program<'_>, path: &str) -> Option<String> {
    let (list, _) = path.split_once("/{")?;
    let first = |list: &str, key: &str| -> Option<String> {
        let page = program.read(list);
        page["items"][0][key].as_str().map(str::to_owned)
    };
    let code = match list {
        "/control-charts" => {
            let chart = &program.read("/control-charts")["items"][0];
            return Some(format!(
                "/control-charts/{}/{}",
                chart["lot"].as_str()?,
                chart["apparatus"].as_str()?
            ));
        }
        "/equipment" if path.ends_with("/wear") => {
            let items = program.read("/equipment?limit=500");
            let items = items["items"].as_array()?.clone();
            let charge = items.iter().find(|item| item["kind"] == "ball-charge")?;
            charge["code"].as_str()?.to_owned()
        }
        "/facts" => "1".to_owned(),
        "/files" => {
            let facts = program.read("/facts?limit=1000");
            let facts = facts["items"].as_array()?.clone();
            facts.iter().find_map(|fact| fact["fact"]["sha256"].as_str().map(str::to_owned))?
        }
        "/requests" => "weigh-before".to_owned(),
        "/methods" => first(list, "id")?,
        "/policies" | "/problems" => first(list, "name")?,
        "/rounds" => first(list, "round")?,
        _ => first(list, "code")?,
    };
    let rest = path.split_once('}').map(|(_, rest)| rest).unwrap_or_default();
    Some(format!("{list}/{code}{rest}"))
}

#[test]
fn every_view_of_the_demo_laboratory_answers() {
    let site = Site::demo();
    let program = Program::new(&site, "IK", Scope::Read);
    let description = program.read("/openapi.json");
    let paths = description["paths"].as_object().unwrap();
    let mut read = BTreeSet::new();
    let mut empty = BTreeSet::new();
    for (path, operations) in paths {
        let is_file = operations["get"]["tags"][0] == "Papers and tables";
        if operations.get("get").is_none()
            || is_file
            || path.starts_with("/requests/")
            || path == "/facts/events"
            // Wants a database: pages/network.rs.
            || path == "/network"
        {
            continue;
        }
        let Some(asked) =
            (if path.contains('{') { filled(&program, path) } else { Some(path.clone()) })
        else {
            empty.insert(path.clone());
            continue;
        };
        let answer = program.get(&asked);
        assert_eq!(answer.status, 200, "{asked}: {}", answer.body);
        if path != "/files/{sha256}" {
            let body = json(&answer);
            has_all_required(&description, path, &body);
        }
        read.insert(path.clone());
    }
    assert!(read.len() >= 45, "{read:#?}");
    // The invented laboratory has something of everything but these.
    assert!(empty.len() <= 2, "nothing to read at {empty:#?}");
}

#[test]
fn papers_and_tables_are_handed_out_to_programs() {
    let mut site = Site::demo();
    site.seat = "TR".to_owned();
    let (specimen, result) = site.a_finished_specimen();
    let program = Program::new(&site, "IK", Scope::Read);
    for (path, kind, words) in [
        (format!("/results/{result}/report.pdf"), "application/pdf", "%PDF of L"),
        (format!("/results/{result}/audit.csv"), "text/csv; charset=utf-8", "fact,recorded"),
        (format!("/specimens/{specimen}/bench-sheet.pdf"), "application/pdf", "%PDF of Bench"),
        ("/control/RA-2/MILL-1/chart.csv".to_owned(), "text/csv; charset=utf-8", ""),
        ("/labels.pdf?code=MILL-1&size=62x29".to_owned(), "application/pdf", "MILL-1"),
        ("/export/results.csv".to_owned(), "text/csv; charset=utf-8", ""),
        ("/export/everything.json".to_owned(), "application/json", "{"),
        ("/proficiency/scores.json".to_owned(), "application/json", ""),
    ] {
        let answer = program.get(&path);
        assert_eq!(answer.status, 200, "{path}: {}", answer.body);
        assert_eq!(answer.header("content-type"), kind, "{path}");
        assert!(answer.body.starts_with(words), "{path}: {}", answer.body);
        // The page hands out the very same.
        assert_eq!(site.get(&path).body, answer.body, "{path}");
    }
    let french = program.get("/checks/C26-001/record.pdf?language=fr");
    assert_eq!(french.status, 200, "{}", french.body);
    problem(&program.get("/checks/C26-001/record.pdf?language=tlh"), 422, "refused");
    problem(&program.get("/labels.pdf?code=MILL-1&size=9x9"), 422, "refused");
    problem(&program.get("/labels.pdf"), 404, "not-found");
    problem(&program.get("/checks/C99-001/record.pdf"), 404, "not-found");
    problem(&program.get("/export/nothing.csv"), 404, "not-found");
    let picky = site.send(
        program
            .request(Method::GET, "/checks/C26-001/record.pdf")
            .header("accept", "text/html")
            .body(Body::empty())
            .unwrap(),
    );
    problem(&picky, 406, "not-acceptable");
}

/// Every field that the description promises of the answer is there, at the first level.
#[track_caller]
fn has_all_required(description: &Value, path: &str, body: &Value) {
    let at = &description["paths"][path]["get"]["responses"]["200"]["content"]["application/json"];
    let mut schema = &at["schema"];
    if let Some(reference) = schema["$ref"].as_str() {
        schema = description.pointer(reference.trim_start_matches('#')).unwrap();
    }
    for field in schema["required"].as_array().into_iter().flatten() {
        let name = field.as_str().unwrap();
        assert!(body.get(name).is_some(), "{path} promises {name}: {body}");
    }
}

#[test]
fn what_is_described_is_routed_and_what_is_not_is_not_there() {
    let site = Site::founded();
    let program = Program::new(&site, "AB", Scope::Manage);
    let description = program.read("/openapi.json");
    assert_eq!(description["openapi"], "3.1.0");
    let mut asked = 0;
    for (path, operations) in description["paths"].as_object().unwrap() {
        for method in operations.as_object().unwrap().keys() {
            if path == "/facts/events" {
                continue;
            }
            let plain = path.replace(['{', '}'], "");
            let method = Method::from_bytes(method.to_uppercase().as_bytes()).unwrap();
            let request =
                program.request(method.clone(), &plain).header("content-type", "application/json");
            let answer = site.send(request.body(Body::from("{}")).unwrap());
            assert!(!answer.status.is_server_error(), "{method} {path}: {}", answer.body);
            assert_ne!(answer.status, 405, "{method} {path}");
            if answer.status == 404 {
                let detail = json(&answer)["detail"].as_str().unwrap().to_owned();
                assert!(!detail.contains("openapi.json lists"), "{method} {path} is not routed");
            }
            asked += 1;
        }
    }
    assert!(asked > 150, "{asked}");
}

#[test]
fn pages_follow_one_another_and_leave_nothing_out() {
    let site = Site::demo();
    let program = Program::new(&site, "IK", Scope::Record);
    let whole: Vec<String> = program.read("/specimens?limit=500")["items"]
        .as_array()
        .unwrap()
        .iter()
        .map(|one| one["code"].as_str().unwrap().to_owned())
        .collect();
    assert!(whole.len() > 20);
    let mut walked = Vec::new();
    let mut path = "/specimens?limit=7".to_owned();
    loop {
        let answer = program.get(&path);
        let page = json(&answer);
        walked.extend(
            page["items"]
                .as_array()
                .unwrap()
                .iter()
                .map(|one| one["code"].as_str().unwrap().to_owned()),
        );
        let Some(next) = page["next"].as_str() else {
            assert!(!answer.headers.contains_key("link"));
            break;
        };
        let link = answer.header("link");
        assert_eq!(link, format!("</api/v1/specimens?after={next}&limit=7>; rel=\"next\""));
        // Something new between two pages moves nothing that was there.
        assert_eq!(program.ask("receive-sample", &sample("bench 1")).status, 201);
        path = format!("/specimens?after={next}&limit=7");
    }
    assert_eq!(walked, whole);
    problem(&program.get("/specimens?after=S00-000-1"), 404, "not-found");
    for wrong in ["limit=0", "limit=501", "limit=x", "page=2"] {
        problem(&program.get(&format!("/specimens?{wrong}")), 400, "malformed");
    }
}

#[test]
fn what_has_not_changed_is_not_sent_again() {
    let site = Site::founded();
    let program = Program::new(&site, "AB", Scope::Record);
    let tag = program.get("/samples").header("etag").to_owned();
    assert!(tag.starts_with('"') && tag.ends_with('"'), "{tag}");
    let again = |tag: &str| {
        let request = program.request(Method::GET, "/samples").header("if-none-match", tag);
        site.send(request.body(Body::empty()).unwrap())
    };
    for known in [tag.clone(), format!("W/{tag}"), format!("\"x\", {tag}"), "*".to_owned()] {
        let unchanged = again(&known);
        assert_eq!((unchanged.status.as_u16(), unchanged.body.as_str()), (304, ""), "{known}");
        assert_eq!(unchanged.header("etag"), tag);
    }
    assert_eq!(again("\"x\"").status, 200);
    assert_eq!(program.ask("receive-sample", &sample("bench 1")).status, 201);
    let changed = again(&tag);
    assert_eq!(changed.status, 200);
    assert_eq!(json(&changed)["items"].as_array().unwrap().len(), 1);
    // What follows the clock is never called unchanged.
    assert!(!program.get("/due").headers.contains_key("etag"));
    let missing = program
        .request(Method::GET, "/samples/S00-000")
        .header("if-none-match", "*")
        .body(Body::empty())
        .unwrap();
    problem(&site.send(missing), 404, "not-found");
}

#[test]
fn figures_are_text_as_they_were_read() {
    let site = Site::demo();
    let program = Program::new(&site, "IK", Scope::Read);
    let result = &program.read("/results")["items"][0];
    let specimen =
        program.read(&format!("/specimens/{}", result["specimens"][0].as_str().unwrap()));
    let mass = specimen["before"].as_array().unwrap().last().unwrap();
    assert!(mass["mass_g"].is_string(), "{mass}");
    let position = mass["recorded"]["position"].as_u64().unwrap();
    let fact = program.read(&format!("/facts/{position}"));
    assert_eq!(fact["fact"]["mass_g"], mass["mass_g"], "to the last digit");
    let evidence = program.read(&format!("/results/{}/evidence", result["code"].as_str().unwrap()));
    assert!(evidence["links"].as_array().unwrap().len() > 5);
}

#[test]
fn files_go_in_and_out_by_their_bytes() {
    let site = Site::founded();
    let program = Program::new(&site, "AB", Scope::Record);
    let received = json(&program.ask("receive-sample", &sample("bench 1")));
    let code = received["codes"][0].as_str().unwrap();
    let send = |query: &str, bytes: &'static [u8]| {
        let request = program
            .request(Method::POST, &format!("/attachments?{query}"))
            .header("idempotency-key", "file-1");
        site.send(request.body(Body::from(bytes)).unwrap())
    };
    let query = format!("to={code}&name=note.txt");
    let kept = send(&query, b"wet on arrival\n");
    assert_eq!(kept.status, 201, "{}", kept.body);
    assert_eq!(send(&query, b"wet on arrival\n").body, kept.body, "sent twice, kept once");
    problem(&send(&query, b"dry on arrival\n"), 422, "key-used");
    let attached = &program.read(&format!("/samples/{code}"))["attachments"];
    assert_eq!(attached.as_array().unwrap().len(), 1);
    let hash = attached[0]["sha256"].as_str().unwrap();
    let file = program.get(&format!("/files/{hash}"));
    assert_eq!((file.status.as_u16(), file.body.as_str()), (200, "wet on arrival\n"));
    problem(&program.get(&format!("/files/{}", "0".repeat(64))), 404, "not-found");

    // A fact never names bytes that are not kept.
    let named = j!({
        "to": code, "name": "lid.jpg", "media_type": "image/jpeg", "bytes": "3", "sha256": "0".repeat(64),
    });
    problem(&program.ask("attach-file", &named), 422, "refused");
}
