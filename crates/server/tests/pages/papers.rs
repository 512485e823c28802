//! Papers on the page: issued there, found by their fingerprint, checked from a file; the letterhead.

use crate::markup;
use crate::site::Site;
use axum::http::StatusCode;

/// A released result of the demo.
fn released(site: &Site) -> String {
    markup::links(&site.get("/results").body)
        .into_iter()
        .filter_map(|link| link.strip_prefix("/results/").map(str::to_owned))
        .find(|code| site.get(&format!("/results/{code}")).text().contains("Issue the report"))
        .expect("a released result that is not issued")
}

fn issue(site: &Site, paper: &str, of: &str, reason: &str) -> crate::site::Answer {
    let back = if paper == "test-report" { format!("/results/{of}") } else { "/papers".into() };
    let fields = [
        ("request", "issue-paper"),
        ("paper", paper),
        ("of", of),
        ("reason", reason),
        ("_back", back.as_str()),
    ];
    site.post("/papers/issue", &fields)
}

#[test]
fn a_report_is_issued_on_the_page_of_its_result_and_found_by_its_fingerprint() {
    let mut site = Site::demo();
    site.seat = "TR".to_owned();
    let result = released(&site);
    let pdf = format!("/results/{result}/report.pdf");
    assert!(site.get(&pdf).body.starts_with(&format!("%PDF of {result}/1\n")));

    let issued = issue(&site, "test-report", &result, "");
    let path = issued.onward().to_owned();
    assert!(site.get(&path).text().contains("LanguageEnglish"));
    let page = site.get(&path);
    page.is_a_good_page();
    assert!(page.text().contains("as issued, and it stands"), "{}", page.text());
    let file = site.get(&format!("{path}/file.pdf"));
    let name = format!("inline; filename=\"{result}-1.pdf\"");
    assert_eq!(file.header("content-disposition"), name);
    assert_eq!(site.get(&pdf).header("content-disposition"), name);
    let file = file.body;
    assert!(file.starts_with(&format!("%PDF of {result}/1\n")), "{file}");
    assert_eq!(site.get(&pdf).header("content-type"), "application/pdf");

    // The printed digits lead there, too: in the address, and typed into the field at the top.
    let fingerprint = path.strip_prefix("/papers/").unwrap();
    let short = fingerprint[..24].to_uppercase();
    assert!(site.get(&format!("/papers/{short}")).text().contains("as issued, and it stands"));
    let typed = format!("{}+{}", &short[..4], &short[4..]);
    assert_eq!(site.get(&format!("/find?q={typed}")).onward(), path);
    let unknown = site.get("/papers/000000000000000000000000");
    unknown.is_a_good_page();
    assert!(unknown.text().contains("not on record"));

    // Once more only with a reason; then the first is superseded.
    let refused = issue(&site, "test-report", &result, "");
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    refused.is_a_good_page();
    assert!(refused.text().contains("why another takes its place is missing"));
    assert!(!issue(&site, "test-report", &result, "misspelt").onward().is_empty());
    assert!(site.get(&path).text().contains("It was replaced by"));
    let list = site.get("/papers");
    list.is_a_good_page();
    assert!(list.text().contains("superseded since"), "{}", list.text());
}

#[test]
fn a_project_has_its_report() {
    let mut site = Site::demo();
    site.seat = "TR".to_owned();
    let issued = issue(&site, "project-report", "Ring road, section 5", "");
    let page = site.get(issued.onward());
    page.is_a_good_page();
    assert!(page.text().contains("G26-001"), "{}", page.text());
    let refused = issue(&site, "project-report", "No such works", "");
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(refused.text().contains("No result of a project"), "{}", refused.text());
    // Who may not release may not issue.
    site.seat = "DO".to_owned();
    let refused = issue(&site, "project-report", "Ring road, section 5", "again");
    assert!(refused.text().contains("may not release"), "{}", refused.text());
}

#[test]
fn a_file_is_checked_without_being_kept() {
    let mut site = Site::demo();
    site.seat = "TR".to_owned();
    let result = released(&site);
    issue(&site, "test-report", &result, "");
    let before = site.facts();
    site.get("/papers/check").is_a_good_page();
    let file = site.get(&format!("/results/{result}/report.pdf")).body;
    let check = |bytes: &[u8]| site.send_files_to("/papers/check", &[], &[("a.pdf", bytes)]);
    let good = check(file.as_bytes());
    good.is_a_good_page();
    assert!(good.text().contains("as issued, and it stands"), "{}", good.text());
    assert!(check(b"%PDF of nothing").text().contains("carries no mark"));
    let none = site.send_files_to("/papers/check", &[], &[]);
    assert_eq!(none.status, StatusCode::UNPROCESSABLE_ENTITY);
    none.is_a_good_page();
    assert_eq!(site.facts(), before);
}

#[test]
fn papers_for_the_house_are_handed_out() {
    let site = Site::demo();
    let (specimen, result) = site.a_finished_specimen();
    for (path, words) in [
        (
            format!("/specimens/{specimen}/bench-sheet.pdf"),
            format!("%PDF of Bench sheet {specimen}"),
        ),
        (format!("/specimens/{specimen}/make-up.pdf"), format!("%PDF of Make-up sheet {specimen}")),
        (format!("/results/{result}/audit.pdf"), format!("%PDF of Audit extract {result}")),
        (format!("/results/{result}/audit.csv"), "fact,recorded,by,kind,names,hash".to_owned()),
        (
            "/checks/C26-001/record.pdf".to_owned(),
            "%PDF of Check C26-001: Function check".to_owned(),
        ),
        ("/equipment/MILL-1/dossier.pdf".to_owned(), "%PDF of Dossier MILL-1".to_owned()),
    ] {
        let paper = site.get(&path);
        assert!(paper.body.starts_with(&words), "{path}: {}", paper.body);
    }
    assert_eq!(site.get("/checks/C99-001/record.pdf").status, StatusCode::NOT_FOUND);
}

#[test]
fn the_letterhead_is_set_and_its_logo_is_taken_and_left() {
    let site = Site::founded();
    site.get("/letterhead").is_a_good_page();
    let set = [
        ("request", "set-letterhead"),
        ("address", "7 Invented Quay"),
        ("sheet", "letter"),
        ("logo", "keep"),
    ];
    assert_eq!(site.post("/letterhead", &set).onward(), "/letterhead");
    let svg = b"<svg xmlns='http://www.w3.org/2000/svg'><path d='M0 0h9v9z'/></svg>";
    let sent = site.send_files_to("/letterhead/logo", &[], &[("mark.svg", svg)]);
    assert_eq!(sent.onward(), "/letterhead");
    let page = site.get("/letterhead");
    page.is_a_good_page();
    assert!(page.text().contains("mark.svg") && page.body.contains("7 Invented Quay"));
    let refused =
        site.send_files_to("/letterhead/logo", &[], &[("bad.svg", b"<svg><script/></svg>")]);
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(refused.text().contains("no logo that can be printed"), "{}", refused.text());
    assert!(site.get("/letterhead/preview.pdf").body.starts_with("%PDF of PREVIEW\n"));
    let wrong = [("request", "set-letterhead"), ("sheet", "a5"), ("logo", "keep")];
    let refused = site.post("/letterhead", &wrong);
    refused.is_a_good_page();
    assert!(refused.text().contains("is no size of paper"));
}
