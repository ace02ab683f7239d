//! The parts that can be drawn, each from its ratios. What the ratios do not say (a round head,
//! the taper of a bill) is the same for every member, so that only the proportions differ.

use super::Part;
use super::outline::{Point, Stroke, along, ellipse};
use config::look_alikes::{Proportions, TailShape};

pub(super) const PARTS: [Part; 6] = [
    Part {
        id: "bill",
        title: "bill against head",
        draw: bill,
        words: bill_words,
    },
    Part {
        id: "tail",
        title: "tail against body, from above",
        draw: tail,
        words: tail_words,
    },
    Part {
        id: "primaries",
        title: "primaries beyond the tertials",
        draw: primaries,
        words: |p| percent(p.primary_projection, "primaries", "of the tertials"),
    },
    Part {
        id: "wing-tip",
        title: "wing tip against tail tip, at rest",
        draw: wing_tip,
        words: wing_tip_words,
    },
    Part {
        id: "legs",
        title: "legs against body",
        draw: legs,
        words: |p| percent(p.leg_length, "legs", "of the body's depth"),
    },
    Part {
        id: "hind-claw",
        title: "hind claw against hind toe",
        draw: hind_claw,
        words: hind_claw_words,
    },
];

fn percent(ratio: Option<f64>, what: &str, of: &str) -> String {
    ratio.map_or_else(String::new, |r| format!("{what} {:.0} % {of}", 100.0 * r))
}

/// A round head, `unit` pixels long, that looks to the right.
fn bill(p: &Proportions, unit: f64) -> Option<Vec<Stroke>> {
    let (length, depth) = (p.bill_length? * unit, p.bill_depth? * p.bill_length? * unit);
    let (curve, hook) = (p.bill_curve.unwrap_or(0.0), p.bill_hook.unwrap_or(0.0));
    let radius = unit / 2.0;
    // where the head's outline is as high as the bill is deep
    let base = (radius * radius - (depth / 2.0).min(radius).powi(2)).sqrt();
    let middle = |t: f64| curve * length * t * t;
    let half = |t: f64| depth / 2.0 * taper(t, p.bill_blunt.unwrap_or(0.0));
    let upper = along(|t| (base + t * length, middle(t) - half(t)));
    let short = if hook > 0.0 { 0.82 } else { 1.0 };
    let lower = along(|t| {
        let t = short * (1.0 - t);
        (base + t * length, middle(t) + half(t))
    });
    let hooked = (hook > 0.0).then(|| (base + 0.97 * length, middle(1.0) + hook * depth));
    // the root lies within the head, which is drawn over it
    let root = [(0.0, depth / 2.0), (0.0, -depth / 2.0)];
    let outline = upper.into_iter().chain(hooked).chain(lower).chain(root);
    let gape = along(|t| (base + short * t * length, middle(short * t)));
    let head = ellipse((0.0, 0.0), (radius, radius));
    let eye = (radius * 0.35, -radius * 0.2);
    let eye = ellipse(eye, (radius * 0.1, radius * 0.1));
    let throat = vec![(radius * 0.5, radius * 0.8), (radius * 0.6, radius * 1.3)];
    let nape = vec![(-radius * 0.9, radius * 0.4), (-radius * 1.1, radius * 1.3)];
    Some(vec![
        Stroke::open(nape),
        Stroke::open(throat),
        Stroke::closed(outline.collect()),
        Stroke::thin(gape),
        head,
        eye,
    ])
}

/// How deep a bill is at `t` of its way to the tip, over its depth at the base: evenly less to a
/// point, or `blunt` of it up to a rounded end. The powers are ours, by the look of the drawing.
fn taper(t: f64, blunt: f64) -> f64 {
    (1.0 - blunt) * (1.0 - t.powf(1.3)) + blunt * (1.0 - t.powi(8)).sqrt()
}

fn bill_words(p: &Proportions) -> String {
    let curve = p.bill_curve.unwrap_or(0.0);
    let bent = match curve {
        c if c > 0.0 => format!(", tip {:.0} % of it below the straight line", 100.0 * c),
        c if c < 0.0 => format!(", tip {:.0} % of it above the straight line", -100.0 * c),
        _ => ", straight".to_owned(),
    };
    let hook = p.bill_hook.filter(|h| *h > 0.0);
    let hook = hook.map_or("", |_| ", hooked");
    let length = percent(p.bill_length, "bill", "of the head");
    let depth = percent(p.bill_depth, "base", "of its length deep");
    let blunt = p.bill_blunt.filter(|b| *b > 0.0);
    let blunt = blunt.map_or_else(String::new, |b| {
        format!(", {:.0} % of that near the blunt tip", 100.0 * b)
    });
    format!("{length}, {depth}{blunt}{bent}{hook}")
}

/// Body and tail from above, the tail to the right; the body is `unit` pixels long.
fn tail(p: &Proportions, unit: f64) -> Option<Vec<Stroke>> {
    let (long, shape) = (p.tail_length? * unit, p.tail_shape?);
    let step = p.tail_step? * long;
    let (root, end) = (unit * 0.14, unit * 0.24);
    let across = |t: f64| end * (2.0 * t - 1.0);
    let rim = |t: f64| {
        let aside = (2.0 * t - 1.0).abs();
        let back = match shape {
            TailShape::Square => 0.0,
            TailShape::Forked => step * (1.0 - aside),
            TailShape::Rounded => step * aside * aside,
            TailShape::Wedge => step * aside,
        };
        (long - back, across(t))
    };
    let mut outline = vec![(0.0, -root)];
    outline.extend(along(rim));
    outline.push((0.0, root));
    let shaft = rim(0.5).0;
    Some(vec![
        Stroke::closed(outline),
        Stroke::thin(vec![(0.0, 0.0), (shaft, 0.0)]),
        ellipse((-unit * 0.48, 0.0), (unit * 0.52, unit * 0.27)),
    ])
}

