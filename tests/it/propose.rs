//! `new --from`: what untidy files tell of themselves, and what is left for somebody to fill in.

mod names;

use harness::night_migrants;
use harness::places::skipped;
use harness::program::{Ran, Workspace, typed};

/// A workspace of settings proposed for a file, and what was said of it.
fn proposed(name: &str, content: impl AsRef<[u8]>) -> (Workspace, Ran) {
    let workspace = Workspace::empty().with(name, content);
    let (dir, file) = (workspace.path(""), workspace.path(name));
    let (dir, file) = (dir.to_str().expect("plain"), file.to_str().expect("plain"));
    let said = typed(&["new", dir, "--from", file]);
    (workspace, said)
}

fn settings(workspace: &Workspace) -> String {
    std::fs::read_to_string(workspace.path("wingtide.toml")).expect("settings")
}

/// As somebody would fill it in.
fn filled_in(workspace: &Workspace) {
    let text = settings(workspace);
    let text: String = text
        .lines()
        .map(|line| {
            let filled = match line.split(' ').next() {
                Some("latitude") => line.replace("\"FILL IN\"", "54.6"),
                Some("longitude") => line.replace("\"FILL IN\"", "-0.4"),
                Some("time_zone") => line.replace("\"FILL IN\"", "\"Europe/London\""),
                Some("region") => line.replace("\"FILL IN\"", "\"western-palearctic\""),
                Some("date_order") => line.replace("\"FILL IN\"", "\"day-month-year\""),
                _ => line.to_owned(),
            };
            filled + "\n"
        })
        .collect();
    workspace.write("wingtide.toml", text);
}

/// Semicolons, windows-1252, German headers, a title-cased name, a code and a hybrid.
const GERMAN: &[u8] = b"Datum;Ort;Vogelart;Anzahl;Minuten;Bemerkung\r\n\
    31.08.2023;Lange Bank;Zwergstrandl\xe4ufer;2;60;\r\n\
    31.08.2023;Lange Bank;Alpenstrandl\xe4ufer;c. 120;60;\r\n\
    07.09.2023;lange bank;Calidris alpina schinzii;85;45;\r\n\
    07.09.2023;Lagune;LiSt;x;45;laut\r\n\
    07.09.2023;Lagune;Calidris sp.;3;45;\r\n";

#[test]
fn a_sheet_of_another_country() {
    let (workspace, said) = proposed("zaehlung.csv", GERMAN);
    let out = said.works();
    for told in [
        "5 rows, windows-1252, semicolons",
        "date      \"Datum\", day-month-year",
        "site      \"Ort\"",
        "species   \"Vogelart\"",
        "count     \"Anzahl\"",
        "effort    \"Minuten\"",
        "sites: 2",
        "Lange Bank (3 rows), coordinates: FILL IN",
        "Calidris minuta, Little Stint, in the file: Zwergstrandl\u{e4}ufer (1 row)",
        "names of no species known here, to be filled in: 1",
        "names of no one species, which will be kept back: 1",
    ] {
        // a name of a shipped set in any language needs no "also", but it does no harm
        assert!(out.contains(told), "{told}\n{out}");
    }
    // nothing loads until somebody has filled in where the sites are
    let refused = workspace.run(&["load"]).fails();
    assert!(
        refused.contains("latitude in [[site]] is the text \"FILL IN\"; expected degrees north"),
        "{refused}"
    );
    assert!(!workspace.path(ingest::STORE_FOLDER).exists());
    filled_in(&workspace);
    let report = workspace.run(&["load", "--json"]).json();
    let source = &report["sources"][0];
    // the bird left undecided is kept apart, the code is nobody's
    assert_eq!(
        (&source["rows"], &source["accepted"]),
        (&5.into(), &4.into()),
        "{source}"
    );
}

