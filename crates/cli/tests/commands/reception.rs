//! Reception, chain of custody and labels by command.

use crate::harness::Desk;
use crate::papers::text_of;

fn received() -> (Desk, String) {
    let desk = Desk::founded();
    let sample = desk.fact(
        "sample receive --by AB --source 'Invented Quarry' --material gravel --nominal-maximum 19.0 \
         --mass '25.4 kg' --bags 2 --sampled-by 'Sam Pler' --place 'bay 4'",
        "sample",
    );
    (desk, sample)
}

#[test]
fn a_sample_goes_from_hand_to_hand_until_it_is_gone() {
    let (desk, sample) = received();
    let shown = desk.json(&format!("sample show {sample}"));
    assert_eq!(shown["received_g"], "25400");
    assert_eq!(shown["received_as_read"], "25.4 kg");
    assert_eq!((&shown["holder"], &shown["kept_at"]), (&"AB".into(), &"bay 4".into()));
    let over = format!("sample hand-over --by AB {sample}");
    assert_eq!(
        desk.done(&format!("{over} --to 'a carrier with a van' --place outside")),
        format!("{sample} handed over to a carrier with a van, outside\n")
    );
    let wrong = desk.fails(2, &format!("{over} --step eaten"));
    assert!(wrong.contains("--step: “eaten” is nothing that becomes of a sample"), "{wrong}");
    let wrong = desk.fails(2, &format!("{over} --step disposed"));
    assert!(wrong.contains("--note: why and how it was disposed of is missing"), "{wrong}");
    desk.done(&format!("{over} --step disposed --note 'nobody wants it back'"));
    let gone = desk.fails(3, &format!("{over} --to 'somebody else'"));
    assert!(gone.contains("was disposed of on"), "{gone}");
    let unknown = desk.fails(2, "sample show S00-999");
    assert!(unknown.contains("there is no sample “SYY-999”"), "{unknown}");
}

#[test]
fn labels_are_printed_to_be_scanned_and_read() {
    let (desk, sample) = received();
    let said = desk.json(&format!("labels {sample} ab --size 100x50 --out two.pdf"));
    assert_eq!(said["codes"], serde_json::json!([sample, "AB"]));
    let text = text_of(&desk.path().join("two.pdf"));
    assert!(text.contains(&sample) && text.contains("Ada Brook"), "{text}");
    let wrong = desk.fails(2, &format!("labels {sample} --size 1x1"));
    assert!(wrong.contains("“1x1” is no size of a label; write width x height in mm"), "{wrong}");
    let wrong = desk.fails(2, "labels S00-999");
    assert!(wrong.contains("nothing here has the code “SYY-999”"), "{wrong}");
    // The report is still asked for as before.
    assert!(desk.fails(2, "paper").contains("Usage"));
}
