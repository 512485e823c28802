//! Files as people and instruments write them: read if they can mean one thing only.

use stonewear_sieving::read;

/// What was read, in one line: sieves with masses, the pan, the remarks.
fn outcome(bytes: &[u8]) -> Result<(String, Vec<String>), String> {
    let read = read(bytes).map_err(|error| error.to_string())?;
    let rows: Vec<String> = read
        .retained
        .iter()
        .map(|row| format!("{}={}", row.sieve.in_mm(), row.retained_g))
        .collect();
    Ok((format!("{} pan={}", rows.join(" "), read.pan_g), read.remarks))
}

#[test]
fn what_means_one_thing_is_read_and_what_was_odd_is_said() {
    let comma = "numbers were read with a decimal comma";
    let sorted = "the sieves were not in order; they were sorted, coarsest first";
    let cases: [(&str, &str, &[&str]); 14] = [
        ("sieve_mm,retained_g\n19.0,100.5\n9.5,0\npan,12\n", "19.0=100.5 9.5=0 pan=12", &[]),
        ("\u{feff}sieve_mm,retained_g\r\n19,1\r\npan,2\r\n", "19.0=1 pan=2", &[]),
        ("sieve_mm;retained_g\n19,0;100,5\npan;12\n", "19.0=100.5 pan=12", &[comma]),
        ("sieve_mm\tretained_g\n0,075\t1\npan\t2", "0.075=1 pan=2", &[comma]),
        ("sieve_mm,retained_g\n\"19,0\",\"100,5\"\npan,12\n", "19.0=100.5 pan=12", &[comma]),
        // Beside 19,0 the comma of 1,500 is a decimal comma.
        ("sieve_mm;retained_g\n19,0;1,500\npan;2\n", "19.0=1.500 pan=2", &[comma]),
        (
            "sieve_mm,retained_g\n3/4 in.,1\nNo. 4,2\nNo. 200,3\npan,4\n",
            "19.0=1 4.75=2 0.075=3 pan=4",
            &[],
        ),
        ("sieve_mm,retained_g\n75 µm,3\nPAN,4\n", "0.075=3 pan=4", &[]),
        ("sieve_mm,retained_g\n4.75,1\n19,2\npan,3\n", "19.0=2 4.75=1 pan=3", &[sorted]),
        (
            "sieve_mm,retained_g\n19,1\npan,3\n4.75,2\n",
            "19.0=1 4.75=2 pan=3",
            &["the pan stands on line 3, before the last row"],
        ),
        ("retained_g,sieve_mm\n1,19\n2,pan\n", "19.0=1 pan=2", &[]),
        ("Sieve_mm,Retained_g,remark\n19,1,wet\npan,2,\n", "19.0=1 pan=2", &[]),
        ("# invented\n\nsieve_mm,retained_g\n19,1\n\npan,0\n", "19.0=1 pan=0", &[]),
        ("sieve_mm , retained_g \n 19 , 1 \n pan , 2 \n", "19.0=1 pan=2", &[]),
    ];
    for (text, rows, remarks) in cases {
        let remarks = remarks.iter().map(|remark| (*remark).to_owned()).collect();
        assert_eq!(outcome(text.as_bytes()), Ok((rows.to_owned(), remarks)), "{text:?}");
    }
}