fn tail_words(p: &Proportions) -> String {
    let shape = match p.tail_shape {
        Some(TailShape::Square) | None => "square".to_owned(),
        Some(TailShape::Forked) => step(p, "forked"),
        Some(TailShape::Rounded) => step(p, "rounded"),
        Some(TailShape::Wedge) => step(p, "wedge-shaped"),
    };
    format!("{}, {shape}", percent(p.tail_length, "tail", "of the body"))
}

fn step(p: &Proportions, shape: &str) -> String {
    let deep = p.tail_step.unwrap_or(0.0);
    format!("{shape} by {:.0} % of its length", 100.0 * deep)
}

/// A pointed feather shape from x to x, `depth` pixels deep at its root.
fn blade(from: f64, to: f64, depth: f64) -> Stroke {
    let half = |t: f64| depth / 2.0 * (1.0 - t * t);
    let above = along(|t| (from + t * (to - from), -half(t)));
    let below = along(|t| (from + (1.0 - t) * (to - from), half(1.0 - t)));
    Stroke::closed(above.into_iter().chain(below).collect())
}

/// The closed wing: primaries below, tertials over them; the tertials are two `unit`s long.
fn primaries(p: &Proportions, unit: f64) -> Option<Vec<Stroke>> {
    let tertials = unit * 2.0;
    let tip = tertials * (1.0 + p.primary_projection?);
    let mut strokes = vec![blade(0.0, tip, unit * 0.4)];
    // tips of the primaries that show, evenly, within the outline
    strokes.extend((1..5).map(|i| {
        let x = tertials + (tip - tertials) * f64::from(i) / 5.0;
        let half = 0.6 * unit * 0.2 * (1.0 - (x / tip).powi(2));
        Stroke::thin(vec![(x, -half), (x, half)])
    }));
    strokes.push(blade(0.0, tertials, unit * 0.6));
    Some(strokes)
}

/// The closed wing over the tail, which is two `unit`s long.
fn wing_tip(p: &Proportions, unit: f64) -> Option<Vec<Stroke>> {
    let tail = unit * 2.0;
    let tip = tail * (1.0 + p.wing_beyond_tail?);
    let depth = unit * 0.3;
    let root: Point = (0.0, unit * 0.1);
    let tail_outline = vec![
        root,
        (tail, root.1),
        (tail, root.1 + depth),
        (0.0, root.1 + depth),
    ];
    let wing = blade(-unit * 0.8, tip.max(unit * 0.1), unit * 0.6);
    Some(vec![Stroke::closed(tail_outline), wing])
}

fn wing_tip_words(p: &Proportions) -> String {
    match p.wing_beyond_tail {
        Some(r) if r > 0.0 => format!("wing tip beyond the tail by {:.0} % of it", 100.0 * r),
        Some(r) if r < 0.0 => format!("wing tip short of the tail by {:.0} % of it", -100.0 * r),
        _ => "wing tip level with the tail".to_owned(),
    }
}

/// A body `unit` pixels deep on its legs, from the side.
fn legs(p: &Proportions, unit: f64) -> Option<Vec<Stroke>> {
    let ground = unit / 2.0 + p.leg_length? * unit;
    let foot = unit * 0.22;
    let leg = |x: f64| {
        vec![
            Stroke::open(vec![(x, unit * 0.3), (x, ground)]),
            Stroke::open(vec![(x - foot * 0.6, ground), (x + foot, ground)]),
        ]
    };
    let mut strokes = leg(-unit * 0.1);
    strokes.extend(leg(unit * 0.25));
    strokes.push(ellipse((0.0, 0.0), (unit, unit / 2.0)));
    Some(strokes)
}

/// What a claw bends that no curve is stated of: ours, a middling one.
const CLAW_CURVE: f64 = 0.22;

/// A hind toe `unit` pixels long with its claw, which bends down.
fn hind_claw(p: &Proportions, unit: f64) -> Option<Vec<Stroke>> {
    let claw = p.hind_claw? * unit;
    let half = unit * 0.07;
    let toe = vec![(0.0, -half), (unit, -half), (unit, half), (0.0, half)];
    let curve = p.hind_claw_curve.unwrap_or(CLAW_CURVE);
    let drop = |t: f64| claw * curve * t * t;
    let above = along(|t| (unit + t * claw, drop(t) - half * (1.0 - t)));
    let below = along(|t| (unit + (1.0 - t) * claw, drop(1.0 - t) + half * t));
    Some(vec![
        Stroke::closed(toe),
        Stroke::closed(above.into_iter().chain(below).collect()),
    ])
}

fn hind_claw_words(p: &Proportions) -> String {
    let long = percent(p.hind_claw, "claw", "of the toe");
    match p.hind_claw_curve {
        Some(c) => format!(
            "{long}, tip {:.0} % of it below the straight line",
            100.0 * c
        ),
        None => long,
    }
}
