use super::told;
use super::*;
use crate::handout::Letters;
use crate::printed::Paper;
use crate::words::plain_spaces;

/// A curve that is highest on a day, its interval from half to twice of it.
fn curve(name: &str, day: f64) -> SpeciesCurve {
    let bell = |d: usize| 12.0 * (-0.5 * ((d as f64 - day) / 15.0).powi(2)).exp();
    let mean: Vec<f64> = (1..=DAYS).map(bell).collect();
    SpeciesCurve {
        name: name.to_owned(),
        scientific: format!("Avis {}", name.to_lowercase()),
        interval: mean.iter().map(|m| (m / 2.0, m * 2.0)).collect(),
        mean,
        peaks: Vec::new(),
    }
}

fn date(day: f64) -> DateEstimate {
    DateEstimate {
        day,
        known: (day - 4.0, day + 4.0),
        any_year: None,
    }
}

fn row(name: &str, day: f64) -> Row {
    let curve = curve(name, day);
    let (peak, most) = curve.peak(&[true; DAYS]).expect("days");
    Row {
        curve,
        peak: Some(peak),
        most,
        of_finds: false,
        verdict: Verdict::Curve,
        windows: vec![Window {
            name: PassageName::Spring,
            days: Some((date(day - 25.0), date(day + 25.0))),
            peak: Some(day),
            about: day,
            begun_before: false,
            ends_after: false,
        }],
    }
}

/// So many species through the year.
fn year(species: usize) -> Year {
    let day = |n: usize| 1.0 + 360.0 * n as f64 / species as f64;
    let name = |n: usize| format!("Long-tailed Example Sandpiper {n}");
    Year {
        site: "Long Bank".to_owned(),
        workspace: "Skerrow Ness".to_owned(),
        ground: "From 120 visits in 2 years, 2024 to 2025.".to_owned(),
        licence: "Copy it.".to_owned(),
        made: NaiveDate::from_ymd_opt(2026, 1, 2).expect("a date"),
        own_use: false,
        rows: (0..species).map(|n| row(&name(n), day(n))).collect(),
        without: Without::default(),
        watched: (1..=DAYS).map(|d| !(150..180).contains(&d)).collect(),
        light: Some(
            (1..=DAYS)
                .map(|d| day_length_hours(55.0, d as f64, SUN_DEG))
                .collect(),
        ),
        found: Some(vec![species as f64 / 3.0; DAYS]),
    }
}

/// Sizes of letters.
fn sizes(svg: &str) -> Vec<f64> {
    let texts = svg.split("font-size=\"").skip(1);
    let sizes = texts.filter_map(|t| t.split('"').next()?.parse().ok());
    sizes.collect()
}

#[test]
fn letters_can_be_read_however_many_species_there_are() {
    for paper in [Paper::A3, Paper::A2] {
        let mut sheets = Vec::new();
        for species in [1, 7, 18, 40, 95] {
            let sides = year(species).sides(paper).expect("sheets");
            for side in &sides {
                let sizes = sizes(&side.svg);
                let smallest = sizes.iter().copied().fold(f64::INFINITY, f64::min);
                // millimetres, of which a point is 25.4 / 72 (ISO 32000-1)
                let least = SMALLEST_POINTS * 25.4 / 72.0;
                assert!(smallest >= least - 1e-3, "{smallest} with {species}");
            }
            let drawn: usize = sides
                .iter()
                .map(|s| s.text.matches("highest").count())
                .sum();
            assert_eq!(drawn, species, "none is lost");
            sheets.push(sides.len());
        }
        assert!(sheets.is_sorted() && sheets[..2] == [1, 1], "{sheets:?}");
        assert!(*sheets.last().expect("some") > 1, "{sheets:?}");
    }
}

#[test]
fn few_species_have_larger_letters() {
    let smallest = |species| {
        let sides = year(species).sides(Paper::A2).expect("sheets");
        sizes(&sides[0].svg)
            .into_iter()
            .fold(f64::INFINITY, f64::min)
    };
    assert!(smallest(6) > 1.3 * smallest(30));
}

