//! `wingtide deliveries`

use super::args::Deliveries;
use super::{Failure, Streams, print_json, program};
use crate::columns;
use crate::deliveries::readers::{self, Away, Standing};
use crate::deliveries::rows::{self, Listed, ListedDigest, Which};
use crate::deliveries::{DeliveryError, Hands, SendReport, State, send_due};
use crate::service::tables;
use chrono::{DateTime, SecondsFormat, Utc};
use config::nearest::nearest;
use config::settings::Workspace;
use rusqlite::Connection;
use serde_json::{Value, json};
use std::io::Write;
use std::path::Path;

/// Shows, retries, abandons.
pub fn run(dir: &Path, args: &Deliveries, streams: &mut Streams) -> Result<(), Failure> {
    let workspace = config::load(dir)?;
    let conn = tables::open(&workspace.root)?;
    let digests = rows::digests(&conn)?;
    if let Some(key) = &args.digest {
        known_digest(key, &digests)?;
    }
    for address in &args.resume {
        resume(&conn, address, streams.err)?;
    }
    for who in &args.abandon {
        let which = which(&conn, args, who)?;
        let given_up = rows::abandon(&conn, which)?;
        writeln!(streams.err, "{} given up.", number(given_up))?;
    }
    let mut tried_again = 0;
    for who in &args.retry {
        let which = which(&conn, args, who)?;
        tried_again += rows::retry(&conn, which, Utc::now().timestamp())?;
    }
    if !args.retry.is_empty() {
        writeln!(streams.err, "{} to be tried again.", number(tried_again))?;
        let report = send(&workspace)?;
        return tell_sent(&conn, &report, (args.digest.as_deref(), dir), streams);
    }
    if !args.resume.is_empty() || !args.abandon.is_empty() {
        return Ok(());
    }
    show(&conn, args, &digests, streams)
}

/// Sends all that is due, on a runtime of its own.
pub fn send(workspace: &Workspace) -> Result<SendReport, Failure> {
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .build()?;
    let sent = runtime.block_on(send_due(workspace, &Hands::with_clock(Utc::now)));
    Ok(sent?)
}

/// "1 delivery", "12 deliveries".
pub fn number(of: usize) -> String {
    match of {
        1 => "1 delivery".to_owned(),
        many => format!("{many} deliveries"),
    }
}

/// Tells what a run did: states on `out`, words on `err`; fails where a whole channel did.
pub fn tell_sent(
    conn: &Connection,
    report: &SendReport,
    (digest, dir): (Option<&str>, &Path),
    streams: &mut Streams,
) -> Result<(), Failure> {
    if report.in_doubt > 0 {
        let line = format!(
            "{} left half done by an interrupted run went out again: each may have arrived twice, \
             under the same Message-ID.",
            number(report.in_doubt)
        );
        streams.remark(&line)?;
    }
    for (state, count) in rows::by_state(conn, digest)? {
        writeln!(streams.out, "{count:>7} {}", state.name())?;
    }
    if report.counts.refused > 0 {
        let line = "Some were refused for good; `wingtide deliveries` says why.";
        writeln!(streams.err, "{}", program::complete(line, dir))?;
    }
    if let Some(due) = report.next_due {
        let line = format!(
            "What waits is tried again from {} on, by `wingtide serve` or when this command is \
             given again.",
            moment(due)
        );
        streams.remark(&line)?;
    }
    match &report.faults[..] {
        [] => Ok(()),
        faults => Err(Failure::new(faults.join("; "))),
    }
}

fn known_digest(key: &str, digests: &[ListedDigest]) -> Result<(), Failure> {
    let keys = || digests.iter().map(|d| d.key.as_str());
    if keys().any(|k| k == key) {
        return Ok(());
    }
    let failure = Failure::new(format!("there is no digest \"{key}\" among those sent"));
    Err(match nearest(key, keys()) {
        Some(near) => failure.hint(format!("did you mean \"{near}\"?")),
        None => failure,
    })
}

/// Whom an option names, of which digest.
fn which<'a>(conn: &Connection, args: &'a Deliveries, who: &'a str) -> Result<Which<'a>, Failure> {
    let every = |state| Which {
        digest: args.digest.as_deref(),
        recipient: None,
        state,
    };
    match who {
        "all" => return Ok(every(None)),
        "waiting" => return Ok(every(Some(State::Waiting))),
        "refused" => return Ok(every(Some(State::Refused))),
        _ => {}
    }
    let known = rows::recipients(conn)?;
    if !known.contains(&who.to_lowercase()) {
        return Err(nobody(who, &known));
    }
    Ok(Which {
        recipient: Some(who),
        ..every(None)
    })
}

fn nobody(who: &str, known: &[String]) -> Failure {
    let failure = Failure::new(format!("there is no delivery to \"{who}\""));
    match nearest(who, known.iter().map(String::as_str)) {
        Some(near) => failure.hint(format!("did you mean \"{near}\"?")),
        None => {
            failure.hint("name an address, a webhook's id, \"waiting\", \"refused\" or \"all\"")
        }
    }
}

fn resume(conn: &Connection, address: &str, err: &mut dyn Write) -> Result<(), Failure> {
    if readers::resume(conn, address)? {
        writeln!(err, "{address} is mailed again, from the next digest on.")?;
        return Ok(());
    }
    let away = readers::away(conn)?;
    let away: Vec<&str> = away.iter().map(|a| a.mail.as_str()).collect();
    let failure = Failure::new(format!("\"{address}\" is neither paused nor off the list"));
    Err(match nearest(address, away) {
        Some(near) => failure.hint(format!("did you mean \"{near}\"?")),
        None => failure,
    })
}

