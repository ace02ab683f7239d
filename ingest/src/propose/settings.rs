//! The proposal as a commented `wingtide.toml`.

use super::columns::{Count, SpeciesAt};
use super::doubts::{Doubt, Place};
use super::names::{FoundSpecies, Meant, Unresolved};
use super::sites::FoundSite;
use super::words::rows;
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
            ("id", quoted(&site.id), rows(site.rows)),
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
        for doubt in &self.names.doubts {
            text += &self.doubt(doubt);
        }
        for (name, of_it) in &self.names.of_none {
            let _ = writeln!(
                text,
                "# {} ({}) is of no one species.",
                quoted(name),
                rows(*of_it)
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
            "# {written} ({}) means no species that is known here",
            rows(name.rows)
        );
        let Some(near) = &name.nearest else {
            return format!(
                "{said}. Name it:\n# [[species]]\n# scientific = \"Genus epithet\"\n\
                 # also = [{written}]\n\n"
            );
        };
        let offer = self.offer(&near.meant, &name.written);
        let nearest = quoted(&near.name);
        format!("{said}; the nearest known is {nearest}.\n# If it is meant, {offer}\n")
    }

    /// How a name is made one of a species, behind "If it is meant, ".
    fn offer(&self, (scientific, english): &Meant, name: &str) -> String {
        let above = self.names.species.get(scientific);
        let (scientific, written) = (quoted(scientific), quoted(name));
        if let Some(found) = above {
            let also = found.also.iter().map(|a| quoted(a)).chain([written]);
            let also: Vec<String> = also.collect();
            let also = also.join(", ");
            return format!("write under {scientific} above:\n# also = [{also}]\n");
        }
        let english = english.as_ref().map_or_else(String::new, |english| {
            format!("# names = {{ en = {} }}\n", quoted(english))
        });
        format!(
            "take the # from these lines:\n# [[species]]\n# scientific = {scientific}\n{english}\
             # also = [{written}]\n"
        )
    }

    /// Two names that contradict each other: what the file says, to be decided.
    fn doubt(&self, doubt: &Doubt) -> String {
        let [first, second] = doubt.said();
        let said = format!("# In doubt ({}): {first}, but {second}.", rows(doubt.rows));
        match &doubt.place {
            Place::Cell(written) => {
                let [one, other] = doubt.halves.each_ref().map(|half| {
                    let offer = self.offer(&half.meant, written);
                    format!("# If {} is meant, {offer}", quoted(&half.meant.0))
                });
                format!(
                    "{said}\n# Its rows are refused until the file says which, or these lines do.\n\
                     {one}{other}\n"
                )
            }
            Place::Columns([_, read]) => {
                format!("{said}\n# Names are read from {read}: look at those rows in the file.\n\n",)
            }
        }
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
        let header = |c: usize| quoted(&one_line(&self.sheet_told.header[c]));
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
                let names = columns.iter().map(|c| one_line(&self.sheet_told.header[*c]));
                let names: Vec<String> = names.collect();
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
        &rows(found.rows),
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

/// As a note can hold it: a header may have line ends in it.
pub(super) fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
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