#[test]
fn no_line_of_a_sheet_leaves_its_paper() {
    for species in [3, 22, 60] {
        for side in year(species).sides(Paper::A3).expect("sheets") {
            let tree = crate::chart::tree(&side.svg).expect("SVG");
            let drawn = tree.root().abs_layer_bounding_box();
            let paper = tree.size();
            assert!(drawn.left() > -0.1 && drawn.top() > -0.1, "{drawn:?}");
            assert!(drawn.right() < paper.width() + 0.1, "{drawn:?}");
            assert!(drawn.bottom() < paper.height() + 0.1, "{drawn:?}");
        }
    }
}

#[test]
fn so_much_that_there_is_no_room_is_told() {
    let mut year = year(4);
    year.without.few = (0..4000).map(|n| (format!("Scarce Bird {n}"), 1)).collect();
    let why = year.sides(Paper::A3).expect_err("no room");
    assert!(
        why.to_string().contains("Long Bank leaves no room"),
        "{why}"
    );
}

#[test]
fn what_is_not_drawn_is_named() {
    let without = Without {
        few: vec![("Ruff".to_owned(), 3), ("Knot".to_owned(), 1)],
        failed: vec!["Dunlin".to_owned()],
        unfitted: Vec::new(),
    };
    assert_eq!(
        without.told(),
        [
            "Too few records for a curve, with birds counted: Ruff (3), Knot (1).",
            "No curve could be fitted to the counts of: Dunlin.",
        ]
    );
    let mut all = row("Teal", 40.0);
    all.windows.clear();
    all.verdict = Verdict::AllYear;
    assert_eq!(all.without_window().as_deref(), Some("about all year"));
    all.verdict = Verdict::NoSeason;
    assert_eq!(all.without_window().as_deref(), Some("no season shows"));
}

#[test]
fn windows_say_where_the_watch_cuts_them_off() {
    let window = Window {
        begun_before: true,
        ends_after: true,
        ..row("Teal", 100.0).windows.remove(0)
    };
    // day 75 is 16 March, day 125 5 May, of a common year
    assert_eq!(plain_spaces(&window.words()), "<16 Mar – 5 May>");
    let cells = |w: &Window| w.cells().map(|c| plain_spaces(&c));
    assert_eq!(cells(&window), ["<16 Mar", "10 Apr", "5 May>"]);
    let few = Window {
        days: None,
        peak: None,
        ..window
    };
    assert_eq!(cells(&few), ["–", "–", "–"]);
    let text = year(2).text(&[row("Teal", 100.0)]);
    assert_eq!(
        text,
        format!(
            "Teal: highest 12 about 10 April; spring 16 March to 5 May, peak 10 April. {}",
            told::NO_PROOF
        )
    );
}

#[test]
fn the_page_has_all_of_it_in_parts() {
    let parts = year(7).narrow("year").expect("SVG");
    assert_eq!(parts.len(), 2, "four and three");
    let drawn = plain_spaces(&parts.join(""));
    for needed in [
        "id=\"year-0-title\"",
        "id=\"year-1-title\"",
        "The year at Long Bank: ",
        "up to 12 a visit",
    ] {
        assert!(drawn.contains(needed), "{needed}");
    }
    assert_eq!(drawn.matches("Daylight").count(), 1);
    assert!(sizes(&drawn).into_iter().all(|s| s >= 14.0));
}

/// A stay over the winter, cut at New Year.
fn winter() -> Window {
    Window {
        days: Some((date(295.0), date(295.0 + 157.0))),
        begun_before: true,
        ..row("Teal", 10.0).windows.remove(0)
    }
}