#[test]
fn a_file_that_tells_its_places_loads_at_once() {
    let csv = "eventDate,locationID,decimalLatitude,decimalLongitude,scientificName,individualCount\n\
        2024-05-01,bank,54.63,-0.41,Calidris minuta,2\n\
        2024-05-01,bank,54.63,-0.41,calidris ALPINA,40\n\
        2024-05-02,lagoon,54.62,-0.40,Sterna hirundo,12\n\
        2024-05-03,lagoon,54.62,-0.40,Rarus avis,1\n";
    let (workspace, said) = proposed("counts.csv", csv);
    if said.err.contains("FILL IN") {
        // the computer tells no time zone
        filled_in(&workspace);
    }
    said.works();
    let report = workspace.run(&["load", "--json"]).json();
    let source = &report["sources"][0];
    assert_eq!(
        (&source["accepted"], &source["file"]),
        (&4.into(), &"counts.csv".into())
    );
    let text = settings(&workspace);
    for line in [
        "latitude = 54.63",
        "longitude = -0.4 ",
        "scientific = \"Rarus avis\"",
    ] {
        assert!(text.contains(line), "{line}\n{text}");
    }
    assert!(text.contains("region = \"western-palearctic\""), "{text}");
}

/// Rows with names that the shipped sets do not have.
const OWN_NAMES: &str = "Date,Bird,Count\n2024-05-01,Wheatear,2\n2024-05-01,Dunlim,3\n\
    2024-05-02,Dunlin,7\n2024-05-02,Snow Buntng,1\n2024-05-03,Dunlin (Calidris alpina),9\n\
    2024-05-03,Sea Lark,4\n";

#[test]
fn a_file_beside_the_folder_is_named_from_there_and_the_zone_is_told() {
    let around = Workspace::empty().with("counts.csv", OWN_NAMES);
    let (dir, file) = (around.path("new/mine"), around.path("counts.csv"));
    let (dir, file) = (dir.to_str().expect("plain"), file.to_str().expect("plain"));
    let out = typed(&["new", dir, "--from", file]).works();
    assert!(
        out.contains("time zone \"") || out.contains("time zone FILL IN"),
        "{out}"
    );
    let text = std::fs::read_to_string(around.path("new/mine/wingtide.toml")).expect("settings");
    // two folders up it lies neither below nor beside
    assert!(
        text.contains(&format!("file = {:?}", canonical(file))),
        "{text}"
    );
    let beside = around.path("beside");
    let beside = beside.to_str().expect("plain");
    let out = typed(&["new", beside, "--from", file]).works();
    assert!(out.starts_with("../counts.csv: 6 rows"), "{out}");
    let text = std::fs::read_to_string(around.path("beside/wingtide.toml")).expect("settings");
    assert!(text.contains("file = \"../counts.csv\"\n"), "{text}");
    let text = text.replace("\"FILL IN\"", "FILL IN");
    let open = text.matches("FILL IN").count();
    assert!(open >= 4, "{text}");
    let refused = typed(&["load", "--dir", beside]).fails();
    let counted = refused
        .lines()
        .filter(|line| line.contains("FILL IN"))
        .count()
        - 1;
    assert!(
        refused.contains(&format!("\"FILL IN\" stands in {counted} places")),
        "{refused}"
    );
}

fn canonical(path: &str) -> std::path::PathBuf {
    std::fs::canonicalize(path).expect("it is there")
}

#[test]
fn dates_that_read_both_ways_are_left_open() {
    let csv = "Day\tBird\tHow many\n01/02/2024\tDunlin\t3\n03/04/2024\tDunlin\t5\n";
    let (workspace, said) = proposed("counts.tsv", csv);
    let out = said.works();
    assert!(out.contains("day-month-year or month-day-year"), "{out}");
    assert!(
        out.contains("tabs") && out.contains("none: all rows are of one site"),
        "{out}"
    );
    let refused = workspace.run(&["load"]).fails();
    assert!(
        refused.contains("unknown date_order \"FILL IN\""),
        "{refused}"
    );
    filled_in(&workspace);
    workspace.run(&["load"]).works();
    // one date that reads one way alone settles it
    let (_, said) = proposed("counts.tsv", format!("{csv}13/04/2024\tDunlin\t5\n"));
    assert!(said.works().contains("date      \"Day\", day-month-year\n"));
}

