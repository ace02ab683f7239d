//! The proposal as a commented `wingtide.toml`.

use super::columns::{Count, SpeciesAt};
use super::names::{FoundSpecies, Unresolved};
use super::sites::FoundSite;
use super::{FILL_IN, Proposal, region};
use crate::date::order_name;
use config::settings::DateOrder;
use std::fmt::Write;

const HEADING: &str = "\
# wingtide.toml: proposed from a file of yours. Read it, put right what is wrong, and write the
# truth wherever \"FILL IN\" stands: until then, loading refuses it. A line that starts with # is a
# note. wingtide new without --from makes a file in which every setting is explained.

";

const FULLY_REPORTED: &str = "\
fully_reported = false              # true only if a species without a row was not found
";

impl Proposal {
    /// The text of `wingtide.toml`.
    pub fn toml(&self) -> String {
        let mut text = HEADING.to_owned();
        text += "[workspace]\nname = \"My counts\"\nlanguage = \"en\"\n\n";
        text += "# One [[site]] for each place where you count.\n";
        self.sites.iter().for_each(|site| text += &self.site(site));
        text += "# One [[species]] for each species in your file.\n";
        for (scientific, found) in &self.names.species {
            text += &species(scientific, found);
        }
        text += &self.unresolved();
        text += &self.source();
        text
    }

    fn site(&self, site: &FoundSite) -> String {
        let name = site.written.as_deref().unwrap_or("My Site");
        let degrees = |degree: Option<f64>| degree.map_or_else(fill_in, number);
        let region = site.place.and_then(|(north, east)| region::of(north, east));
        let zone = self.time_zone.as_deref();
        let lines = [
            ("id", quoted(&site.id), format!("{} rows", site.rows)),
            ("name", quoted(name), String::new()),
            (
                "latitude",
                degrees(site.place.map(|p| p.0)),
                "degrees north; south is negative".to_owned(),
            ),
            (
                "longitude",
                degrees(site.place.map(|p| p.1)),
                "degrees east; west is negative".to_owned(),
            ),
            (
                "time_zone",
                zone.map_or_else(fill_in, quoted),
                zone_told(zone),
            ),
            (
                "region",
                region.map_or_else(fill_in, quoted),
                REGIONS.to_owned(),
            ),
        ];
        let mut text = "[[site]]\n".to_owned();
        for (key, value, note) in lines {
            line(&mut text, &format!("{key} = {value}"), &note);
        }
        text + "\n"
    }

    /// Names that nobody here knows, ready to be filled in.
    fn unresolved(&self) -> String {
        let mut text = String::new();
        for name in &self.names.unresolved {
            text += &self.unknown(name);
        }
        for (name, rows) in &self.names.of_none {
            let _ = writeln!(
                text,
                "# {} ({rows} rows) is of no one species.",
                quoted(name)
            );
        }
        if !self.names.of_none.is_empty() {
            text.push('\n');
        }
        text
    }

    /// A name that nobody here knows, with the lines that would make it known.
    fn unknown(&self, name: &Unresolved) -> String {
        let written = quoted(&name.written);
        let said = format!(
            "# {written} ({} rows) means no species that is known here",
            name.rows
        );
        let Some(near) = &name.nearest else {
            return format!(
                "{said}. Name it:\n# [[species]]\n# scientific = \"Genus epithet\"\n\
                 # also = [{written}]\n\n"
            );
        };
        let (nearest, scientific) = (quoted(&near.name), quoted(&near.scientific));
        let said = format!("{said}; the nearest known is {nearest}.\n");
        if let Some(found) = self.names.species.get(&near.scientific) {
            let also = found.also.iter().chain([&name.written]);
            let also: Vec<String> = also.map(|name| quoted(name)).collect();
            return format!(
                "{said}# If it is meant, write under {scientific} above:\n# also = [{}]\n\n",
                also.join(", ")
            );
        }
        let english = near.english.as_ref().map_or_else(String::new, |english| {
            format!("# names = {{ en = {} }}\n", quoted(english))
        });
        format!(
            "{said}# If it is meant, take the # from these lines:\n# [[species]]\n\
             # scientific = {scientific}\n{english}# also = [{written}]\n\n"
        )
    }

