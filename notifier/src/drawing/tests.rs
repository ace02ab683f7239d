use super::*;
use crate::lesson::Lesson;
use config::look_alikes::{LookAlikeSet, TailShape, shipped};
use resvg::usvg::{self, roxmltree};
use std::collections::BTreeMap;

fn sets() -> Vec<LookAlikeSet> {
    shipped().unwrap_or_else(|e| panic!("{e}"))
}

fn lesson(set: &LookAlikeSet) -> Lesson<'_> {
    Lesson {
        set,
        region: None,
        month: None,
        names: BTreeMap::new(),
    }
}

/// Every drawing is well-formed XML, black on white, with title and description, and keeps
/// within the narrowest telephone.
#[test]
fn every_drawing_is_whole_and_fits_a_telephone() {
    let mut drawn = 0;
    for set in sets() {
        for drawing in of(&lesson(&set)) {
            drawn += 1;
            let tree = roxmltree::Document::parse(&drawing.svg).unwrap();
            let svg = tree.root_element();
            let words = |tag| {
                let found = svg.children().find(|n| n.has_tag_name(tag));
                found.and_then(|n| n.text()).unwrap().to_owned()
            };
            assert!(words("title").starts_with(&set.title), "{}", drawing.file);
            assert!(words("desc").contains('%'), "{}", drawing.file);
            let size = |key| svg.attribute(key).unwrap().parse::<f64>().unwrap();
            assert_eq!(size("width"), 360.0);
            let points = svg.descendants().filter_map(|n| n.attribute("points"));
            for (x, y) in points.flat_map(pairs) {
                assert!((0.0..=360.0).contains(&x), "{} {x}", drawing.file);
                assert!((0.0..=size("height")).contains(&y), "{} {y}", drawing.file);
            }
            for colour in svg
                .descendants()
                .flat_map(|n| [n.attribute("fill"), n.attribute("stroke")])
            {
                assert!(colour.is_none_or(|c| ["#000", "#fff", "none"].contains(&c)));
            }
        }
    }
    assert!(drawn >= 3);
}

/// Titles and names end within the margin, by the fonts that charts are drawn with.
#[test]
fn every_text_fits_a_telephone() {
    let mut options = usvg::Options::default();
    for font in [
        &include_bytes!("../../static/fonts/NotoSans-Regular-subset.ttf")[..],
        include_bytes!("../../static/fonts/NotoSans-Bold-subset.ttf"),
    ] {
        options.fontdb_mut().load_font_data(font.to_vec());
    }
    let mut texts = 0;
    for set in sets() {
        for drawing in of(&lesson(&set)) {
            let tree = usvg::Tree::from_str(&drawing.svg, &options).unwrap();
            for node in tree.root().children() {
                let usvg::Node::Text(text) = node else {
                    continue;
                };
                texts += 1;
                let right = text.abs_bounding_box().right();
                assert!(right <= 344.0, "{} ends at {right}", drawing.file);
            }
        }
    }
    assert!(texts > 100, "{texts}");
}

fn pairs(points: &str) -> Vec<(f64, f64)> {
    let pair = |text: &str| {
        let (x, y) = text.split_once(',').unwrap();
        (x.parse().unwrap(), y.parse().unwrap())
    };
    points.split(' ').map(pair).collect()
}

fn extents(part: &str, p: &Proportions) -> (f64, f64) {
    let part = PARTS.iter().find(|d| d.id == part).unwrap();
    let strokes = (part.draw)(p, 100.0).unwrap();
    let (top, bottom) = outline::extent(&strokes, |p| p.1);
    (outline::width(&strokes), bottom - top)
}

