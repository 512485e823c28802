//! A spreadsheet of the past sent, looked at, mended and imported on the page; tables taken out.

use crate::markup;
use crate::site::Site;
use axum::http::StatusCode;

const LIST: &[u8] = b"Old list\r\n\r\nDate,Sample,Loss %,Tech\r\n\
    03/04/2025,25-1,14.8,CD\r\n05/04/2025,25-2,abc,CD\r\n06/04/2025,25-3,15.1,<b>EF</b>\r\n";

/// Sends a file; the path of the page that shows how it is read.
fn sent(site: &Site, name: &str, bytes: &[u8]) -> String {
    site.send_files_to("/imports/file", &[], &[(name, bytes)]).onward().to_owned()
}

#[test]
fn a_list_is_sent_looked_at_and_its_good_rows_imported() {
    let site = Site::founded();
    let facts = site.facts();
    site.get("/imports").is_a_good_page();
    let path = sent(&site, "old list.csv", LIST);
    let asked = site.get(&path);
    asked.is_a_good_page();
    assert!(asked.text().contains("can be read in two ways, like 03/04/2025"), "{}", asked.text());
    assert!(!asked.body.contains("Import it with my name"));

    let looked = site.get(&format!("{path}?order=day-first"));
    looked.is_a_good_page();
    let text = looked.text();
    for words in [
        "The heading stands in row 3",
        "The first of 3 rows, as they are read",
        "2025-04-03",
        "2 past tests, marked as imported",
        "wrong rows: 1",
        "row 5, column “Loss %”: “abc” is not a number",
        "<b>EF</b>",
    ] {
        assert!(text.contains(words), "{words}\n{text}");
    }
    assert_eq!(site.facts(), facts, "looking records nothing");
    let links = markup::links(&looked.body);
    let mend = links.iter().find(|link| link.contains("rows-to-mend.csv")).unwrap();
    let back = site.get(mend);
    assert_eq!(back.header("content-type"), "text/csv; charset=utf-8");
    assert!(
        back.body.starts_with("row in the file,reason,Date,Sample,Loss %,Tech\r\n5,"),
        "{}",
        back.body
    );
    assert_eq!(back.body.lines().count(), 2);

    // One bad row refuses all, until somebody says to leave it out.
    let fields =
        [("what", "tests"), ("order", "day-first"), ("_key", "one"), ("leave_out_bad", "no")];
    let refused = site.post(&path, &fields);
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    refused.is_a_good_page();
    assert!(refused.text().contains("nothing was imported"));
    assert_eq!(site.facts(), facts);
    let fields =
        [("what", "tests"), ("order", "day-first"), ("_key", "one"), ("leave_out_bad", "yes")];
    let taken = site.post(&path, &fields);
    let import = taken.onward().to_owned();
    assert!(import.starts_with("/imports/H"), "{import}");
    // Sent twice, it happens once.
    assert_eq!(site.post(&path, &fields).onward(), import);
    assert_eq!(site.facts(), facts + 2);

    let page = site.get(&import);
    page.is_a_good_page();
    let text = page.text();
    for words in [
        "was not observed here",
        "old list.csv",
        "column “Loss %”",
        "25-3",
        "“abc” is not a number",
    ] {
        assert!(text.contains(words), "{words}\n{text}");
    }
    let links = markup::links(&page.body);
    let file = links.iter().find(|link| link.starts_with("/files/")).unwrap();
    assert_eq!(site.get(file).body.as_bytes(), LIST);
    assert!(site.get("/imports").text().contains("old list.csv"));
    assert_eq!(site.get(&format!("/find?q={}", &import["/imports/".len()..])).onward(), import);

    // The same file again: it is said, and nothing is doubled.
    let again = site.get(&format!("{}?order=day-first", sent(&site, "old list.csv", LIST)));
    assert!(again.text().contains("This very file was imported already"), "{}", again.text());
    assert!(again.text().contains("all 2 good rows are here"), "{}", again.text());
}