#[test]
fn columns_without_a_telling_header_are_known_by_their_cells() {
    let csv = "id,when,who,what,seen\n1,2024-05-01,AB,Dunlin,3\n2,2024-05-02,AB,Little Stint,30+\n\
        3,2024-05-03,CD,Dunlin,7\n4,2024-05-04,CD,Dunlin,2\n";
    let (_, said) = proposed("counts.csv", csv);
    let out = said.works();
    for told in [
        "date      \"when\"",
        "species   \"what\"",
        "count     \"seen\"",
    ] {
        assert!(out.contains(told), "{told}\n{out}");
    }
}

#[test]
fn genus_and_epithet_and_a_row_for_each_bird() {
    let Some(real) = night_migrants::workspace() else {
        return skipped("../shared/data is absent");
    };
    let csv = std::fs::read(real.path("records.csv")).expect("records");
    let (workspace, said) = proposed("records.csv", csv);
    let out = said.works();
    for told in [
        "20,662 rows",
        "species   \"Genus\" and \"Species\"",
        "count     none: each row is one bird",
        "site      \"Locality\"",
        "species: 79",
    ] {
        assert!(out.contains(told), "{told}\n{out}");
    }
    filled_in(&workspace);
    let report = workspace.run(&["load", "--json"]).json();
    assert_eq!(report["sources"][0]["accepted"], 20_662);
}

#[test]
fn a_title_above_the_columns_is_no_column() {
    let title: &[u8] = b"Z\xe4hlungen, Lange Bank, 2023;;;;;\r\n\r\n";
    let (workspace, said) = proposed("zaehlung.csv", [title, GERMAN].concat());
    let out = said.works();
    for told in [
        "named in line 3",
        "5 rows, windows-1252, semicolons",
        "date      \"Datum\", day-month-year",
    ] {
        assert!(out.contains(told), "{told}: {out}");
    }
    filled_in(&workspace);
    let report = workspace.run(&["load", "--json"]).json();
    let source = &report["sources"][0];
    assert_eq!(
        (&source["rows"], &source["accepted"]),
        (&5.into(), &4.into()),
        "{source}"
    );
}

#[test]
fn what_proposes_nothing_leaves_nothing() {
    for (content, said) in [
        (
            &b"PK\x03\x04\x14\x00"[..],
            "is not delimited text; save the sheet as CSV",
        ),
        (b"", "holds no rows below a header line"),
        (b"Date,Bird\n\n", "holds no rows below a header line"),
    ] {
        let (workspace, ran) = proposed("counts.csv", content);
        let wrong = ran.fails();
        assert!(wrong.contains(said), "{wrong}");
        assert!(!workspace.path("wingtide.toml").exists());
    }
    let said = typed(&["new", "/tmp", "--from", "/no/such/file.csv"]).fails();
    assert!(said.contains("/no/such/file.csv cannot be read"), "{said}");
}

/// Spreadsheets end rows in a separator that the header has not; statistics programs write names of
/// rows and none above them.
#[test]
fn a_header_shorter_than_its_rows_is_still_the_header() {
    let mut ended = "Date;Place;Bird;Number\n".to_owned();
    let mut numbered = "\"Date\";\"Place\";\"Bird\";\"Number\"\n".to_owned();
    for day in 1..=9 {
        ended += &format!("2024-09-0{day};Long Bank;Dunlin;{day};\n");
        numbered += &format!("\"{day}\";\"2024-09-0{day}\";\"Long Bank\";\"Dunlin\";{day}\n");
    }
    let (workspace, said) = proposed("ended.csv", &ended);
    let out = said.works();
    assert!(!out.contains("named in line"), "{out}");
    for told in [
        "date      \"Date\"",
        "count     \"Number\"",
        "Long Bank (9 rows)",
    ] {
        assert!(out.contains(told), "{told}\n{out}");
    }
    filled_in(&workspace);
    let report = workspace.run(&["load", "--json"]).json();
    assert_eq!(report["sources"][0]["accepted"], 9, "{report}");
    assert!(!out.contains("more cells than"), "{out}");
    let (_, said) = proposed("numbered.csv", &numbered);
    let out = said.works();
    assert!(
        out.contains("for that at the beginning of line 1, and"),
        "{out}"
    );
    assert!(
        !out.contains("named in line") && !out.contains("2024-09-01\""),
        "{out}"
    );
}
