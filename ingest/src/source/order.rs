//! The order of dates where the settings leave it out: settled by the file's own dates.

use crate::cell::tidy;
use crate::date::{self, order_name};
use crate::error::{LoadError, NoDateOrder};
use crate::mapping::wanted;
use crate::read::header::Whose;
use crate::read::opened::Part;
use crate::read::table::Table;
use crate::report::Note;
use config::settings::{DateOrder, Source};

/// A date and where it stands.
#[derive(Clone)]
struct Seen {
    part: usize,
    line: u64,
    value: String,
}

/// What the dates of a source say of their order.
#[derive(Default)]
struct Evidence {
    /// The first date that is one in this order alone.
    only: [Option<Seen>; 3],
    /// The first date that is another day in another order.
    either: Option<(Seen, Vec<DateOrder>)>,
}

/// The order that the source states, or that its dates leave no doubt of; with a note which dates
/// showed it.
pub(super) fn settled(
    parts: &[Part],
    source: &Source,
    true_dates: bool,
) -> Result<(DateOrder, Option<Note>), LoadError> {
    if let Some(order) = source.date_order {
        return Ok((order, None));
    }
    let evidence = gather(parts, source, true_dates)?;
    let shown = date::ORDERS.into_iter().filter_map(|order| {
        let seen = evidence.only[order as usize].as_ref();
        seen.map(|seen| (order, seen))
    });
    match (&shown.collect::<Vec<_>>()[..], &evidence.either) {
        ([], None) => Ok((DateOrder::YearMonthDay, None)),
        ([(order, seen)], _) => Ok((*order, Some(note(*order, seen, parts)))),
        ([one, other, ..], _) => Err(contradicted(parts, source, *one, *other)),
        ([], Some((seen, orders))) => Err(undecided(parts, source, seen, orders)),
    }
}

/// Dates that are dates in two orders.
fn contradicted(
    parts: &[Part],
    source: &Source,
    (first, a): (DateOrder, &Seen),
    (second, b): (DateOrder, &Seen),
) -> LoadError {
    let (first, second) = (order_name(first), order_name(second));
    let (value, earlier) = (&b.value, &a.value);
    let (file, line) = (&parts[a.part].name, a.line);
    let why = format!(
        "\"{value}\" is a date only in the order {second}, but \"{earlier}\" ({file}, line {line}) \
         only in the order {first}"
    );
    no_order(parts, source, b, why, vec![first, second])
}

fn undecided(parts: &[Part], source: &Source, seen: &Seen, orders: &[DateOrder]) -> LoadError {
    let why = format!(
        "\"{}\" could be two days, and no date of the file tells which order it is written in",
        seen.value
    );
    let orders = orders.iter().map(|o| order_name(*o)).collect();
    no_order(parts, source, seen, why, orders)
}

fn no_order(
    parts: &[Part],
    source: &Source,
    seen: &Seen,
    why: String,
    orders: Vec<&'static str>,
) -> LoadError {
    let no_order = NoDateOrder {
        file: parts[seen.part].name.clone(),
        line: seen.line,
        source_id: source.id.clone(),
        why,
        orders,
    };
    no_order.into()
}

fn note(order: DateOrder, seen: &Seen, parts: &[Part]) -> Note {
    Note {
        file: (parts.len() > 1).then(|| parts[seen.part].name.clone()),
        line: Some(seen.line),
        text: format!(
            "Dates were read in the order {}, as \"{}\" shows.",
            order_name(order),
            seen.value
        ),
    }
}

fn gather(parts: &[Part], source: &Source, true_dates: bool) -> Result<Evidence, LoadError> {
    let mut table = Table::new(parts, source)?;
    let whose = Whose {
        file: &parts[0].name,
        source_id: &source.id,
    };
    let mut evidence = Evidence::default();
    let wanted = wanted(source);
    let Some(&date) = wanted.iter().find(|w| w.key == "date") else {
        return Ok(evidence);
    };
    let column = table.header.place(date, whose, &mut Vec::new())?;
    let mut last = Vec::new();
    loop {
        let Some(row) = table.next()? else { break };
        let line = row.line;
        let cell = row.cells.get(column).unwrap_or_default();
        if cell == last {
            continue;
        }
        last.clear();
        last.extend_from_slice(cell);
        let value = tidy(&String::from_utf8_lossy(&last)).0.into_owned();
        let at = table.parts();
        let seen = Seen {
            part: at.len() - 1,
            line: line - at[at.len() - 1].lines_before,
            value,
        };
        evidence.take(seen, true_dates);
    }
    Ok(evidence)
}

impl Evidence {
    fn take(&mut self, seen: Seen, true_dates: bool) {
        if true_dates && date::is_iso(&seen.value) {
            return;
        }
        match &date::fitting(&seen.value)[..] {
            [only] => {
                self.only[*only as usize].get_or_insert(seen);
            }
            orders if self.either.is_none() && date::differ(&seen.value, orders) => {
                self.either = Some((seen, orders.to_vec()));
            }
            _ => {}
        }
    }
}
