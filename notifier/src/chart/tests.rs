//! The picture is what it says: size, letters, gaps, words.

use super::*;

fn bell(peak: f64, height: f64) -> Vec<f64> {
    let at = |d: usize| height * (-0.5 * ((d as f64 + 1.0 - peak) / 12.0).powi(2)).exp();
    (0..DAYS).map(at).collect()
}

fn species(name: &str, peak: f64, height: f64) -> SpeciesCurve {
    let mean = bell(peak, height);
    SpeciesCurve {
        name: name.into(),
        scientific: "Genus species".into(),
        interval: mean.iter().map(|m| (m / 1.4, m * 1.4)).collect(),
        mean,
        peaks: Vec::new(),
    }
}

fn date() -> NaiveDate {
    NaiveDate::from_ymd_opt(2026, 8, 26).unwrap()
}

fn chart_of(watched: Vec<bool>, species: Vec<SpeciesCurve>) -> Result<SetChart, ChartError> {
    SetChart::new(
        "Small <sandpipers>",
        "Long & Bank",
        date(),
        watched,
        species,
        vec!["Rare Stint".into()],
    )
}

fn two() -> SetChart {
    chart_of(
        vec![true; DAYS],
        vec![species("Dunlin", 238.0, 60.0), species("Stint", 100.0, 0.4)],
    )
    .unwrap()
}

#[test]
fn the_png_has_the_width_asked_for_and_the_drawing_s_proportions() {
    for width in [1280, 480] {
        let picture = two().png(width).unwrap();
        // PNG specification, 11.2.1: width and height stand at bytes 16 and 20, big-endian.
        let number = |at: usize| u32::from_be_bytes(picture.png[at..at + 4].try_into().unwrap());
        assert_eq!(&picture.png[..8], b"\x89PNG\r\n\x1a\n");
        assert_eq!((number(16), number(20)), (picture.width, picture.height));
        assert_eq!(picture.width, width);
        let decoded = resvg::tiny_skia::Pixmap::decode_png(&picture.png).unwrap();
        assert_eq!(
            (decoded.width(), decoded.height()),
            (picture.width, picture.height)
        );
        let inks: std::collections::HashSet<_> = decoded
            .pixels()
            .iter()
            .map(|p| (p.red(), p.green(), p.blue()))
            .collect();
        assert!(inks.len() > 50, "a drawing, not a blank sheet");
    }
}

#[test]
fn the_svg_parses_and_carries_its_words() {
    let svg = two().svg().unwrap();
    let tree = resvg::usvg::Tree::from_str(&svg, &resvg::usvg::Options::default()).unwrap();
    assert_eq!(tree.size().width(), 480.0);
    assert!(svg.contains(">Small &lt;sandpipers&gt;, Long &amp; Bank</title>"));
    assert!(svg.contains("No curve, too few records: Rare Stint."));
    assert!(svg.contains("26 August"));
}

/// Members stand in the order of their chances, which differs between sites.
#[test]
fn a_species_keeps_its_look_wherever_it_stands() {
    let named = |name: &str, scientific: &str| SpeciesCurve {
        scientific: scientific.into(),
        ..species(name, 238.0, 60.0)
    };
    let dunlin = || named("Dunlin", "Calidris alpina");
    let stint = || named("Stint", "Calidris minuta");
    let ranks = |curves: Vec<SpeciesCurve>| {
        let chart = chart_of(vec![true; DAYS], curves).unwrap();
        [chart.rank(0), chart.rank(1)]
    };
    assert_eq!(ranks(vec![dunlin(), stint()]), [0, 1]);
    assert_eq!(ranks(vec![stint(), dunlin()]), [1, 0]);
    assert_eq!(
        ranks(vec![stint(), stint()]),
        [0, 1],
        "two of one name stay apart"
    );
}

#[test]
fn the_picture_is_the_same_each_time() {
    assert_eq!(two().png(640).unwrap(), two().png(640).unwrap());
}

#[test]
fn the_words_tell_the_date_and_the_peaks() {
    // Normal curves: 60 on day 238 = 26 August, 0.4 on day 100 = 10 April of a common year.
    assert_eq!(
        two().alt_text(),
        "Small <sandpipers> at Long & Bank: birds on a standard visit from 1 January to \
         31 December 2026, one strip a species, 26 August marked. Dunlin: 60 on the date, \
         highest 60 about 26 August. Stint: under 0.01 on the date, highest 0.4 about 10 April. \
         On the date only Dunlin is above a tenth of its highest. No curve, too few records: \
         Rare Stint."
    );
}