fn show(
    conn: &Connection,
    args: &Deliveries,
    digests: &[ListedDigest],
    streams: &mut Streams,
) -> Result<(), Failure> {
    let mut shown = Vec::new();
    for (place, digest) in digests.iter().enumerate() {
        let wanted = match &args.digest {
            Some(key) => *key == digest.key,
            None => place == 0 || has_open(conn, &digest.key)?,
        };
        if wanted {
            shown.push((digest, rows::listed(conn, &digest.key)?));
        }
    }
    let away = readers::away(conn)?;
    if args.json {
        return print_json(&document(&shown, &away, args.addresses), streams.out);
    }
    if shown.is_empty() {
        writeln!(streams.err, "No digest was sent yet.")?;
    }
    for (digest, rows) in &shown {
        table(digest, rows, args.addresses, streams.out)?;
    }
    for reader in &away {
        let mail = address(&reader.mail, args.addresses);
        let line = format!("{mail} {}", standing_words(reader));
        let line = columns::wrap(&line, "", "  ", streams.width);
        writeln!(streams.out, "{line}")?;
    }
    Ok(())
}

fn has_open(conn: &Connection, key: &str) -> Result<bool, DeliveryError> {
    let counts = rows::by_state(conn, Some(key))?;
    let open = [State::Waiting, State::Sending];
    Ok(counts.iter().any(|(state, _)| open.contains(state)))
}

/// Counts by state, and a line for each delivery that is not plainly sent.
fn table(
    digest: &ListedDigest,
    rows: &[Listed],
    whole: bool,
    out: &mut dyn Write,
) -> Result<(), Failure> {
    writeln!(out, "{}", digest.subject)?;
    writeln!(out, "{}, queued {}", digest.key, moment(digest.queued_at))?;
    for state in State::ALL {
        let count = rows.iter().filter(|r| r.state == state).count();
        if count > 0 {
            writeln!(out, "{count:>7} {}", state.name())?;
        }
    }
    let doubtful: u32 = rows.iter().map(|r| r.in_doubt).sum();
    if doubtful > 0 {
        writeln!(out, "{doubtful:>7} may have arrived twice")?;
    }
    let told = rows.iter().filter(|r| r.state != State::Sent);
    for row in told {
        let due = row
            .due_at
            .map_or_else(String::new, |due| format!(", next try {}", moment(due)));
        writeln!(
            out,
            "  {}: {} after {} {}{due}{}",
            address(&row.address, whole),
            row.state.name(),
            row.tries,
            if row.tries == 1 { "try" } else { "tries" },
            answer(row, whole).map_or_else(String::new, |a| format!(": {a}")),
        )?;
    }
    writeln!(out)?;
    Ok(())
}

fn standing_words(reader: &Away) -> String {
    let since = reader
        .since
        .map_or_else(String::new, |since| format!(" since {}", moment(since)));
    let state = match reader.standing {
        Standing::Left => "is off the list",
        _ => "is paused",
    };
    let why = reader
        .why
        .as_ref()
        .map_or_else(String::new, |why| format!(", {why}"));
    format!("{state}{since}{why}.")
}

fn document(shown: &[(&ListedDigest, Vec<Listed>)], away: &[Away], whole: bool) -> Value {
    let delivery = |row: &Listed| {
        json!({
            "recipient": address(&row.address, whole),
            "channel": row.channel.name(),
            "state": row.state.name(),
            "tries": row.tries,
            "tried_at": row.tried_at.map(stamp),
            "due_at": row.due_at.map(stamp),
            "in_doubt": row.in_doubt,
            "answer": answer(row, whole),
            "mark": row.mark,
        })
    };
    let digest = |(digest, rows): &(&ListedDigest, Vec<Listed>)| {
        json!({
            "digest": digest.key,
            "subject": digest.subject,
            "queued_at": stamp(digest.queued_at),
            "deliveries": rows.iter().map(delivery).collect::<Vec<_>>(),
        })
    };
    let away = away.iter().map(|reader| {
        json!({
            "recipient": address(&reader.mail, whole),
            "standing": reader.standing.name(),
            "since": reader.since.map(stamp),
            "why": reader.why,
        })
    });
    json!({
        "digests": shown.iter().map(digest).collect::<Vec<_>>(),
        "away": away.collect::<Vec<_>>(),
    })
}

/// The last word on it; servers repeat the address in theirs.
fn answer(row: &Listed, whole: bool) -> Option<String> {
    let shown = address(&row.address, whole);
    let answer = row.answer.as_ref()?;
    Some(answer.replace(&row.address, &shown))
}

fn at(seconds: i64) -> DateTime<Utc> {
    DateTime::from_timestamp(seconds, 0).unwrap_or_default()
}

fn moment(seconds: i64) -> String {
    at(seconds).format("%Y-%m-%d %H:%M UTC").to_string()
}

fn stamp(seconds: i64) -> String {
    at(seconds).to_rfc3339_opts(SecondsFormat::Secs, true)
}

/// The first letter and the domain are enough to know one's readers by, and no list to take away.
fn address(written: &str, whole: bool) -> String {
    match written.split_once('@') {
        Some((local, domain)) if !whole => {
            let first: String = local.chars().take(1).collect();
            format!("{first}…@{domain}")
        }
        _ => written.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::address;

    #[test]
    fn addresses_are_shown_in_part() {
        assert_eq!(address("reader@example.org", false), "r…@example.org");
        assert_eq!(address("reader@example.org", true), "reader@example.org");
        assert_eq!(address("club-chat", false), "club-chat");
    }
}
