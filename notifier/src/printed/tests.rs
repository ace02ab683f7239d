use super::*;

fn side(paper: Paper, words: &str) -> Side {
    Side {
        svg: format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"297\" height=\"210\">\
             <rect width=\"297\" height=\"210\" fill=\"#fdfaf2\"/>\
             <text x=\"20\" y=\"40\" font-family=\"Noto Sans\" font-size=\"12\">{words}</text></svg>"
        ),
        paper,
        text: format!("The words {words}"),
    }
}

fn about() -> About {
    About {
        title: "The year at Long Bank".to_owned(),
        language: "en".to_owned(),
        author: Some("Skerrow Ness".to_owned()),
        made: DateTime::UNIX_EPOCH,
    }
}

/// Pages by their boxes: a page object has one (ISO 32000-1, table 30).
fn boxes(pdf: &[u8]) -> Vec<String> {
    let text = String::from_utf8_lossy(pdf);
    let found = text.split("/MediaBox").skip(1);
    let found = found.filter_map(|rest| Some(rest.split_once('[')?.1.split_once(']')?.0));
    found.map(|b| b.trim().to_owned()).collect()
}

#[test]
fn a_pdf_has_a_page_for_each_side_with_its_size_in_points() {
    let sides = [side(Paper::A4.turned(), "Dunlin"), side(Paper::A3, "Knot")];
    let made = pdf(&sides, &about()).expect("a PDF");
    assert!(made.starts_with(b"%PDF-"));
    let boxes = boxes(&made);
    let number = |b: &String| -> Vec<f64> {
        let numbers = b.split_whitespace().map(|n| n.parse().expect("a number"));
        numbers.collect()
    };
    let sizes: Vec<Vec<f64>> = boxes.iter().map(number).collect();
    // ISO 216 sizes by 72 points to 25.4 mm
    for (size, expected) in sizes.iter().zip([(841.89, 595.28), (841.89, 1190.55)]) {
        let far = (size[2] - expected.0)
            .abs()
            .max((size[3] - expected.1).abs());
        assert!(far < 0.01, "{size:?}");
    }
    assert_eq!(sizes.len(), 2, "{boxes:?}");
    let again = pdf(&sides, &about()).expect("a PDF");
    assert_eq!(made, again, "the same bytes from the same sides");
}

#[test]
fn a_pdf_says_what_it_is_and_what_it_shows() {
    let made = pdf(&[side(Paper::A4, "Dunlin")], &about()).expect("a PDF");
    let text = String::from_utf8_lossy(&made);
    for part in [
        "The year at Long Bank",
        "/Lang",
        "Skerrow Ness",
        "/Figure",
        "The words Dunlin",
        "NotoSans",
    ] {
        assert!(text.contains(part), "{part}: {text}");
    }
}

#[test]
fn a_png_is_as_wide_as_the_paper_has_dots() {
    let made = png(&side(Paper::A4.turned(), "Knot"), 100.0).expect("a PNG");
    // 297 mm are 11.69 inches
    assert_eq!((made.width, made.height), (1169, 827));
    assert!(made.png.starts_with(b"\x89PNG"));
}

#[test]
fn what_cannot_be_printed_is_told() {
    assert!(matches!(pdf(&[], &about()), Err(PrintError::NoSide)));
    let no_drawing = Side {
        svg: "<svg".to_owned(),
        ..side(Paper::A4, "")
    };
    assert!(matches!(
        pdf(&[no_drawing], &about()),
        Err(PrintError::Picture(_))
    ));
    let why = PrintFile::new(std::path::Path::new("year.gif")).expect_err("no such kind");
    let said = "year.gif is no name for a sheet; expected it to end in .svg, .png or .pdf";
    assert_eq!(why.to_string(), said);
}

#[test]
fn further_sides_have_files_of_their_own_except_in_a_pdf() {
    let folder = tempfile::tempdir().expect("a folder");
    let sides = [side(Paper::A4, "Dunlin"), side(Paper::A4, "Knot")];
    let written = |name: &str| -> Vec<String> {
        let file = PrintFile::new(&folder.path().join(name)).expect("a name");
        let paths = file.write(&sides, &about()).expect("files");
        let name = |p: &std::path::PathBuf| {
            assert!(p.exists());
            p.file_name().map(|n| n.to_string_lossy().into_owned())
        };
        paths.iter().filter_map(name).collect()
    };
    assert_eq!(written("year.svg"), ["year.svg", "year-2.svg"]);
    assert_eq!(written("year.PNG"), ["year.PNG", "year-2.PNG"]);
    assert_eq!(written("year.pdf"), ["year.pdf"]);
}