#[test]
fn columns_are_chosen_by_hand_and_a_list_of_equipment_makes_items() {
    let site = Site::founded();
    let list = b"Where,What,Mark,Opening\nshelf,Waage,BAL-9,\nwall,sieve,S-9,1.18\n";
    let path = sent(&site, "inventar.csv", list);
    let chosen =
        "what=equipment&chosen_for=equipment&column.kind=1&column.code=2&column.opening_mm=3";
    let looked = site.get(&format!("{path}?{chosen}"));
    looked.is_a_good_page();
    assert!(looked.text().contains("2 items, each still to be proved"), "{}", looked.text());
    let fields: Vec<(String, String)> =
        form_urlencoded::parse(chosen.as_bytes()).into_owned().collect();
    let fields: Vec<(&str, &str)> =
        fields.iter().map(|(name, value)| (name.as_str(), value.as_str())).collect();
    let import = site.post(&path, &fields).onward().to_owned();
    site.get(&import).is_a_good_page();
    let item = site.get("/equipment/BAL-9");
    item.is_a_good_page();
    assert!(item.text().contains("Registered from row 2 of inventar.csv"), "{}", item.text());
    assert!(item.text().contains("being proved"), "{}", item.text());
}

#[test]
fn what_cannot_be_read_is_refused_where_it_was_sent() {
    let site = Site::founded();
    for (files, words) in [
        (&[][..], "No file was chosen"),
        (&[("old.xls", &b"\xD0\xCF\x11\xE0"[..])][..], "a workbook of the old kind (.xls)"),
        (&[("a.xlsx", &b"PK\x03\x04 nothing"[..])][..], "this is no table"),
        (&[("empty.csv", &b"\n"[..])][..], "the file holds no row"),
    ] {
        let answer = site.send_files_to("/imports/file", &[], files);
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY, "{words}");
        answer.is_a_good_page();
        assert!(answer.text().contains(words), "{words}\n{}", answer.text());
    }
    let gone = site.get(&format!("/imports/new/{}", "0".repeat(64)));
    assert_eq!(gone.status, StatusCode::NOT_FOUND);
    assert!(gone.text().contains("not here any longer"));
    // Who may not manage may look, and not import.
    let mut site = site;
    let path = sent(&site, "old list.csv", LIST);
    site.seat = String::new();
    let answer =
        site.post(&path, &[("what", "tests"), ("order", "day-first"), ("leave_out_bad", "yes")]);
    assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(answer.text().contains("Nobody is named as asking"), "{}", answer.text());
}

#[test]
fn every_table_is_handed_out_in_every_form() {
    let site = Site::demo();
    let page = site.get("/export");
    page.is_a_good_page();
    let links: Vec<String> =
        markup::links(&page.body).into_iter().filter(|link| link.starts_with("/export/")).collect();
    assert_eq!(links.len(), 9 * 3 + 4, "{links:?}");
    for link in links {
        let file = site.get(&link);
        assert_eq!(file.status, StatusCode::OK, "{link}");
        let kind = file.header("content-type");
        let right = match link.rsplit('.').next().unwrap() {
            "xlsx" => file.body.starts_with("PK") && kind.contains("spreadsheetml"),
            // The demo laboratory took over no sieve analysis: of that table there is the head alone.
            "csv" => {
                let least = if link.contains("past-sieve") { 1 } else { 6 };
                file.body.lines().count() >= least && kind.starts_with("text/csv")
            }
            _ => {
                serde_json::from_str::<serde_json::Value>(&file.body).is_ok()
                    && kind == "application/json"
            }
        };
        assert!(right, "{link}: {kind}");
    }
    for missing in ["/export/everything.csv", "/export/nothing.csv", "/export/results.pdf"] {
        assert_eq!(site.get(missing).status, StatusCode::NOT_FOUND, "{missing}");
    }
    let (_, result) = site.a_finished_specimen();
    let sheet = site.get(&format!("/results/{result}/loss.xlsx"));
    assert!(sheet.status == StatusCode::OK && sheet.body.starts_with("PK"));
}
