//! From SVG to PNG, with fonts of our own so that every machine draws the same.

use super::{ChartError, Picture, palette};
use resvg::{tiny_skia, usvg};
use std::sync::{Arc, OnceLock};

/// The family that the chart's SVG names and the embedded fonts carry.
pub(crate) const FAMILY: &str = "Noto Sans";

pub(crate) static REGULAR: &[u8] = include_bytes!("../../static/fonts/NotoSans-Regular-subset.ttf");
pub(crate) static BOLD: &[u8] = include_bytes!("../../static/fonts/NotoSans-Bold-subset.ttf");

/// Letters the embedded fonts hold, as their note tells.
const LETTERS: [(u32, u32); 5] = [
    (0x20, 0x7e),
    (0xa0, 0x17f),
    (0x386, 0x3ce),
    (0x400, 0x45f),
    (0x2010, 0x2015),
];

/// Punctuation the embedded fonts hold besides.
const SIGNS: &str = "‘’‚“”„†‡•…‰′″‹›€\u{2009}\u{202f}ґҐ";

/// Can the chart write this text?
pub(crate) fn can_write(text: &str) -> bool {
    let known = |c: char| {
        SIGNS.contains(c)
            || LETTERS
                .iter()
                .any(|(a, b)| (*a..=*b).contains(&u32::from(c)))
    };
    text.chars().all(known)
}

/// The scientific name where the embedded fonts lack a letter of the other.
pub(crate) fn written(name: &str, species: &str) -> String {
    let fit = can_write(name);
    if fit { name } else { species }.to_owned()
}

fn options() -> usvg::Options<'static> {
    static FONTS: OnceLock<Arc<usvg::fontdb::Database>> = OnceLock::new();
    let fonts = FONTS.get_or_init(|| {
        let mut fonts = usvg::fontdb::Database::new();
        fonts.load_font_data(REGULAR.to_vec());
        fonts.load_font_data(BOLD.to_vec());
        Arc::new(fonts)
    });
    usvg::Options {
        font_family: FAMILY.to_string(),
        fontdb: Arc::clone(fonts),
        ..usvg::Options::default()
    }
}

/// A drawing as it is read for every kind of picture, with the embedded fonts.
pub(crate) fn tree(svg: &str) -> Result<usvg::Tree, ChartError> {
    usvg::Tree::from_str(svg, &options()).map_err(|e| ChartError::Raster(e.to_string()))
}

/// Width of a text in pixels at the size, by the fonts that draw it.
pub(crate) fn text_width(text: &str, size: f64, bold: bool) -> Result<f64, ChartError> {
    let weight = if bold { "bold" } else { "normal" };
    let svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"9\" height=\"9\"><text y=\"9\" \
         font-family=\"{FAMILY}\" font-weight=\"{weight}\" font-size=\"{size}\">{}</text></svg>",
        super::svg::escape(text)
    );
    Ok(f64::from(tree(&svg)?.root().abs_bounding_box().width()))
}

pub(super) fn png(svg: &str, width: u32) -> Result<Picture, ChartError> {
    let tree = tree(svg)?;
    let scale = width as f32 / tree.size().width();
    let height = (tree.size().height() * scale).round() as u32;
    let mut picture = tiny_skia::Pixmap::new(width, height)
        .ok_or_else(|| ChartError::Raster(format!("{width} x {height} pixels is no size")))?;
    let zoom = tiny_skia::Transform::from_scale(scale, scale);
    resvg::render(&tree, zoom, &mut picture.as_mut());
    let png = match picture.pixels().iter().all(|p| p.alpha() == u8::MAX) {
        true => palette::png(&picture)?,
        false => picture
            .encode_png()
            .map_err(|e| ChartError::Raster(e.to_string()))?,
    };
    Ok(Picture { png, width, height })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Every letter that `can_write` promises has a glyph: its text leaves ink that differs
    /// from the ink of a letter that no font holds.
    #[test]
    fn promised_letters_have_glyphs() {
        let ink = |c: char| {
            let svg = format!(
                "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"24\" height=\"24\"><text x=\"4\" \
                 y=\"18\" font-family=\"{FAMILY}\" font-size=\"14\">{}</text></svg>",
                crate::chart::svg::escape(&c.to_string())
            );
            png(&svg, 24).unwrap().png
        };
        let missing = ink('鳥');
        let letters = LETTERS
            .iter()
            .flat_map(|(a, b)| *a..=*b)
            .filter_map(char::from_u32);
        let unassigned = ['\u{38b}', '\u{38d}', '\u{3a2}'];
        for c in letters
            .chain(SIGNS.chars())
            .filter(|c| !unassigned.contains(c))
        {
            let blank = c.is_whitespace() || c == '\u{ad}';
            assert!(blank || ink(c) != missing, "{c} (U+{:04X})", u32::from(c));
        }
        assert!(can_write("Zwergstrandläufer, Kulík bojový, Малый зуёк"));
        assert!(!can_write("ハマシギ"));
    }

    #[test]
    fn a_name_that_cannot_be_written_gives_way() {
        assert_eq!(written("Dunlin", "Calidris alpina"), "Dunlin");
        assert_eq!(written("ハマシギ", "Calidris alpina"), "Calidris alpina");
    }

    #[test]
    fn widths_grow_with_size_and_weight() {
        let plain = text_width("Sandpiper <&>", 12.0, false).unwrap();
        assert!(text_width("Sandpiper <&>", 24.0, false).unwrap() > 1.9 * plain);
        assert!(text_width("Sandpiper <&>", 12.0, true).unwrap() > plain);
    }
}
