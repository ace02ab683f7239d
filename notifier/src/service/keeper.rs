//! What the keeper is told by mail: all that went wrong since the last note, once a day at most.

use super::runs::{instant, written};
use super::tables::TablesError;
use crate::words;
use chrono::{DateTime, TimeDelta, Utc};
use chrono_tz::Tz;
use rusqlite::{Connection, params};

/// Between two notes.
const BETWEEN: TimeDelta = TimeDelta::days(1);
/// How long what was told is kept.
const KEPT: TimeDelta = TimeDelta::days(365);

/// Something that the keeper is to know.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Trouble {
    at: DateTime<Utc>,
    last: DateTime<Utc>,
    times: usize,
    sentence: String,
}

/// A note to the keeper.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Note {
    /// One line.
    pub subject: String,
    /// Plain text.
    pub text: String,
    /// The last trouble in it.
    up_to: i64,
}

/// What a note says beside the troubles.
#[derive(Debug, Clone, Copy)]
pub struct About<'a> {
    /// The workspace's name.
    pub workspace: &'a str,
    /// The zone of its times.
    pub zone: Tz,
    /// Where the status page is.
    pub page: &'a str,
}

/// Keeps a sentence for the next note.
///
/// # Errors
/// [`TablesError`].
pub fn keep(conn: &Connection, sentence: &str, now: DateTime<Utc>) -> Result<(), TablesError> {
    conn.execute(
        "INSERT INTO troubles (at, sentence) VALUES (?1, ?2)",
        params![written(now), sentence],
    )?;
    Ok(())
}

/// How many sentences wait for the next note.
///
/// # Errors
/// [`TablesError`].
pub fn waiting(conn: &Connection) -> Result<usize, TablesError> {
    let sql = "SELECT count(DISTINCT sentence) FROM troubles WHERE told_at IS NULL";
    let waiting: u32 = conn.query_row(sql, [], |row| row.get(0))?;
    Ok(waiting as usize)
}

/// The note that is due: there is something to tell, and the last one is a day old. A clock that
/// was set back since then does not hold it up for longer.
///
/// # Errors
/// [`TablesError`].
pub fn due(
    conn: &Connection,
    about: About<'_>,
    now: DateTime<Utc>,
) -> Result<Option<Note>, TablesError> {
    let mut last = conn.prepare_cached(
        "SELECT told_at FROM troubles WHERE told_at IS NOT NULL ORDER BY told_at DESC LIMIT 1",
    )?;
    let last: Vec<DateTime<Utc>> = last
        .query_map([], |row| instant(row, 0))?
        .collect::<Result<_, _>>()?;
    if last.iter().any(|at| (now - *at).abs() < BETWEEN) {
        return Ok(None);
    }
    let (troubles, up_to) = untold(conn)?;
    Ok((!troubles.is_empty()).then(|| note(&troubles, about, up_to)))
}

/// The note went out.
///
/// # Errors
/// [`TablesError`].
pub fn told(conn: &Connection, note: &Note, now: DateTime<Utc>) -> Result<(), TablesError> {
    conn.execute(
        "UPDATE troubles SET told_at = ?2 WHERE told_at IS NULL AND id <= ?1",
        params![note.up_to, written(now)],
    )?;
    let old = written(now - KEPT);
    conn.execute("DELETE FROM troubles WHERE told_at < ?1", [old])?;
    Ok(())
}

/// The same sentence counts once, from the first time on.
fn untold(conn: &Connection) -> Result<(Vec<Trouble>, i64), TablesError> {
    let mut statement = conn.prepare_cached(
        "SELECT id, at, sentence FROM troubles WHERE told_at IS NULL ORDER BY id",
    )?;
    let mut rows = statement.query([])?;
    let (mut troubles, mut up_to): (Vec<Trouble>, i64) = (Vec::new(), 0);
    while let Some(row) = rows.next()? {
        up_to = row.get(0)?;
        let (at, sentence): (_, String) = (instant(row, 1)?, row.get(2)?);
        match troubles.iter_mut().find(|t| t.sentence == sentence) {
            Some(known) => {
                known.times += 1;
                known.last = at;
            }
            None => troubles.push(Trouble {
                at,
                last: at,
                times: 1,
                sentence,
            }),
        }
    }
    Ok((troubles, up_to))
}

/// Columns of the text; RFC 5322 (2.1.1) asks for 78 at most.
const WIDTH: usize = 74;

