//! The picture is what it says.

use super::*;
use crate::chart::style::LineStyle;
use plotters::style::RGBColor;

fn line(off: f64) -> Line {
    let bins = (0..10).map(|i| f64::from(i) / 10.0 + 0.05);
    Line {
        reliability: bins.map(|c| (c, f64::min(c + off, 1.0), 50)).collect(),
        calibration_error: off,
        pit: (0..10)
            .map(|i| if i == 9 { 0.1 + off } else { 0.1 - off / 9.0 })
            .collect(),
    }
}

fn chart() -> CalibrationChart {
    let site = |name: &str| Calibrated {
        site: name.into(),
        lines: [line(0.01), line(0.09), line(0.05)],
    };
    CalibrationChart::new("2006 to 2011", vec![site("Long & Bank"), site("Dune Wood")]).unwrap()
}

#[test]
fn it_says_what_it_shows() {
    let text = chart().alt_text();
    for part in [
        "2006 to 2011",
        "Long & Bank: chances lie off the frequencies",
        "ours 1.0, hand climatology 9.0 and last five years 5.0",
        "ours 11.0, hand climatology 19.0 and last five years 15.0",
    ] {
        assert!(text.contains(part), "{text}");
    }
}

#[test]
fn svg_and_png_hold_every_site() {
    let svg = chart().svg().unwrap();
    assert!(svg.contains("Long &amp; Bank") && svg.contains("Dune Wood"));
    assert!(NAMES.iter().all(|n| svg.contains(n)));
    let picture = chart().png(960).unwrap();
    let decoded = resvg::tiny_skia::Pixmap::decode_png(&picture.png).unwrap();
    assert_eq!(
        (decoded.width(), decoded.height()),
        (picture.width, picture.height)
    );
    // both sites are drawn: the lower half holds all three inks
    let lower = decoded
        .pixels()
        .iter()
        .skip((decoded.width() * decoded.height() / 2) as usize);
    let inks: std::collections::HashSet<_> =
        lower.map(|p| (p.red(), p.green(), p.blue())).collect();
    for i in 0..3 {
        let RGBColor(r, g, b) = LineStyle::of(i).colour;
        assert!(inks.contains(&(r, g, b)), "{i}");
    }
}

#[test]
fn what_is_no_part_is_refused() {
    assert_eq!(
        CalibrationChart::new("2006", Vec::new()),
        Err(ChartError::NoSite)
    );
    let lines = [
        line(0.01),
        line(0.05),
        Line {
            calibration_error: f64::NAN,
            ..line(0.0)
        },
    ];
    let site = Calibrated {
        site: "Long Bank".into(),
        lines,
    };
    assert!(matches!(
        CalibrationChart::new("2006", vec![site]),
        Err(ChartError::NoPart { .. })
    ));
}