#[test]
fn what_means_two_things_or_none_is_refused_with_line_and_reason() {
    let cases = [
        (
            "",
            "the file is empty; it needs a header row with the names of the columns, and rows of values",
        ),
        (
            "sieve_mm,retained_g\n",
            "there is a header (sieve_mm, retained_g) and no row of values below it",
        ),
        (
            "19,100\n9.5,50\npan,1\n",
            "line 1: the first row holds numbers only; the file needs a header row with the names of the columns",
        ),
        (
            "sieve_mm,mass\n19,1\npan,2\n",
            "there is no column \"retained_g\"; the columns are sieve_mm, mass",
        ),
        (
            "sieve_mm|retained_g\n19|1\npan|2\n",
            "line 1: the header \"sieve_mm|retained_g\" is one cell; put a comma, a semicolon or a tab between sieve_mm and retained_g",
        ),
        (
            "sieve_mm retained_g\n19 1\npan 2\n",
            "line 1: the header \"sieve_mm retained_g\" is one cell; put a comma, a semicolon or a tab between sieve_mm and retained_g",
        ),
        (
            "sieve_mm,retained_g\n19,0,100,5\npan,1\n",
            "line 2: 4 cells where the header has 2 (sieve_mm, retained_g)",
        ),
        (
            "sieve_mm,retained_g\n19,1\n9.5,2\n",
            "there is no row “pan”; what passed the finest sieve belongs to the analysis (write pan with 0 if nothing did)",
        ),
        (
            "sieve_mm,retained_g\npan,2\n",
            "there is no sieve; an analysis needs at least one besides the pan",
        ),
        (
            "sieve_mm,retained_g\n19,1\n3/4 in.,2\npan,2\n",
            "line 3: the sieve 19.0 mm (3/4 in.) stands already on line 2; add both up, or put one right",
        ),
        (
            "sieve_mm,retained_g\n19,1\npan,2\npan,3\n",
            "line 4: the pan stands already on line 3; add both up, or put one right",
        ),
        (
            "sieve_mm,retained_g\n19,-1\npan,2\n",
            "line 2, column retained_g: -1 g cannot be kept on a sieve; a mass is 0 or more",
        ),
        (
            "sieve_mm,retained_g\n19,\npan,2\n",
            "line 2, column retained_g: the mass is missing; write 0 if nothing was kept",
        ),
        (
            "sieve_mm,retained_g\n19,12 g\npan,2\n",
            "line 2, column retained_g: “12 g” carries a unit; write the number of grams alone",
        ),
        (
            "sieve_mm,retained_g\n19,lots\npan,2\n",
            "line 2, column retained_g: “lots” is not a number; write digits with at most one decimal point, like 1500.2",
        ),
        (
            "sieve_mm,retained_g\n17.3,1\npan,2\n",
            "line 2, column sieve_mm: no sieve of the general sets has an opening of 17.3 mm; the nearest are 16.0 mm (5/8 in.) and 18 mm",
        ),
        (
            "sieve_mm,retained_g\ncoarse,1\npan,2\n",
            "line 2, column sieve_mm: “coarse” is not a sieve; write its opening in mm like 19.0, or its US designation like 3/4 in. or No. 4",
        ),
        (
            "sieve_mm;retained_g\n19;1,500\npan;2\n",
            "line 2, column retained_g: “1,500” can mean 1500 or 1,500; write 1500 or 1.500",
        ),
        (
            "sieve_mm;retained_g\n19,0;1.5\npan;2\n",
            "line 2: \"19,0\" has a decimal comma and other cells have a decimal point; use one of them throughout",
        ),
        ("sieve_mm,retained_g\n19,\"1\npan,2\n", "line 2: a quote is opened here and never closed"),
        (
            "sieve_mm,retained_g\n19,1\n#200,3\npan,2\n",
            "line 3: a line that begins with # is a remark and would be passed over; write No. 200 for the sieve",
        ),
        (
            "sieve_mm,retained_g\n19,NaN\npan,2\n",
            "line 2, column retained_g: “NaN” is not a number; write digits with at most one decimal point, like 1500.2",
        ),
        (
            "sieve_mm,retained_g\n19,1e3\npan,2\n",
            "line 2, column retained_g: “1e3” is not a number; write digits with at most one decimal point, like 1500.2",
        ),
    ];
    for (text, reason) in cases {
        assert_eq!(outcome(text.as_bytes()), Err(reason.to_owned()), "{text:?}");
    }
    assert_eq!(
        outcome(b"sieve_mm,retained_g\n19,\xff\n"),
        Err("line 2: these bytes are not UTF-8; save the file as UTF-8".to_owned())
    );
}
