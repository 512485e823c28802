//! The first page: what is asked of whoever sits here, what is not ready, and the way of a new
//! laboratory.

use crate::site::Site;

/// What stands between two texts of the page.
fn between(text: &str, begin: &str, end: &str) -> String {
    let from = text.split_once(begin).unwrap_or_else(|| panic!("{begin:?} is not in {text}")).1;
    from.split_once(end).map_or(from, |(part, _)| part).to_owned()
}

#[test]
fn each_person_is_shown_what_is_asked_of_them_and_folded_what_is_not() {
    let mut site = Site::demo();
    let mut seen = Vec::new();
    for (code, name) in [("IK", "Ines Korhola"), ("DO", "Davit Osgrave")] {
        site.seat = code.to_owned();
        let page = site.get("/");
        page.is_a_good_page();
        let mine = between(&page.text(), &format!("Asked of {name}"), "Asked of others");
        seen.push((page.text().contains("Asked of others"), mine));
    }
    assert_ne!(seen[0].1, seen[1].1);
    // Whoever tests nothing to be released is not asked to release.
    assert!(seen.iter().any(|(_, mine)| mine.contains("release the loss")));
    assert!(seen.iter().any(|(_, mine)| !mine.contains("release the loss")));
    assert!(seen.iter().all(|(others, _)| *others));
    // Nobody sits here: everything, and with whom it lies.
    site.seat = String::new();
    let page = site.get("/");
    let all = between(&page.text(), "What waits", "Not ready, and why");
    assert!(all.contains("Say who is at the bench") && all.contains("who began it"), "{all}");
}

#[test]
fn what_is_not_ready_is_one_line_a_lack_with_the_link_that_mends_it() {
    let site = Site::demo();
    let page = site.get("/");
    let section = between(&page.body, "<section class=\"section\" id=\"not-ready\">", "</section>");
    // Four activities without anybody authorised are one line.
    assert_eq!(section.matches("nobody is authorised to").count(), 1, "{section}");
    assert!(section.contains("href=\"/people\""), "{section}");
    assert!(section.contains("href=\"/equipment/MILL-2\""), "{section}");
    // The machines say only that they are not ready, and lead there.
    let benches = between(&page.body, "<div class=\"benches\">", "id=\"not-ready\"");
    assert!(benches.contains("not ready for ASTM C131") && benches.contains("href=\"#not-ready\""));
}

#[test]
fn a_new_laboratory_is_led_from_step_to_step() {
    let site = Site::founded();
    let action = |site: &Site| {
        let page = site.get("/");
        page.is_a_good_page();
        let actions = between(&page.body, "<section class=\"empty\">", "</section>");
        let link = between(&actions, "<a class=\"button\" href=\"", "</a>");
        link.replace("\">", " ")
    };
    assert_eq!(action(&site), "/people Add the people");
    // Alone, one goes on without anybody else.
    assert!(site.get("/").text().contains("I work alone: choose the method"));
    site.post("/methods/astm-d6928", &[("request", "adopt-method"), ("method", "astm-d6928")]);
    assert_eq!(action(&site), "/equipment/new?kind=apparatus Register the apparatus");
    let machine = [
        ("request", "register-item"),
        ("kind", "apparatus"),
        ("code", "MILL-1"),
        ("name", "jar mill"),
        ("built.control", "both"),
        ("built.counter_senses", "roller"),
        ("built.mode_change", "at the panel"),
        ("built.after_power_loss", "count lost"),
        ("built.time_step", "1 min"),
        ("built.nominal_rpm", "100"),
        ("built.tier_1_name", "only"),
        ("built.tier_1_positions", "1"),
        ("built.door_1_name", "front"),
        ("built.interlock", "yes"),
    ];
    assert_eq!(site.post("/equipment/new", &machine).onward(), "/equipment/MILL-1");
    assert_eq!(action(&site), "/equipment/MILL-1 Go on proving MILL-1");
    let begin = [("request", "start-check"), ("item", "MILL-1"), ("procedure", "function-check")];
    let check = site.post("/equipment/MILL-1", &begin).onward().to_owned();
    assert_eq!(action(&site), format!("{check} Go on with the check of MILL-1"));
    // Its step says why, one touch away, and what to do when it fails.
    let step = site.get(&check).text();
    assert!(step.contains("Why this step, and if it fails"), "{step}");
    assert!(step.contains("Common practice, no published source."), "{step}");
    assert!(step.contains("If it is not so:"), "{step}");
}