/// What is longer, deeper or more curved is drawn so, by as much as the ratio says.
#[test]
fn drawings_follow_the_proportions() {
    let bill = |length, depth, curve| Proportions {
        bill_length: Some(length),
        bill_depth: Some(depth),
        bill_curve: Some(curve),
        ..Proportions::default()
    };
    let (short, long) = (
        extents("bill", &bill(1.0, 0.2, 0.0)),
        extents("bill", &bill(2.0, 0.1, 0.0)),
    );
    assert!(
        (long.0 - short.0 - 100.0).abs() < 1e-9,
        "{short:?} {long:?}"
    );
    let curved = extents("bill", &bill(2.0, 0.1, 0.6));
    // the tip lies 0.6 of 200 below the middle of the head, whose top is 50 above it
    assert!((curved.1 - 170.0).abs() < 1.0, "{curved:?}");
    let tail = |length, shape, step| Proportions {
        tail_length: Some(length),
        tail_shape: Some(shape),
        tail_step: Some(step),
        ..Proportions::default()
    };
    let square = extents("tail", &tail(1.0, TailShape::Square, 0.0));
    let half = extents("tail", &tail(0.5, TailShape::Square, 0.0));
    assert!((square.0 - half.0 - 50.0).abs() < 1e-9);
    for shape in [TailShape::Forked, TailShape::Rounded, TailShape::Wedge] {
        let stepped = extents("tail", &tail(1.0, shape, 0.4));
        assert!(
            (stepped.0 - square.0).abs() < 1e-9,
            "{shape:?} keeps its length"
        );
    }
    let legs = |leg_length| Proportions {
        leg_length: Some(leg_length),
        ..Proportions::default()
    };
    let (short, long) = (extents("legs", &legs(0.5)), extents("legs", &legs(1.5)));
    assert!((long.1 - short.1 - 100.0).abs() < 1e-9);
}

/// A blunt bill is as long, and deeper towards its tip, than a pointed one; a claw bends as far as
/// its curve says.
#[test]
fn blunt_bills_and_bent_claws_follow_the_proportions() {
    let bill = |bill_blunt| Proportions {
        bill_length: Some(1.0),
        bill_depth: Some(0.4),
        bill_blunt,
        ..Proportions::default()
    };
    // depth of the bill's outline at nine tenths of its length, over that at its base
    let near_tip = |p: &Proportions| {
        let strokes = (PARTS[0].draw)(p, 100.0).unwrap();
        let outline = &strokes[2].points;
        let tip = outline.iter().map(|p| p.0).fold(0.0, f64::max);
        let beyond = outline.iter().filter(|p| p.0 > tip - 10.0);
        let depth = beyond.map(|p| 2.0 * p.1.abs()).fold(0.0, f64::max);
        (tip, depth / 40.0)
    };
    let (pointed, blunt) = (near_tip(&bill(None)), near_tip(&bill(Some(0.5))));
    assert_eq!(pointed, near_tip(&bill(Some(0.0))));
    assert!((pointed.0 - blunt.0).abs() < 1e-9, "{pointed:?} {blunt:?}");
    assert!(pointed.1 < 0.15 && blunt.1 > 0.4, "{pointed:?} {blunt:?}");
    let claw = |curve| Proportions {
        hind_claw: Some(1.0),
        hind_claw_curve: Some(curve),
        ..Proportions::default()
    };
    let depth = |curve| extents("hind-claw", &claw(curve)).1;
    assert!((depth(0.4) - depth(0.1) - 30.0).abs() < 1e-9);
}

#[test]
fn what_one_member_states_alone_is_not_drawn() {
    let mut set = sets()
        .into_iter()
        .find(|s| s.id == "dark-icterids")
        .unwrap();
    let files = |set: &LookAlikeSet| {
        let drawings = of(&lesson(set));
        drawings.into_iter().map(|d| d.file).collect::<Vec<_>>()
    };
    let all = [
        "dark-icterids-bill.svg",
        "dark-icterids-tail.svg",
        "dark-icterids-legs.svg",
    ];
    assert_eq!(files(&set), all);
    for member in &mut set.members[1..] {
        member.proportions = None;
    }
    assert_eq!(files(&set), [""; 0]);
}
