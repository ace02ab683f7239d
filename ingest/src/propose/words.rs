//! The proposal on the screen.

use super::columns::{Count, SpeciesAt};
use super::{FILL_IN, Proposal};
use crate::date::order_name;
use crate::read::header::separator_name;
use crate::report::of;
use std::fmt;

/// Names shown.
const SHOWN: usize = 12;

impl fmt::Display for Proposal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let told = &self.sheet_told;
        let encoding = told.encoding.unwrap_or("UTF-8");
        writeln!(
            f,
            "{}: {}, {encoding}, {}",
            self.file,
            rows(told.rows),
            separator_name(told.separator)
        )?;
        if told.header_line > 1 {
            let line = told.header_line;
            writeln!(
                f,
                "  The columns are named in line {line}; what stands above is left out."
            )?;
        }
        if told.is_short {
            writeln!(
                f,
                "  Most rows have more cells than the header has names. If the first cell of a\n  \
                 row is its name, write a word for that at the beginning of line {}, and\n  \
                 propose again: else each column goes by its neighbour's name.",
                told.header_line
            )?;
        }
        for (what, where_to) in self.mapping() {
            writeln!(f, "  {what:<9} {where_to}")?;
        }
        self.write_sites(f)?;
        self.write_zone(f)?;
        self.write_species(f)?;
        self.write_doubts(f)
    }
}

/// "1 row"
pub(super) fn rows(number: usize) -> String {
    of(number as u64, "row")
}

impl Proposal {
    fn mapping(&self) -> Vec<(&'static str, String)> {
        let header = |c: usize| format!("\"{}\"", self.sheet_told.header[c]);
        let optional =
            |column: Option<usize>, without: &str| column.map_or(without.to_owned(), header);
        let orders: Vec<&str> = self.columns.orders.iter().map(|o| order_name(*o)).collect();
        let date = optional(self.columns.date, FILL_IN);
        let species = match self.columns.species {
            Some(SpeciesAt::One(c)) => header(c),
            Some(SpeciesAt::GenusEpithet(a, b)) => format!("{} and {}", header(a), header(b)),
            None => FILL_IN.to_owned(),
        };
        let count = match &self.columns.count {
            Count::EachRow => "none: each row is one bird".to_owned(),
            Count::Column(c) => header(*c),
            Count::Either(all) => {
                let all: Vec<String> = all.iter().map(|c| header(*c)).collect();
                format!("{FILL_IN}: one of {}", all.join(", "))
            }
        };
        vec![
            ("date", format!("{date}, {}", orders.join(" or "))),
            (
                "site",
                optional(self.columns.site, "none: all rows are of one site"),
            ),
            ("species", species),
            ("count", count),
            ("effort", optional(self.columns.effort, "none")),
        ]
    }

    fn write_sites(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(f, "  sites: {}", self.sites.len())?;
        for site in self.sites.iter().take(SHOWN) {
            let name = site.written.as_deref().unwrap_or("one, without a name");
            let place = site.place.map_or_else(
                || format!("coordinates: {FILL_IN}"),
                |(north, east)| format!("at {north}, {east}"),
            );
            writeln!(f, "    {name} ({}), {place}", rows(site.rows))?;
        }
        more(f, self.sites.len())
    }

    /// No file tells it, so that it is proposed from elsewhere.
    fn write_zone(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Some(zone) = &self.time_zone else {
            return writeln!(
                f,
                "  time zone {FILL_IN}: this computer does not tell its own"
            );
        };
        writeln!(f, "  time zone \"{zone}\", since this computer keeps it")?;
        writeln!(
            f,
            "            (write another where your sites lie in another)"
        )
    }

    /// Names that contradict each other.
    fn write_doubts(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let doubts = &self.names.doubts;
        if doubts.is_empty() {
            return Ok(());
        }
        let number = doubts.len();
        writeln!(
            f,
            "  two names of two species, of which one is wrong: {number}"
        )?;
        for doubt in doubts.iter().take(SHOWN) {
            let [first, second] = doubt.said();
            writeln!(f, "    {first}, but {second} ({})", rows(doubt.rows))?;
        }
        more(f, number)
    }

    fn write_species(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let names = &self.names;
        writeln!(f, "  species: {}", names.species.len())?;
        for (scientific, found) in names.species.iter().take(SHOWN) {
            let english = found
                .english
                .as_ref()
                .map_or_else(String::new, |e| format!(", {e}"));
            let also = match found.also.is_empty() {
                true => String::new(),
                false => format!(", in the file: {}", found.also.join(", ")),
            };
            writeln!(f, "    {scientific}{english}{also} ({})", rows(found.rows))?;
        }
        more(f, names.species.len())?;
        if names.without_birds > 0 {
            writeln!(f, "  visits without birds: {}", rows(names.without_birds))?;
        }
        let unknown = names.unresolved.iter().map(|u| {
            let near = u.nearest.as_ref().map(|near| near.name.as_str());
            (&u.written, u.rows, near)
        });
        list(
            f,
            "names of no species known here, to be filled in",
            unknown,
        )?;
        let of_none = names.of_none.iter().map(|(name, rows)| (name, *rows, None));
        list(
            f,
            "names of no one species, which will be kept back",
            of_none,
        )
    }
}

fn list<'n>(
    f: &mut fmt::Formatter<'_>,
    what: &str,
    names: impl ExactSizeIterator<Item = (&'n String, usize, Option<&'n str>)>,
) -> fmt::Result {
    let number = names.len();
    if number == 0 {
        return Ok(());
    }
    writeln!(f, "  {what}: {number}")?;
    for (name, of_it, near) in names.take(SHOWN) {
        let near = near.map_or_else(String::new, |near| format!("; the nearest is \"{near}\""));
        writeln!(f, "    \"{name}\" ({}){near}", rows(of_it))?;
    }
    more(f, number)
}

fn more(f: &mut fmt::Formatter<'_>, number: usize) -> fmt::Result {
    match number.checked_sub(SHOWN) {
        None | Some(0) => Ok(()),
        Some(more) => writeln!(f, "    and {more} more, in wingtide.toml"),
    }
}