fn note(troubles: &[Trouble], about: About<'_>, up_to: i64) -> Note {
    let things = words::count_of(troubles.len(), "thing", "things");
    let things = words::plain_spaces(&things);
    let mut text = format!(
        "This is what the service of {} has to tell its keeper. The times are those of {}.\n",
        about.workspace, about.zone
    );
    text = crate::columns::wrap(&text, "", "", WIDTH) + "\n";
    for trouble in troubles {
        let line = format!(
            "{}: {}",
            when(trouble, about.zone),
            words::stop(&trouble.sentence)
        );
        text += &format!("\n{}\n", crate::columns::wrap(&line, "- ", "  ", WIDTH));
    }
    let closing = format!(
        "A step that failed is tried again by itself, now and at the next run. What the service \
         does is shown at {}. A note like this comes once a day at most.",
        about.page
    );
    text += &format!("\n{}\n", crate::columns::wrap(&closing, "", "", WIDTH));
    Note {
        subject: format!("{}: {things} to look at", about.workspace),
        text,
        up_to,
    }
}

fn when(trouble: &Trouble, zone: Tz) -> String {
    let first = words::moment(trouble.at, zone);
    match trouble.times {
        1 => first,
        times => {
            let last = words::moment(trouble.last, zone);
            format!("{first} ({times} times, the last {last})")
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::service::tables;

    const ABOUT: About<'static> = About {
        workspace: "Skerrow Ness",
        zone: Tz::Europe__London,
        page: "http://127.0.0.1:7878/keeper",
    };

    fn at(text: &str) -> DateTime<Utc> {
        text.parse().expect("an instant")
    }

    #[test]
    fn a_note_comes_once_a_day_with_all_that_happened() {
        let root = tempfile::tempdir().expect("a folder");
        let conn = tables::open(root.path()).expect("tables");
        let monday = at("2026-09-07T05:31:00Z");
        assert_eq!(due(&conn, ABOUT, monday).expect("none"), None);
        keep(&conn, "The disk is full", monday).expect("kept");
        let first = due(&conn, ABOUT, monday).expect("a note").expect("at once");
        assert_eq!(first.subject, "Skerrow Ness: 1 thing to look at");
        told(&conn, &first, monday).expect("told");
        for hours in [1, 2, 23] {
            let now = monday + TimeDelta::hours(hours);
            keep(&conn, "The disk is full", now).expect("kept");
            assert_eq!(due(&conn, ABOUT, now).expect("none"), None, "{hours}");
        }
        keep(&conn, "The curves could not be fitted", monday).expect("kept");
        let tuesday = monday + TimeDelta::hours(24);
        let second = due(&conn, ABOUT, tuesday)
            .expect("a note")
            .expect("a day later");
        assert_eq!(second.subject, "Skerrow Ness: 2 things to look at");
        let expected = "This is what the service of Skerrow Ness has to tell its keeper. The times\n\
            are those of Europe/London.\n\
            \n\
            - 7 September 2026, 07:31 (3 times, the last 8 September 2026, 05:31): The\n\
            \x20 disk is full.\n\
            \n\
            - 7 September 2026, 06:31: The curves could not be fitted.\n\
            \n\
            A step that failed is tried again by itself, now and at the next run. What\n\
            the service does is shown at http://127.0.0.1:7878/keeper. A note like\n\
            this comes once a day at most.\n";
        assert_eq!(second.text, expected);
        told(&conn, &second, tuesday).expect("told");
        assert_eq!(waiting(&conn).expect("a number"), 0);
    }

    #[test]
    fn a_note_that_did_not_go_out_is_due_again_with_what_came_since() {
        let root = tempfile::tempdir().expect("a folder");
        let conn = tables::open(root.path()).expect("tables");
        let now = at("2026-09-07T05:31:00Z");
        keep(&conn, "One", now).expect("kept");
        due(&conn, ABOUT, now).expect("a note").expect("due");
        keep(&conn, "Two", now).expect("kept");
        let again = due(&conn, ABOUT, now).expect("a note").expect("due");
        assert!(again.text.contains("One.") && again.text.contains("Two."));
    }

    #[test]
    fn a_clock_set_far_back_keeps_nobody_in_the_dark() {
        let root = tempfile::tempdir().expect("a folder");
        let conn = tables::open(root.path()).expect("tables");
        let ahead = at("2031-01-01T00:00:00Z");
        keep(&conn, "One", ahead).expect("kept");
        let note = due(&conn, ABOUT, ahead).expect("a note").expect("due");
        told(&conn, &note, ahead).expect("told");
        let now = at("2026-09-07T05:31:00Z");
        keep(&conn, "Two", now).expect("kept");
        assert!(due(&conn, ABOUT, now).expect("a note").is_some());
    }
}