#[test]
fn no_curve_runs_through_unwatched_days() {
    let mut watched = vec![true; DAYS];
    watched[200..250].fill(false);
    let broken = chart_of(watched, vec![species("Dunlin", 238.0, 60.0)]).unwrap();
    let whole = chart_of(vec![true; DAYS], vec![species("Dunlin", 238.0, 60.0)]).unwrap();
    let bands = |chart: &SetChart| chart.svg().unwrap().matches("opacity=\"0.17\"").count();
    assert_eq!((bands(&whole), bands(&broken)), (1, 2));
    assert!(broken.svg().unwrap().contains("not watched"));
    assert!(
        broken
            .alt_text()
            .contains("The site is not watched at this date of the year.")
    );
}

#[test]
fn weeks_about_the_date_cross_new_year() {
    let new_year = NaiveDate::from_ymd_opt(2027, 1, 2).unwrap();
    let curves = vec![species("Bunting", 20.0, 30.0)];
    let chart = SetChart::new("T", "S", new_year, vec![true; DAYS], curves, vec![]).unwrap();
    let chart = chart.about_the_date(10);
    assert!(
        chart
            .alt_text()
            .contains("from 24 October 2026 to 13 March 2027")
    );
    let svg = chart.svg().unwrap();
    let places = ["November", "December", "January", "February"]
        .map(|m| svg.find(&format!(">\n{m}\n")).unwrap());
    assert!(places.is_sorted());
}

#[test]
fn a_name_in_letters_that_the_fonts_lack_gives_way_to_the_scientific_one() {
    let svg = chart_of(vec![true; DAYS], vec![species("ハマシギ", 238.0, 60.0)])
        .unwrap()
        .svg()
        .unwrap();
    assert!(svg.contains("Genus species") && !svg.contains("ハマシギ"));
}

#[test]
fn what_is_no_curve_is_refused() {
    let good = || species("Dunlin", 238.0, 60.0);
    assert_eq!(
        chart_of(vec![true; DAYS], vec![]),
        Err(ChartError::NoSpecies)
    );
    assert_eq!(
        chart_of(vec![true; 365], vec![good()]),
        Err(ChartError::Watched(365))
    );
    let mut short = good();
    short.interval.pop();
    assert!(matches!(
        chart_of(vec![true; DAYS], vec![short]),
        Err(ChartError::Days { intervals: 365, .. })
    ));
    for (mean, interval) in [
        (f64::NAN, (0.0, 1.0)),
        (-1.0, (0.0, 1.0)),
        (1.0, (2.0, 1.0)),
        (1.0, (0.0, f64::INFINITY)),
    ] {
        let mut bad = good();
        bad.mean[9] = mean;
        bad.interval[9] = interval;
        assert!(matches!(
            chart_of(vec![true; DAYS], vec![bad.clone()]),
            Err(ChartError::Value { day: 10, .. })
        ));
        // Where nobody looks, nothing is drawn and nothing asked.
        let mut watched = vec![true; DAYS];
        watched[9] = false;
        assert!(chart_of(watched, vec![bad]).is_ok());
    }
}

#[test]
fn odd_curves_can_be_drawn() {
    let mut lone = vec![false; DAYS];
    lone[237] = true;
    let zero = species("None", 100.0, 0.0);
    let wide = SpeciesCurve {
        interval: vec![(0.0, 1e9); DAYS],
        ..species("Wide", 238.0, 0.3)
    };
    let cut = chart_of(lone, vec![zero, wide]).unwrap().svg().unwrap();
    assert!(cut.contains("goes on above it"));
    let many = (0..12)
        .map(|i| species(&format!("Species {i}"), 200.0, 5.0))
        .collect();
    chart_of(vec![true; DAYS], many).unwrap().png(640).unwrap();
}

/// The highest day is the 238th; what the passage has is told, but not of another top.
#[test]
fn the_peak_of_a_passage_is_its_date_everywhere() {
    let told = |peaks: Vec<f64>| {
        let curve = SpeciesCurve {
            peaks,
            ..species("Dunlin", 238.0, 60.0)
        };
        curve.peak(&[true; DAYS]).map(|(day, _)| day.get())
    };
    assert_eq!(told(vec![130.0, 236.6]), Some(237));
    assert_eq!(told(vec![130.0]), Some(238));
    assert_eq!(told(Vec::new()), Some(238));
    let winter = SpeciesCurve {
        peaks: vec![-0.4],
        ..species("Scaup", 1.0, 60.0)
    };
    let day = winter.peak(&[true; DAYS]).map(|(day, _)| day.get());
    assert_eq!(day, Some(366), "over New Year");
}
