//! Pictures with few colours, in a byte a pixel: charts are flat inks with soft edges, and mail
//! should be small.

use super::ChartError;
use resvg::tiny_skia::{Pixmap, PremultipliedColorU8};
use std::collections::HashMap;

/// Colours that a palette holds.
const COLOURS: usize = 256;

type Rgb = [u8; 3];

/// An indexed PNG of an opaque picture. Colours that differ little become the most frequent one
/// among them, so that flat areas keep theirs to the letter.
pub(super) fn png(picture: &Pixmap) -> Result<Vec<u8>, ChartError> {
    let mut counts: HashMap<Rgb, usize> = HashMap::new();
    for pixel in picture.pixels() {
        *counts.entry(rgb(*pixel)).or_default() += 1;
    }
    let (step, palette) = palette(&counts);
    let place: HashMap<Rgb, u8> = (0..=u8::MAX)
        .zip(&palette)
        .map(|(i, colour)| (cell(*colour, step), i))
        .collect();
    let index = |p: &PremultipliedColorU8| place.get(&cell(rgb(*p), step)).copied();
    let indexed: Vec<u8> = picture.pixels().iter().filter_map(index).collect();
    encode(picture.width(), picture.height(), &palette, &indexed)
        .map_err(|e| ChartError::Raster(e.to_string()))
}

fn rgb(pixel: PremultipliedColorU8) -> Rgb {
    [pixel.red(), pixel.green(), pixel.blue()]
}

/// The cube of colours, `step` wide, that the colour lies in.
fn cell(colour: Rgb, step: u8) -> Rgb {
    colour.map(|c| c / step)
}

/// The narrowest cubes, in powers of two, of which so few are filled, and for each its most
/// frequent colour.
fn palette(counts: &HashMap<Rgb, usize>) -> (u8, Vec<Rgb>) {
    let mut step = 1;
    loop {
        let mut cells: HashMap<Rgb, (usize, Rgb)> = HashMap::new();
        for (colour, count) in counts {
            let best = cells.entry(cell(*colour, step)).or_default();
            *best = (*best).max((*count, *colour));
        }
        // cubes 64 wide are 64 in all
        if cells.len() <= COLOURS || step == 64 {
            let mut palette: Vec<Rgb> = cells.into_values().map(|(_, colour)| colour).collect();
            palette.sort_unstable();
            return (step, palette);
        }
        step *= 2;
    }
}

fn encode(
    width: u32,
    height: u32,
    palette: &[Rgb],
    indexed: &[u8],
) -> Result<Vec<u8>, png::EncodingError> {
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, width, height);
    encoder.set_color(png::ColorType::Indexed);
    encoder.set_depth(png::BitDepth::Eight);
    encoder.set_palette(palette.concat());
    encoder.set_compression(png::Compression::High);
    // neighbouring indices are no neighbouring colours: filters would only spread them
    encoder.set_filter(png::Filter::NoFilter);
    encoder.write_header()?.write_image_data(indexed)?;
    Ok(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Decoded, every pixel lies in the cube of the one drawn, and flat colours are exact.
    #[test]
    fn colours_come_back_nearly_and_flat_ones_exactly() {
        let mut drawn = Pixmap::new(64, 64).unwrap();
        for (i, pixel) in drawn.pixels_mut().iter_mut().enumerate() {
            let (x, y) = ((i % 64) as u8, (i / 64) as u8);
            let [r, g, b] = if y < 40 {
                [0xfd, 0xfa, 0xf2]
            } else {
                [x * 4, y * 3, x ^ y]
            };
            *pixel = PremultipliedColorU8::from_rgba(r, g, b, 255).unwrap();
        }
        let file = png(&drawn).unwrap();
        let back = Pixmap::decode_png(&file).unwrap();
        assert_eq!((back.width(), back.height()), (64, 64));
        let mut worst = 0;
        for (i, (a, b)) in drawn.pixels().iter().zip(back.pixels()).enumerate() {
            let far = rgb(*a)
                .iter()
                .zip(rgb(*b))
                .map(|(a, b)| a.abs_diff(b))
                .max();
            worst = worst.max(far.unwrap());
            assert!(i / 64 >= 40 || far == Some(0), "paper at {i}");
        }
        assert!(worst < 64, "{worst}");
    }
}
