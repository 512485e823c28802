//! The guide, the help that leads to it, and the living page of the look.

use crate::markup;
use crate::site::Site;
use axum::http::StatusCode;

#[test]
fn the_guide_can_be_read_before_there_is_a_laboratory() {
    let site = Site::empty();
    let founding = site.get("/");
    founding.is_a_good_page();
    assert!(founding.text().contains("stonewear demo --listen 127.0.0.1:7641"));
    assert!(markup::links(&founding.body).iter().any(|link| link == "/guide/first-machine"));
    let contents = site.get("/guide");
    contents.is_a_good_page();
    let chapters: Vec<String> = markup::links(&contents.body)
        .into_iter()
        .filter(|link| link.starts_with("/guide/"))
        .collect();
    assert!(chapters.len() >= 8, "{chapters:?}");
    for path in &chapters {
        let chapter = site.get(path);
        assert_eq!(chapter.status, StatusCode::OK, "{path}");
        chapter.is_a_good_page();
        // Every picture of it is served.
        for picture in
            chapter.body.split("src=\"").skip(1).filter_map(|rest| rest.split('"').next())
        {
            if picture.starts_with("/guide/pictures/") {
                assert_eq!(site.get(picture).header("content-type"), "image/png", "{picture}");
            }
        }
    }
    assert_eq!(site.get("/guide/nothing").status, StatusCode::NOT_FOUND);
    assert_eq!(site.get("/guide/pictures/nothing.png").status, StatusCode::NOT_FOUND);
}

#[test]
fn pages_lead_to_the_chapter_that_helps_there() {
    let site = Site::demo();
    for (path, chapter) in [
        ("/", "everyday-test"),
        ("/equipment/MILL-1", "first-machine"),
        ("/samples", "everyday-test"),
        ("/doubts", "failed-check"),
        ("/control", "in-control"),
        ("/papers", "papers"),
        ("/people", "people"),
    ] {
        let page = site.get(path);
        assert!(
            page.body.contains(&format!("<p class=\"help-here\"><a href=\"/guide/{chapter}\">")),
            "{path}"
        );
        assert!(page.body.contains("<a href=\"/guide\">Guide</a>"), "{path}");
    }
}

#[test]
fn the_living_page_is_served_in_both_themes_and_listens_to_no_journal() {
    let site = Site::demo();
    for (path, theme) in
        [("/look", None), ("/look?theme=light", Some("light")), ("/look?theme=dark", Some("dark"))]
    {
        let page = site.get(path);
        page.is_a_good_page();
        let said = theme.map(|theme| format!("data-theme=\"{theme}\""));
        assert_eq!(page.body.contains("data-theme"), said.is_some(), "{path}");
        assert!(said.is_none_or(|said| page.body.contains(&said)), "{path}");
        assert!(!page.body.contains("live.js"), "{path}");
    }
}

#[test]
fn only_pages_with_a_chart_load_what_reads_it() {
    let site = Site::demo();
    assert!(site.get("/control/RA-2/MILL-1").body.contains("/assets/charts.js"));
    assert!(!site.get("/").body.contains("/assets/charts.js"));
}
