//! `stonewear split-round` and `stonewear scores`: from the plan to the papers.

use crate::harness::Desk;

#[test]
fn a_round_is_planned_filled_shown_and_printed() {
    let desk = Desk::founded();
    let plan = "split-round plan --by AB --title Spring --method 'as we do it' --closes-on 2099-06-30 \
                --material 'A; granite; 0.6' --replicates 1 --participant 'Invented One; Ann' \
                --participant 'Invented Two'";
    let planned = desk.json(&format!("{plan} --seed 11"));
    let code = |place: usize| planned["facts"][place]["participant"].as_str().unwrap().to_owned();
    let (round, one, two) =
        (planned["facts"][0]["round"].as_str().unwrap().to_owned(), code(1), code(2));
    assert!(desk.fails(2, &format!("{plan} --seed -1")).contains("--seed: "));

    desk.done(&format!("split-round form {round} {one} --out form.csv"));
    let form = std::fs::read_to_string(desk.path().join("form.csv")).unwrap();
    assert!(form.ends_with(&format!("\n{one},A,1,\n")), "{form}");
    desk.write(
        "in.csv",
        &format!("code;material;replicate;value\n{one};A;1;10,1\n{two};A;1;11,9\n"),
    );
    desk.write("bad.csv", "code,material,replicate,value\nXX-99,A,1,10\n");
    let take_in = format!("split-round take-in --by AB {round} --file");
    let bad = desk.fails(2, &format!("{take_in} bad.csv"));
    assert!(bad.contains("--file: line 2: nobody takes part under the code “XX-99”"), "{bad}");
    desk.done(&format!("{take_in} in.csv"));
    desk.fails(3, &format!("{take_in} in.csv"));

    let shown = desk.json(&format!("split-round show {round}"));
    assert_eq!(shown["materials"][0]["mean"], "11");
    let own = desk.done(&format!("split-round show {round} --participant {one} --csv own.csv"));
    assert!(own.contains(&one) && !own.contains(&two) && !own.contains("Invented Two"), "{own}");
    let csv = std::fs::read_to_string(desk.path().join("own.csv")).unwrap();
    assert!(csv.contains(&one) && !csv.contains(&two), "{csv}");
    assert!(desk.fails(2, "split-round show B99-001").contains("there is no round “B99-001”"));

    desk.done(&format!("split-round leave-out --by AB {round} {two} A --reason 'torn sieve'"));
    desk.done(&format!("split-round count --by AB {round} {two} A --reason 'it was sound'"));
    desk.done(&format!("split-round close --by AB {round}"));
    assert!(desk.json("split-round list")["rounds"][0]["closed"].is_string());
    for (paper, to) in [
        ("report", String::new()),
        ("report", format!("--participant {one}")),
        ("instructions", String::new()),
    ] {
        desk.done(&format!("split-round paper {round} {paper} {to} --out paper.pdf"));
        let bytes = std::fs::read(desk.path().join("paper.pdf")).unwrap();
        assert!(bytes.starts_with(b"%PDF-"), "{paper} {to}");
    }
}

#[test]
fn scores_are_taken_in_acted_on_and_closed() {
    let desk = Desk::founded();
    desk.write(
        "scores.csv",
        "round,date,material,value,assigned,sigma_pt\n1,2020-03-01,A,14.7,14.0,0.3\n",
    );
    let take_in =
        "scores take-in --by AB --provider 'Invented Rounds' --method d6928 --file scores.csv";
    let said = desk.done(take_in);
    assert!(said.contains("z = 2.33, questionable"), "{said}");
    desk.fails(3, take_in);
    let score = desk.json("scores show")["open"][0].as_str().unwrap().to_owned();
    desk.fails(3, &format!("scores close --by AB {score} --finding 'all is well'"));
    desk.done(&format!("scores act --by AB {score} --cause 'torn sieve' --action 'new sieve'"));
    desk.done(&format!("scores close --by AB {score} --finding 'the next was good'"));
    let shown = desk.json("scores show --csv out.csv --svg chart.svg --out scores.pdf");
    assert_eq!(shown["open"].as_array().unwrap().len(), 0);
    assert_eq!(shown["series"][0]["scores"][0]["verdict"], "questionable");
    assert!(std::fs::read_to_string(desk.path().join("chart.svg")).unwrap().starts_with("<svg"));
    assert!(std::fs::read(desk.path().join("scores.pdf")).unwrap().starts_with(b"%PDF-"));
}
