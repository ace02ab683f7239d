use super::*;
use std::collections::BTreeMap;

fn listed() -> Vec<Species> {
    let species = |scientific: &str, en: &str, also: &[&str]| Species {
        scientific: scientific.into(),
        names: BTreeMap::from([("en".into(), en.into())]),
        also: also.iter().map(|a| a.to_string()).collect(),
        sensitive: None,
        synonyms: Vec::new(),
        written: true,
    };
    vec![
        species(
            "Calidris minuta",
            "Little Stint",
            &["Lit Stint", "stint sp."],
        ),
        species("Calidris temminckii", "Temminck's Stint", &["stint"]),
        species("Calidris alpina", "Dunlin", &["stint"]),
        species("Sterna hirundo", "Common Tern", &[]),
        species("Sterna paradisaea", "Arctic Tern", &[]),
    ]
}

fn totals() -> TotalsWords {
    TotalsWords::new(&config::meaning::Words::default().totals)
}

fn book() -> NameBook {
    let undecided = Undecided {
        name: "Small wader".into(),
        between: vec!["Calidris minuta".into(), "Calidris alpina".into()],
    };
    NameBook::new(&listed(), &[undecided], totals(), false)
}

fn flags(read: &ReadName) -> String {
    let letter = |kind: &RepairKind| match kind {
        RepairKind::Case => 'c',
        RepairKind::Spaces => 's',
        RepairKind::Tabs => 't',
        RepairKind::Subspecies => 'u',
        RepairKind::Author => 'a',
        RepairKind::BothNames => 'b',
        RepairKind::NoBirds => 'n',
        other => panic!("{other:?}"),
    };
    read.repairs.iter().map(letter).collect()
}

fn species(name: &str, listed: bool) -> Whose {
    Whose::Species {
        name: name.into(),
        listed,
    }
}

#[test]
fn names_that_can_be_read() {
    let cases = [
        ("Calidris minuta", "Calidris minuta", true, ""),
        ("calidris minuta", "Calidris minuta", true, "c"),
        ("CALIDRIS MINUTA", "Calidris minuta", true, "c"),
        (" Calidris\t minuta", "Calidris minuta", true, "st"),
        ("Little Stint", "Calidris minuta", true, ""),
        ("little stint", "Calidris minuta", true, "c"),
        ("Lit Stint", "Calidris minuta", true, ""),
        ("stint sp.", "Calidris minuta", true, ""),
        ("dunlin", "Calidris alpina", true, "c"),
        ("Calidris alpina schinzii", "Calidris alpina", true, "u"),
        (
            "calidris alpina ssp. schinzii",
            "Calidris alpina",
            true,
            "cu",
        ),
        ("Calidris canutus", "Calidris canutus", false, ""),
        ("calidris Canutus", "Calidris canutus", false, "c"),
        ("Calidris minutta", "Calidris minutta", false, ""),
        (
            "Larus novae-hollandiae",
            "Larus novae-hollandiae",
            false,
            "",
        ),
        ("Motacilla flava thunbergi", "Motacilla flava", false, "u"),
    ];
    for (cell, name, listed, mended) in cases {
        let read = book().read(cell).unwrap_or_else(|e| panic!("{cell}: {e}"));
        assert_eq!(read.whose, species(name, listed), "{cell}");
        assert_eq!(flags(&read), mended, "{cell}");
    }
    let two_columns = NameBook::new(&listed(), &[], totals(), true);
    assert_eq!(two_columns.read("Larus "), Err(NameProblem::GenusOnly));
    assert!(matches!(
        two_columns.read(" canus"),
        Err(NameProblem::NotAName(_))
    ));
    let read = two_columns.read("larus canus").unwrap();
    assert_eq!(
        (read.whose, read.repairs),
        (species("Larus canus", false), vec![RepairKind::Case])
    );
}

#[test]
fn names_that_cannot_be_read() {
    use NameProblem::*;
    let near = |name: &str| NotAName(Some(name.into()));
    let cases = [
        ("", Empty),
        (" \t", Empty),
        ("12", NotAName(None)),
        ("Dunlim", near("Dunlin")),
        ("Litle Stint", near("Little Stint")),
        ("Litle stint", near("Little Stint")),
        ("Temmincks stint", near("Temminck's Stint")),
        ("Wood Sandpiper", NotAName(None)),
        ("larus canus", NotAName(None)),
        ("Black-headed Gull", NotAName(None)),
        ("Common Ringed Plover", NotAName(None)),
        ("B\u{e9}casseau variable", NotAName(None)),
        ("Calidris minuta x alpina", Hybrid),
        ("Calidris minuta \u{d7} temminckii", Hybrid),
        ("Larus sp.", GenusOnly),
        ("Little Stint/wader", Slash),
        ("cf. wader", Doubtful),
    ];
    for (cell, expected) in cases {
        assert_eq!(book().read(cell), Err(expected), "{cell}");
    }
    assert!(matches!(book().read("Stint"), Err(Ambiguous(_, _))));
}

