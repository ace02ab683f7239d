//! From SVG to PDF, with letters that can be searched and copied.

use super::{About, Paper, PrintError, Side};
use crate::chart::tree;
use chrono::{DateTime, Datelike, Timelike, Utc};
use krilla::Document;
use krilla::geom::{Size, Transform};
use krilla::metadata::Metadata;
use krilla::page::PageSettings;
use krilla::surface::Surface;
use krilla::tagging::{ContentTag, Identifier, Tag, TagGroup, TagTree};
use krilla_svg::{SurfaceExt, SvgSettings};
use resvg::usvg::Tree;

/// The sides as one PDF, a page each. Each page is a figure with its description, as readers of
/// tagged PDF expect (ISO 32000-1, 14.8.4.5).
///
/// # Errors
/// No side, a drawing that does not read, or what the library refuses.
pub fn pdf(sides: &[Side], about: &About) -> Result<Vec<u8>, PrintError> {
    if sides.is_empty() {
        return Err(PrintError::NoSide);
    }
    let mut document = Document::new();
    document.set_metadata(metadata(about));
    let mut tags = TagTree::new().with_lang(Some(about.language.clone()));
    for side in sides {
        let drawn = page(&mut document, side)?;
        let figure = Tag::Figure(Some(side.text.clone()));
        tags.push(TagGroup::with_children(figure, vec![drawn.into()]));
    }
    document.set_tag_tree(tags);
    Ok(document.finish()?)
}

fn page(document: &mut Document, side: &Side) -> Result<Identifier, PrintError> {
    let tree = tree(&side.svg)?;
    let (width, height) = side.paper.points();
    let settings = PageSettings::from_wh(width as f32, height as f32);
    let mut page = document.start_page_with(settings.ok_or(no_size(side.paper))?);
    let mut surface = page.surface();
    let drawn = surface.start_tagged(ContentTag::Other);
    let fits = draw(&mut surface, &tree, (width as f32, height as f32));
    surface.end_tagged();
    surface.finish();
    page.finish();
    fits.ok_or(no_size(side.paper))?;
    Ok(drawn)
}

/// The drawing as large as the paper holds it, in its middle.
fn draw(surface: &mut Surface, tree: &Tree, (width, height): (f32, f32)) -> Option<()> {
    let own = tree.size();
    let scale = (width / own.width()).min(height / own.height());
    let size = Size::from_wh(own.width() * scale, own.height() * scale)?;
    let (left, top) = ((width - size.width()) / 2.0, (height - size.height()) / 2.0);
    surface.push_transform(&Transform::from_translate(left, top));
    let drawn = surface.draw_svg(tree, size, SvgSettings::default());
    surface.pop();
    drawn
}

fn no_size(paper: Paper) -> PrintError {
    PrintError::Paper {
        width_mm: paper.width_mm,
        height_mm: paper.height_mm,
    }
}

fn metadata(about: &About) -> Metadata {
    let metadata = Metadata::new()
        .title(about.title.clone())
        .language(about.language.clone())
        .creator("Wingtide".to_owned())
        .creation_date(date(about.made));
    match &about.author {
        Some(author) => metadata.authors(vec![author.clone()]),
        None => metadata,
    }
}

/// In universal time.
fn date(at: DateTime<Utc>) -> krilla::metadata::DateTime {
    krilla::metadata::DateTime::new(u16::try_from(at.year()).unwrap_or_default())
        .month(at.month() as u8)
        .day(at.day() as u8)
        .hour(at.hour() as u8)
        .minute(at.minute() as u8)
        .second(at.second() as u8)
        .utc_offset_hour(0)
        .utc_offset_minute(0)
}