    fn source(&self) -> String {
        let mut text = "[[source]]\nid = \"counts\"\nkind = \"counts\"\n".to_owned();
        let _ = writeln!(text, "file = {}", quoted(&self.file));
        let (order, note) = self.date_order();
        line(&mut text, &format!("date_order = {order}"), &note);
        if self.columns.site.is_none() {
            let _ = writeln!(text, "site = {}", quoted("my-site"));
        }
        text += FULLY_REPORTED;
        let _ = writeln!(
            text,
            "columns = {{ {} }}",
            self.columns_written().join(", ")
        );
        let _ = writeln!(text, "separator = {}", separator(self.sheet_told.separator));
        if let Some(encoding) = self.sheet_told.encoding {
            let _ = writeln!(text, "encoding = {}", quoted(encoding));
        }
        text += &self.count_note();
        text
    }

    fn date_order(&self) -> (String, String) {
        match self.columns.orders[..] {
            [only] => (quoted(order_name(only)), String::new()),
            [] => (
                quoted(order_name(DateOrder::YearMonthDay)),
                "the file has no date that reads".to_owned(),
            ),
            ref several => {
                let names: Vec<&str> = several.iter().map(|o| order_name(*o)).collect();
                (
                    fill_in(),
                    format!("every date reads as {}", names.join(" and as ")),
                )
            }
        }
    }

    fn columns_written(&self) -> Vec<String> {
        let header = |c: usize| quoted(&self.sheet_told.header[c]);
        let needed = |column: Option<usize>| column.map_or_else(fill_in, header);
        let mut all = vec![format!("date = {}", needed(self.columns.date))];
        all.extend(self.columns.site.map(|c| format!("site = {}", header(c))));
        match self.columns.species {
            Some(SpeciesAt::GenusEpithet(genus, epithet)) => {
                all.push(format!(
                    "genus = {}, epithet = {}",
                    header(genus),
                    header(epithet)
                ));
            }
            Some(SpeciesAt::One(c)) => all.push(format!("species = {}", header(c))),
            None => all.push(format!("species = {}", fill_in())),
        }
        match &self.columns.count {
            Count::EachRow => {}
            Count::Column(c) => all.push(format!("count = {}", header(*c))),
            Count::Either(_) => all.push(format!("count = {}", fill_in())),
        }
        all.extend(
            self.columns
                .effort
                .map(|c| format!("effort = {}", header(c))),
        );
        all
    }

    fn count_note(&self) -> String {
        match &self.columns.count {
            Count::EachRow => {
                "# No column of numbers of birds was found: each row is one bird. If that is wrong, add\n\
                 # count = \"...\" to columns.\n"
                    .to_owned()
            }
            Count::Column(_) => String::new(),
            Count::Either(columns) => {
                let names: Vec<&str> =
                    columns.iter().map(|c| self.sheet_told.header[*c].as_str()).collect();
                format!("# The number of birds may be in any of: {}.\n", names.join(", "))
            }
        }
    }
}

const REGIONS: &str = "whose plumages and months hold here: western-palearctic, nearctic, \
    neotropics, afrotropics, south-asia, east-asia or australasia";

fn zone_told(zone: Option<&str>) -> String {
    match zone {
        Some(_) => "this computer's; the zone in which your dates are written",
        None => "such as \"Europe/London\"",
    }
    .to_owned()
}

fn species(scientific: &str, found: &FoundSpecies) -> String {
    let mut text = "[[species]]\n".to_owned();
    line(
        &mut text,
        &format!("scientific = {}", quoted(scientific)),
        &format!("{} rows", found.rows),
    );
    if let Some(english) = &found.english {
        let _ = writeln!(text, "names = {{ en = {} }}", quoted(english));
    }
    if !found.also.is_empty() {
        let also: Vec<String> = found.also.iter().map(|a| quoted(a)).collect();
        let _ = writeln!(text, "also = [{}]", also.join(", "));
    }
    text + "\n"
}

/// A setting with a note behind it, at the template's column.
fn line(text: &mut String, setting: &str, note: &str) {
    // writing to a string cannot fail
    let _ = match note {
        "" => writeln!(text, "{setting}"),
        note => writeln!(text, "{setting:<36}# {note}"),
    };
}

fn fill_in() -> String {
    quoted(FILL_IN)
}

/// A TOML string.
fn quoted(text: &str) -> String {
    toml::Value::from(text).to_string()
}

/// Always with a point, as TOML tells whole numbers from others.
fn number(degrees: f64) -> String {
    format!("{degrees:?}")
}

fn separator(separator: u8) -> String {
    match separator {
        b'\t' => quoted("tab"),
        other => quoted(&char::from(other).to_string()),
    }
}