#[test]
fn a_winter_stay_says_from_and_until_on_either_side_of_new_year() {
    let mut teal = row("Teal", 10.0);
    teal.windows = vec![winter()];
    let mut year = year(1);
    year.rows = vec![teal];
    for svg in [
        year.narrow("year").expect("SVG").remove(0),
        year.sides(Paper::A3).expect("sheets").remove(0).svg,
    ] {
        let drawn = plain_spaces(&svg);
        let at = |words: &str| {
            let (before, _) = drawn
                .split_once(&format!(">{words}<"))
                .unwrap_or_else(|| panic!("{words}: {drawn}"));
            let (_, x) = before.rsplit_once("<text x=\"").expect("a text");
            let x = x.split('"').next().expect("a number");
            x.parse::<f64>().expect("a number")
        };
        // day 295 is 22 October, day 452 - 366 = 86 27 March, of a common year
        assert!(at("until 27 Mar") < at("from &lt;22 Oct"), "{drawn}");
        assert!(!drawn.contains("22 Oct –"), "{drawn}");
    }
}

/// Where words stand: from, to, top of their capitals, foot.
fn places(svg: &str) -> Vec<(f64, f64, f64, f64, String)> {
    let letters = Letters::default();
    let number = |attributes: &str, key: &str| -> f64 {
        let (_, rest) = attributes.split_once(&format!("{key}=\"")).expect("a key");
        rest.split('"')
            .next()
            .expect("its end")
            .parse()
            .expect("a number")
    };
    let texts = svg.split("<text ").skip(1).map(|text| {
        let (attributes, rest) = text.split_once('>').expect("an element");
        let words = rest.split("</text>").next().expect("its end");
        let words = words
            .replace("<tspan font-weight=\"bold\">", "")
            .replace("</tspan>", "");
        let size = number(attributes, "font-size");
        let wide = letters
            .width(&words, attributes.contains("bold"))
            .expect("a width")
            * size;
        let x = number(&format!(" {attributes}"), " x");
        let from = match attributes {
            a if a.contains("middle") => x - wide / 2.0,
            a if a.contains("\"end\"") => x - wide,
            _ => x,
        };
        let foot = number(&format!(" {attributes}"), " y");
        (from, from + wide, foot - 0.72 * size, foot, words)
    });
    texts.collect()
}

/// A line of small letters and the next that could be read as one have half a letter between them.
#[test]
fn words_keep_clear_of_each_other() {
    let mut crowded = year(22);
    crowded.rows[3].windows = vec![winter()];
    let mut drawings = crowded.narrow("year").expect("SVG");
    drawings.extend(
        crowded
            .sides(Paper::A3)
            .expect("sheets")
            .into_iter()
            .map(|s| s.svg),
    );
    for svg in drawings {
        let all = places(&svg);
        let small = sizes(&svg).into_iter().fold(f64::INFINITY, f64::min);
        let dates = |words: &str| words.split('\u{a0}').count() > 1 && words.len() < 24;
        for (place, a) in all.iter().enumerate() {
            for b in &all[place + 1..] {
                let beside = a.1 < b.0 || b.1 < a.0;
                let air = (a.2 - b.3).max(b.2 - a.3);
                assert!(beside || air > 0.0, "{} over {}", a.4, b.4);
                if dates(&a.4) && dates(&b.4) && !a.4.contains("up") && !b.4.contains("up") {
                    assert!(beside || air > 0.35 * small, "{} on {}: {air}", a.4, b.4);
                }
            }
        }
    }
}

#[test]
fn a_curve_of_finds_is_told_as_one() {
    let sure = row("Dunlin", 250.0);
    let of_finds = Row {
        of_finds: true,
        ..sure.clone()
    };
    assert!(sure.scale().ends_with("visit") && of_finds.scale().ends_with("alone"));
    let year = |rows: Vec<Row>| Year { rows, ..year(2) };
    let higher = "higher than what a visit can expect";
    let key = |rows: &[Row]| year(rows.to_vec()).key().join(" ");
    assert!(key(&[sure.clone(), of_finds.clone()]).contains(higher));
    assert!(!key(std::slice::from_ref(&sure)).contains(higher));
    let told = year(Vec::new()).text(&[of_finds]);
    assert!(told.contains(higher), "{told}");
}
