//! How the tables of a source are laid out: which part of a file, and what runs across.

use crate::raw::Section;
use crate::settings::Layout;
use toml::Spanned;

pub(super) fn read(section: &Section<'_>) -> Layout {
    let text = |key| section.text(key).map(Spanned::into_inner);
    Layout {
        sheet: text("sheet"),
        member: text("member"),
    }
}