#[test]
fn two_names_of_a_species_in_a_cell() {
    let cases = [
        ("Dunlin (Calidris alpina)", "Calidris alpina", "b"),
        ("Calidris alpina (Dunlin)", "Calidris alpina", "b"),
        ("dunlin [calidris alpina]", "Calidris alpina", "bc"),
        ("Calidris minuta - Little Stint", "Calidris minuta", "b"),
        ("Calidris minuta, Little Stint", "Calidris minuta", "b"),
        ("Little Stint / Lit Stint", "Calidris minuta", "b"),
        ("Dunlin (Calidris alpina schinzii)", "Calidris alpina", "bu"),
        (
            "Dunlin (Calidris alpina (Linnaeus, 1758))",
            "Calidris alpina",
            "ba",
        ),
        ("Common Tern \u{2013} Sterna hirundo", "Sterna hirundo", "b"),
    ];
    for (cell, name, mended) in cases {
        let read = book().read(cell).unwrap_or_else(|e| panic!("{cell}: {e}"));
        assert_eq!(read.whose, species(name, true), "{cell}");
        assert_eq!(flags(&read), mended, "{cell}");
    }
    // a scientific name's author is no second name
    let read = book().read("Calidris minuta (Leisler, 1812)").unwrap();
    assert_eq!(flags(&read), "a");
}

#[test]
fn two_names_that_disagree() {
    let said = |cell: &str| book().read(cell).unwrap_err().to_string();
    assert_eq!(
        said("Dunlin (Calidris minuta)"),
        "names two species, \"Dunlin\" (Calidris alpina) and \"Calidris minuta\"; leave the one that \
         was meant"
    );
    // a species that is not listed is another one all the same, where its genus is known
    assert_eq!(
        said("Calidris canutus - Little Stint"),
        "names two species, \"Calidris canutus\" and \"Little Stint\" (Calidris minuta); leave the \
         one that was meant"
    );
    let near = |cell: &str| NameProblem::NotAName(Some(cell.into()));
    for cell in ["Dunlin (Adult winter)", "Dunlin (juv.)"] {
        assert_eq!(book().read(cell), Err(near("Dunlin")), "{cell}");
    }
    // neither says of what it is
    assert_eq!(
        book().read("Knot (Calidris canutus)"),
        Err(NameProblem::NotAName(None))
    );
}

#[test]
fn words_of_totals_are_no_names() {
    for cell in [
        "Total",
        "TOTAL:",
        "Total birds",
        "\u{3a3}",
        "Grand total",
        "Summe",
    ] {
        assert_eq!(book().read(cell), Err(NameProblem::Totals), "{cell}");
        assert_eq!(
            book().left_unknown(cell, &book().read(cell)),
            LeftUnknown::Nothing
        );
    }
    let named = [Species {
        scientific: "Calidris alpina".into(),
        names: BTreeMap::from([("en".into(), "Sum".into())]),
        also: Vec::new(),
        sensitive: None,
        synonyms: Vec::new(),
        written: true,
    }];
    let book = NameBook::new(&named, &[], totals(), false);
    assert!(book.read("sum").is_ok(), "a listed name is a name");
}

