//! Backups: made, checked, restored whole and as the laboratory stood earlier; and what is wrong with
//! them, named.

#![allow(clippy::unwrap_used, reason = "a test that fails here says where")]

use std::path::{Path, PathBuf};
use stonewear_lab::request::{AddPerson, FoundLaboratory};
use stonewear_runtime::{
    NewFile, OpenLaboratory, Until, back_up, backups, check_backup, last_backup, restore, returned,
    verify_whole,
};
use tempfile::TempDir;

struct Place {
    folder: TempDir,
}

impl Place {
    fn founded() -> Self {
        let place = Self { folder: TempDir::new().unwrap() };
        let founding = FoundLaboratory {
            name: "Invented laboratory".into(),
            address: "1 Invented Street".into(),
            founder_code: "AB".into(),
            founder_name: "Ada Brook".into(),
            invented: "no".into(),
            time_zone: String::new(),
        };
        let mut laboratory = OpenLaboratory::open(&place.dir()).unwrap();
        laboratory.submit("", None, &founding.into()).unwrap();
        place
    }

    fn dir(&self) -> PathBuf {
        self.folder.path().join("laboratory")
    }

    fn to(&self) -> PathBuf {
        self.folder.path().join("backups")
    }

    fn other(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn adds(&self, code: &str) -> u64 {
        let mut laboratory = OpenLaboratory::open(&self.dir()).unwrap();
        let person = AddPerson {
            code: code.into(),
            name: format!("Person {code}"),
            rights: vec!["test".into()],
        };
        laboratory.submit("AB", None, &person.into()).unwrap().positions[0]
    }

    fn attaches(&self, bytes: &[u8]) {
        let mut laboratory = OpenLaboratory::open(&self.dir()).unwrap();
        if laboratory.lab().samples.is_empty() {
            let sample = stonewear_lab::request::ReceiveSample {
                source: "Invented quarry".into(),
                material: "crushed gravel".into(),
                nominal_maximum_mm: "19.0".into(),
                ..Default::default()
            };
            laboratory.submit("AB", None, &sample.into()).unwrap();
        }
        let sample = laboratory.lab().samples.keys().next().unwrap().to_string();
        let file = NewFile { to: &sample, step: "", name: "note.txt", bytes };
        laboratory.attach("AB", None, &file).unwrap();
    }
}

fn exported(dir: &Path) -> Vec<u8> {
    let mut text = Vec::new();
    assert!(stonewear_runtime::export(dir, &mut text).unwrap().intact());
    text
}

#[test]
fn a_backup_comes_back_hash_for_hash_with_its_files_and_signatures() {
    let place = Place::founded();
    place.attaches(b"The bag was torn.\n");
    let done = back_up(&place.dir(), &place.to(), None).unwrap();
    assert_eq!((done.is_new, done.new_files, done.manifest.position), (true, 1, 4));
    assert!(done.lacking.is_empty() && done.removed.is_empty());
    let checked = check_backup(&place.to(), None).unwrap();
    assert_eq!((checked.facts, checked.files, checked.wrong), (4, 1, Vec::new()));
    let back = place.other("back");
    let said = restore(&place.to(), None, &back, Until::End).unwrap();
    assert_eq!((said.position, said.whole, said.head), (4, 4, done.manifest.head));
    assert_eq!(exported(&back), exported(&place.dir()));
    let verified = verify_whole(&back, None).unwrap();
    assert!(verified.is_good(), "{verified:?}");
    assert_eq!((verified.signatures.until, verified.files), (4, 1), "a backup carries a signature");
    // Nothing secret is in a backup, nor in what comes back.
    let holds = |dir: &Path, name: &str| dir.join(name).exists();
    let backup = place.to().join(&done.manifest.folder);
    assert!(holds(&place.dir(), "signing.key"));
    assert!(!holds(&backup, "signing.key") && !holds(&backup, "access.sqlite"));
    assert!(!holds(&back, "signing.key") && !holds(&back, "access.sqlite"));
    // The laboratory goes on from there, and the page can tell how it came to be.
    assert_eq!(returned(&back).unwrap(), said);
    assert_eq!(returned(&place.dir()), None);
    OpenLaboratory::open(&back).unwrap();
}

#[test]
fn only_what_is_new_is_copied_and_old_backups_go() {
    let place = Place::founded();
    place.attaches(b"first");
    let first = back_up(&place.dir(), &place.to(), Some(2)).unwrap();
    let again = back_up(&place.dir(), &place.to(), Some(2)).unwrap();
    assert!(!again.is_new && again.new_files == 0, "nothing was recorded since");
    assert_eq!(again.manifest, first.manifest);
    assert_eq!(last_backup(&place.dir()).unwrap().position, 4);
    place.attaches(b"second");
    let second = back_up(&place.dir(), &place.to(), Some(2)).unwrap();
    assert_eq!((second.is_new, second.new_files, second.removed.len()), (true, 1, 0));
    place.adds("CD");
    let third = back_up(&place.dir(), &place.to(), Some(2)).unwrap();
    assert_eq!(third.removed, [first.manifest.folder]);
    let left: Vec<u64> = backups(&place.to()).unwrap().iter().map(|one| one.position).collect();
    assert_eq!(left, [5, 6]);
    for one in backups(&place.to()).unwrap() {
        assert!(check_backup(&place.to(), Some(&one.folder)).unwrap().wrong.is_empty());
    }
    assert_eq!(last_backup(&place.dir()).unwrap().position, 6);
}

#[test]
fn the_laboratory_comes_back_as_it_stood() {
    let place = Place::founded();
    for code in ["CD", "EF", "GH"] {
        place.adds(code);
        std::thread::sleep(std::time::Duration::from_millis(5));
    }
    back_up(&place.dir(), &place.to(), None).unwrap();
    let at_4 = {
        let text = String::from_utf8(exported(&place.dir())).unwrap();
        let line: serde_json::Value = serde_json::from_str(text.lines().nth(3).unwrap()).unwrap();
        line["at"].as_str().unwrap().parse::<jiff::Timestamp>().unwrap()
    };
    for (name, until) in [("place", Until::Position(4)), ("instant", Until::Instant(at_4))] {
        let back = place.other(name);
        let said = restore(&place.to(), None, &back, until).unwrap();
        assert_eq!((said.position, said.whole), (4, 5), "{name}");
        assert!(exported(&place.dir()).starts_with(&exported(&back)));
        let open = OpenLaboratory::open(&back).unwrap();
        assert!(open.lab().people.contains_key("EF") && !open.lab().people.contains_key("GH"));
        assert_eq!(returned(&back).unwrap().whole, 5);
        drop(open);
        assert!(verify_whole(&back, None).unwrap().is_good());
    }
    for (until, words) in [
        (Until::Position(6), "holds entries 1 to 5; 6 is not among them"),
        (Until::Position(0), "0 is not among them"),
        (Until::Instant(jiff::Timestamp::UNIX_EPOCH), "nothing had been recorded by then"),
    ] {
        let error = restore(&place.to(), None, &place.other("none"), until).unwrap_err();
        assert!(error.to_string().contains(words), "{error}");
        assert!(!place.other("none").exists());
    }
    let error = restore(&place.to(), None, &place.dir(), Until::End).unwrap_err();
    assert!(error.to_string().contains("not empty"), "{error}");
    let error = restore(&place.to(), Some("x"), &place.other("x"), Until::End).unwrap_err();
    assert!(error.to_string().contains("there is no backup x in"), "{error}");
}

#[test]
fn what_is_wrong_with_a_backup_is_found_by_checking_it() {
    let place = Place::founded();
    place.attaches(b"The bag was torn.\n");
    let done = back_up(&place.dir(), &place.to(), None).unwrap();
    let backup = place.to().join(&done.manifest.folder);
    let files: Vec<_> = std::fs::read_dir(place.to().join("files")).unwrap().flatten().collect();
    let file = files[0].path();
    let damage = |path: &Path, change: &dyn Fn(&mut Vec<u8>)| {
        let good = std::fs::read(path).unwrap();
        let mut bytes = good.clone();
        change(&mut bytes);
        std::fs::write(path, bytes).unwrap();
        let checked = check_backup(&place.to(), None).unwrap();
        std::fs::write(path, good).unwrap();
        checked.wrong.join("; ")
    };
    let journal = backup.join("journal.jsonl.gz");
    let middle = |bytes: &mut Vec<u8>| {
        let middle = bytes.len() / 2;
        bytes[middle] ^= 0xff;
    };
    for wrong in [
        damage(&journal, &middle),
        damage(&journal, &|bytes| bytes.truncate(bytes.len() - 12)),
        damage(&file, &|bytes| bytes[0] = b't'),
        damage(&backup.join("backup.json"), &|bytes| {
            *bytes =
                String::from_utf8_lossy(bytes).replace("\"position\": 4", "\"position\": 3").into();
        }),
        damage(&backup.join("signatures.jsonl"), &middle),
    ] {
        assert!(!wrong.is_empty());
    }
    std::fs::remove_file(&file).unwrap();
    let wrong = check_backup(&place.to(), None).unwrap().wrong;
    assert!(!wrong.is_empty() && wrong[0].contains("a file is lacking"), "{wrong:?}");
    // The next backup brings it again.
    assert_eq!(back_up(&place.dir(), &place.to(), None).unwrap().new_files, 1);
    assert!(check_backup(&place.to(), None).unwrap().wrong.is_empty());
}

#[test]
fn a_backup_is_a_witness_against_another_journal() {
    let place = Place::founded();
    place.adds("CD");
    let keep = exported(&place.dir());
    back_up(&place.dir(), &place.to(), None).unwrap();
    let other = Place::founded();
    let error = back_up(&other.dir(), &place.to(), None).unwrap_err();
    assert!(error.to_string().contains("another laboratory, Invented laboratory"), "{error}");
    // Returned to an earlier moment, and gone on with: the backup knows better.
    let back = place.other("back");
    restore(&place.to(), None, &back, Until::Position(2)).unwrap();
    let error = back_up(&back, &place.to(), None).unwrap_err();
    assert!(error.to_string().contains("its end is lost, or it was returned"), "{error}");
    let person = AddPerson { code: "XY".into(), name: "Xe Yu".into(), rights: vec!["test".into()] };
    OpenLaboratory::open(&back).unwrap().submit("AB", None, &person.into()).unwrap();
    let error = back_up(&back, &place.to(), None).unwrap_err();
    assert!(error.to_string().contains("entry 3 or one before it is another"), "{error}");
    assert_eq!(backups(&place.to()).unwrap().len(), 1);
    assert_eq!(exported(&place.dir()), keep);
}

#[test]
fn what_a_killed_backup_left_is_no_backup() {
    let place = Place::founded();
    back_up(&place.dir(), &place.to(), None).unwrap();
    std::fs::create_dir(place.to().join("20261126T000000.000Z.77.partial")).unwrap();
    std::fs::create_dir(place.to().join("20261126T000000.001Z")).unwrap();
    assert_eq!(backups(&place.to()).unwrap().len(), 1);
    place.adds("CD");
    back_up(&place.dir(), &place.to(), None).unwrap();
    let names = std::fs::read_dir(place.to()).unwrap().flatten();
    assert!(
        names.map(|one| one.file_name()).all(|name| !name.to_string_lossy().ends_with(".partial"))
    );
}

#[test]
fn signatures_travel_with_a_packed_laboratory() {
    let place = Place::founded();
    stonewear_runtime::sign_folder(&place.dir(), "a test").unwrap();
    let (packed, back) = (place.other("packed"), place.other("unpacked"));
    stonewear_runtime::pack(&place.dir(), &packed).unwrap();
    assert!(!packed.join("signing.key").exists());
    stonewear_runtime::unpack(&packed, &back).unwrap();
    let verified = verify_whole(&back, None).unwrap();
    assert!(verified.is_good() && verified.signatures.until == 2, "{verified:?}");
    let empty = place.other("empty");
    drop(OpenLaboratory::open(&empty).unwrap());
    let error = back_up(&empty, &place.other("none"), None).unwrap_err();
    assert_eq!(error.to_string(), "nothing is recorded yet");
}
