//! What may be passed on of a species or a site: `sensitive` and `coarsen_km`.

use crate::raw::{Key, Section};

/// How a species or site is kept from those who could harm it, wherever counts are passed on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Sensitive {
    /// Nothing of it is passed on: no row, no zero, no total.
    Withhold,
    /// Its place is told to a grid of so many kilometres alone.
    Coarsen {
        /// Edge of a grid cell, above 0.
        km: f64,
    },
}

pub(crate) const SENSITIVE: Key = Key("sensitive", r#""withhold" or "coarsen""#);
pub(crate) const COARSEN_KM: Key = Key("coarsen_km", "kilometres from 1 to 200");

/// Common practice, no source.
const COARSEN_KM_USUAL: f64 = 10.0;

#[derive(Clone, Copy, PartialEq)]
enum Kind {
    Withhold,
    Coarsen,
}

/// None where nothing has to be kept.
pub(crate) fn read(section: &Section<'_>) -> Option<Sensitive> {
    let kinds = [("withhold", Kind::Withhold), ("coarsen", Kind::Coarsen)];
    let kind = section.choice("sensitive", &kinds);
    let km = coarsen_km(section);
    if kind != Some(Kind::Coarsen) && section.has("coarsen_km") {
        let message = format!(
            "coarsen_km in {} needs sensitive = \"coarsen\" beside it",
            section.title()
        );
        section.refuse_key("coarsen_km", message);
    }
    Some(match kind? {
        Kind::Withhold => Sensitive::Withhold,
        Kind::Coarsen => Sensitive::Coarsen { km },
    })
}

fn coarsen_km(section: &Section<'_>) -> f64 {
    let Some(km) = section.number("coarsen_km") else {
        return COARSEN_KM_USUAL;
    };
    if !(1.0..=200.0).contains(km.get_ref()) {
        section.refuse_value("coarsen_km", &km);
    }
    km.into_inner()
}