#[test]
fn birds_left_undecided() {
    let (alpina, minuta, temminckii) =
        ("Calidris alpina", "Calidris minuta", "Calidris temminckii");
    let terns = ["Sterna hirundo", "Sterna paradisaea"];
    let cases: [(&str, &[&str]); 9] = [
        ("Calidris minuta/temminckii", &[minuta, temminckii]),
        (
            "Calidris minuta / Calidris temminckii",
            &[minuta, temminckii],
        ),
        ("Dunlin/Little Stint", &[alpina, minuta]),
        ("Common/Arctic Tern", &terns),
        ("Calidris sp.", &[alpina, minuta, temminckii]),
        ("small  wader", &[alpina, minuta]),
        ("Calidris cf. minuta", &[minuta]),
        ("Little Stint?", &[minuta]),
        ("possible Dunlin", &[alpina]),
    ];
    for (cell, expected) in cases {
        let read = book().read(cell).unwrap_or_else(|e| panic!("{cell}: {e}"));
        let expected = expected.iter().map(|s| s.to_string()).collect();
        assert_eq!(read.whose, Whose::Undecided(expected), "{cell}");
    }
    let qualified = |name, qualifier| match book().qualified(name, qualifier).unwrap() {
        Whose::Undecided(between) => between,
        decided => panic!("{decided:?}"),
    };
    assert_eq!(qualified("Calidris minuta", "cf."), [minuta]);
    assert_eq!(
        qualified("Calidris", "minuta/temminckii"),
        [minuta, temminckii]
    );
    assert_eq!(
        qualified("Little Stint", "Little Stint/Dunlin"),
        [alpina, minuta]
    );
}

#[test]
fn words_for_no_birds_unless_they_are_listed() {
    let read = |book: &NameBook, cell: &str| {
        let read = book.read(cell).unwrap_or_else(|e| panic!("{cell}: {e}"));
        (read.whose.clone(), flags(&read))
    };
    let nothing = |repairs: &str| (Whose::Nothing, repairs.to_owned());
    for (cell, repairs) in [
        ("nil", "n"),
        ("No birds", "n"),
        (" NONE", "ns"),
        ("\u{2014}", "n"),
    ] {
        assert_eq!(read(&book(), cell), nothing(repairs), "{cell}");
    }
    let in_two = NameBook::new(&listed(), &[], totals(), true);
    for cell in ["nil ", "No birds"] {
        assert_eq!(read(&in_two, cell), nothing("n"), "{cell:?}");
    }
    // the list goes before the word, and in a wide table there is no such word
    let mut species = listed();
    species[2].also.push("None".into());
    let listed = NameBook::new(&species, &[], totals(), false);
    let dunlin = self::species("Calidris alpina", true);
    assert_eq!(read(&listed, "None"), (dunlin, String::new()));
    assert_eq!(read(&listed, "nil"), nothing("n"));
    let nil = book().of_wide_table().read("nil");
    assert_eq!(nil, Err(NameProblem::NotAName(None)));
}

#[test]
fn what_a_row_leaves_unknown() {
    use LeftUnknown::*;
    let only = |name: &str| Species(vec![name.into()]);
    let cases = [
        ("Little Stint", Nothing),
        ("Litle Stint", only("Calidris minuta")),
        ("Calidris minutta", only("Calidris minuta")),
        ("Calidris alba", Nothing),
        ("Blackbird", Nothing),
        ("LITST", Any),
        ("", Any),
        ("Little Stint?", only("Calidris minuta")),
        ("Calidris minuta/temminckii", Nothing),
        ("Calidris minuta x alpina", Nothing),
        ("Dunlin (juv.)", only("Calidris alpina")),
        ("Calidris canutus (Dunlin)", only("Calidris alpina")),
        (
            "Little Stint (Calidris alpina)",
            Species(vec!["Calidris minuta".into(), "Calidris alpina".into()]),
        ),
        (
            "Stint",
            Species(vec!["Calidris temminckii".into(), "Calidris alpina".into()]),
        ),
    ];
    for (cell, expected) in cases {
        let read = book().read(cell);
        assert_eq!(book().left_unknown(cell, &read), expected, "{cell}");
    }
}

#[test]
fn names_that_meant_another_species_before_a_date() {
    let mut species = listed();
    species[3].synonyms.push(DatedName {
        name: "Arctic Tern".into(),
        since: None,
        until: Some("1950-12-31".parse().unwrap()),
    });
    let book = NameBook::new(&species, &[], totals(), false);
    let meant = |date: &str| book.meant_on("arctic  tern", date.parse().unwrap());
    assert_eq!((meant("1950-12-31"), meant("1951-01-01")), (Some(3), None));
    let read = book.of_place(3).unwrap();
    assert_eq!(read.repairs, [RepairKind::Synonym]);
}

#[test]
fn the_nearest_listed_species() {
    assert_eq!(
        book().nearest_species("Calidris minutta"),
        Some("Calidris minuta")
    );
    assert_eq!(
        book().nearest_species("Temmincks Stint"),
        Some("Calidris temminckii")
    );
    let empty = NameBook::new(&[], &[], totals(), false);
    assert_eq!(empty.nearest_species("Calidris alba"), None);
}
