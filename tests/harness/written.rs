//! Pieces of an invented `wingtide.toml`, so that a test writes only what it is about.

/// A workspace of that name.
pub fn workspace(name: &str) -> String {
    format!("[workspace]\nname = \"{name}\"\n")
}

/// A site on an invented coast of the Western Palearctic.
pub fn site(id: &str, name: &str) -> String {
    format!(
        "\n[[site]]\nid = \"{id}\"\nname = \"{name}\"\nlatitude = 54.63\nlongitude = -0.41\n\
         time_zone = \"Europe/London\"\nregion = \"western-palearctic\"\n"
    )
}

/// A species by its scientific and English names.
pub fn species(scientific: &str, english: &str) -> String {
    format!("\n[[species]]\nscientific = \"{scientific}\"\nnames = {{ en = \"{english}\" }}\n")
}

/// A fully reported source `notebook` of `counts.csv` whose rows name their place.
pub fn notebook(date_order: &str) -> String {
    format!(
        "\n[[source]]\nid = \"notebook\"\nkind = \"counts\"\nfile = \"counts.csv\"\n\
         date_order = \"{date_order}\"\nfully_reported = true\n\
         columns = {{ date = \"Date\", site = \"Place\", species = \"Bird\", count = \"How many\" }}\n"
    )
}
