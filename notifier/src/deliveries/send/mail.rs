//! Mail: several sessions with the server, each handing over one mail after another.

use super::super::key::StoreKey;
use super::super::record::{Pen, Settled, Taken, Unrecorded};
use super::super::{DeliveryError, MailContents};
use super::due::{self, Due};
use super::pace::Pace;
use super::{Later, Run, lock};
use crate::channel::letter::{Letter, Reader, Writing, Written};
use crate::channel::signing;
use crate::channel::smtp::{NoSession, NotSent, Server, Session};
use crate::service::tables;
use crate::subscribers::link::{self, Purpose};
use chrono::DateTime;
use config::settings::Workspace;
use rusqlite::Connection;
use std::collections::VecDeque;
use std::sync::{Arc, Mutex};
use std::time::Duration;
use tokio::task::JoinSet;

/// What all sessions share.
struct Post {
    run: Arc<Run>,
    pen: Pen,
    server: Server,
    writing: Writing,
    store_key: StoreKey,
    pace: Pace,
    queue: Mutex<VecDeque<Due>>,
    shelf: Mutex<Shelf>,
}

/// The letter that is being sent; those who get the same come one after another.
struct Shelf {
    conn: Connection,
    /// Its row, when its digest was queued, and itself.
    current: Option<(i64, i64, Arc<Letter>)>,
}

/// Times that a session that cannot be opened is tried, one after another.
const OPENINGS: u32 = 3;
/// The wait between them; it grows from one to the next.
const BETWEEN_OPENINGS: Duration = Duration::from_millis(500);

pub(super) async fn send(
    workspace: &Workspace,
    due: Vec<Due>,
    run: &Arc<Run>,
    pen: Pen,
) -> Result<(), DeliveryError> {
    if due.is_empty() {
        return Ok(());
    }
    let post = match open(workspace, due, run, pen)? {
        Ok(post) => Arc::new(post),
        Err(why) => {
            run.fault(why);
            return Ok(());
        }
    };
    let waiting = lock(&post.queue).len();
    let most = workspace.mail.as_ref().map_or(1, |mail| mail.sessions);
    let sessions = most.min(u32::try_from(waiting).unwrap_or(most));
    let mut tasks = JoinSet::new();
    for number in 0..sessions {
        tasks.spawn(session(Arc::clone(&post), number));
    }
    let mut reasons = Vec::new();
    while let Some(ended) = tasks.join_next().await {
        match ended.expect("a session does not panic") {
            Ok(Some(reason)) => reasons.push(reason),
            Ok(None) => {}
            // the writer tells why
            Err(Unrecorded) => return Ok(()),
        }
    }
    post.leave_rest(reasons.pop()).await;
    Ok(())
}

/// Everything that the sessions need, or why it cannot be had.
fn open(
    workspace: &Workspace,
    due: Vec<Due>,
    run: &Arc<Run>,
    pen: Pen,
) -> Result<Result<Post, String>, DeliveryError> {
    let Some(settings) = &workspace.mail else {
        let none = "mail waits to be sent, but wingtide.toml has no [mail]";
        return Ok(Err(none.to_owned()));
    };
    let writing = match writing(workspace)? {
        Ok(writing) => writing,
        Err(why) => return Ok(Err(why)),
    };
    let server = match Server::of(settings) {
        Ok(server) => server,
        Err(why) => return Ok(Err(why)),
    };
    Ok(Ok(Post {
        run: Arc::clone(run),
        pen,
        server,
        writing,
        store_key: StoreKey::open(&workspace.root)?,
        pace: Pace::per_minute(settings.per_minute),
        queue: Mutex::new(due.into()),
        shelf: Mutex::new(Shelf {
            conn: tables::open(&workspace.root)?,
            current: None,
        }),
    }))
}

/// What holds for all mail of the workspace, or why there can be none.
///
/// # Errors
/// [`DeliveryError`] where a template does not hold.
pub(crate) fn writing(workspace: &Workspace) -> Result<Result<Writing, String>, DeliveryError> {
    let Some(settings) = &workspace.mail else {
        return Ok(Err("wingtide.toml has no [mail]".to_owned()));
    };
    let from = &workspace.digest.from;
    let bare = from
        .rsplit('<')
        .next()
        .unwrap_or(from)
        .trim_end_matches('>');
    let sender = settings.bounces.as_deref().unwrap_or(bare);
    let bounces = match sender.parse() {
        Ok(address) => address,
        Err(e) => return Ok(Err(format!("{sender:?} is no mail address: {e}"))),
    };
    let signer = match settings.dkim.as_ref().map(signing::signer).transpose() {
        Ok(signer) => signer,
        Err(why) => return Ok(Err(why)),
    };
    let leave_at = workspace.service.public_url.clone();
    Ok(Ok(Writing::new(bounces, leave_at, signer)?))
}

/// One session; gives why it ended where mails are left that it could not send.
async fn session(post: Arc<Post>, number: u32) -> Result<Option<String>, Unrecorded> {
    let (mut open, mut settled, mut failures) = (None, None, 0);
    let reason = loop {
        if post.pace.is_limited() {
            post.pen.step(settled.take(), None).done().await?;
        }
        if post.is_over() || !post.pace.turn(&post.run.hands).await {
            break None;
        }
        let session = match ready(open.take(), &post, &mut failures).await {
            Ok(session) => session,
            Err(why) => break Some(why),
        };
        let (result, session) = one(&post, number, settled.take(), session).await?;
        if result.as_ref().is_some_and(|r| r.went_wrong_for_us) {
            failures += 1;
        } else {
            failures = 0;
        }
        let why = result.as_ref().map(|r| r.settled.answer.clone());
        settled = result.map(|r| r.settled);
        open = Some(session);
        if failures >= OPENINGS {
            break why;
        }
    };
    post.pen.step(settled, None).done().await?;
    if let Some(session) = open {
        session.close().await;
    }
    Ok(reason)
}

/// A session that can be used: the one at hand or a new one.
async fn ready(open: Option<Session>, post: &Post, failures: &mut u32) -> Result<Session, String> {
    if let Some(session) = open.filter(Session::is_usable) {
        return Ok(session);
    }
    loop {
        let NoSession { why, for_good } = match post.server.open().await {
            Ok(session) => return Ok(session),
            Err(none) => none,
        };
        *failures += 1;
        if for_good || *failures >= OPENINGS || post.is_over() {
            return Err(why);
        }
        tokio::time::sleep(BETWEEN_OPENINGS * *failures).await;
    }
}

/// What came of one mail.
struct Tried {
    settled: Settled,
    went_wrong_for_us: bool,
}

/// Takes the next mail and sends it. It is marked as being sent, and the one before as sent, in
/// one step, during which it is written.
async fn one(
    post: &Post,
    number: u32,
    settled: Option<Settled>,
    mut session: Session,
) -> Result<(Option<Tried>, Session), Unrecorded> {
    let next = lock(&post.queue).pop_front();
    let Some(due) = next else {
        post.pen.step(settled, None).done().await?;
        return Ok((None, session));
    };
    let taken = Taken {
        id: due.id,
        session: number,
        at: post.run.now(),
    };
    let committing = post.pen.step(settled, Some(taken));
    let letter = post.write(&due);
    if !committing.done().await? {
        return Ok((None, session));
    }
    let (run, which) = (&post.run, (due.id, due.tries + 1));
    let letter = match letter {
        Ok(letter) => letter,
        Err(error) => {
            let settled = run.refused(due.id, error.to_string(), false);
            return Ok((Some(tried(settled)), session));
        }
    };
    let result = match session.send(&letter).await {
        Ok(answer) => tried(run.sent(due.id, answer)),
        Err(NotSent::ForGood { why, no_mailbox }) => tried(run.refused(due.id, why, no_mailbox)),
        Err(NotSent::ForNow(why)) => tried(run.later(which, why, Later::default())),
        Err(NotSent::Unanswered(why)) => {
            let more = Later {
                in_doubt: true,
                ..Later::default()
            };
            tried(run.later(which, format!("{why}: it may have arrived"), more))
        }
        Err(NotSent::Way(why)) => Tried {
            settled: run.later(which, why, Later::default()),
            went_wrong_for_us: true,
        },
    };
    Ok((Some(result), session))
}

fn tried(settled: Settled) -> Tried {
    Tried {
        settled,
        went_wrong_for_us: false,
    }
}

impl Post {
    fn is_over(&self) -> bool {
        self.run.hands.stopped() || lock(&self.queue).is_empty()
    }

    fn write(&self, due: &Due) -> Result<Written, DeliveryError> {
        let (letter, queued_at) = self.letter(due.contents)?;
        let reader = due.reader.unwrap_or_default();
        let token = self.store_key.token(reader, &due.recipient);
        let choices = due.subscribes.then(|| {
            // from the digest's own time on, so that a later try sends the same
            let ends = queued_at + link::CHOICES_S;
            let claim = link::Claim { reader, ends };
            link::token(&self.store_key, Purpose::Choices, claim, &[&due.recipient])
        });
        let reader = Reader {
            address: &due.address,
            name: due.name.as_deref(),
            token: &token,
            choices: choices.as_deref(),
            mark: &due.mark,
        };
        Ok(letter.to(reader, &self.writing)?)
    }

    fn letter(&self, contents: i64) -> Result<(Arc<Letter>, i64), DeliveryError> {
        let mut shelf = lock(&self.shelf);
        if let Some((_, at, letter)) = shelf.current.as_ref().filter(|(id, ..)| *id == contents) {
            return Ok((Arc::clone(letter), *at));
        }
        let (found, queued_at): (MailContents, i64) = due::contents(&shelf.conn, contents)?;
        let date = DateTime::from_timestamp(queued_at, 0).unwrap_or_default();
        let letter = Arc::new(Letter::of(&found, date)?);
        shelf.current = Some((contents, queued_at, Arc::clone(&letter)));
        Ok((letter, queued_at))
    }

    /// Where all sessions ended for want of the server, what is left waits as what was tried does.
    async fn leave_rest(&self, reason: Option<String>) {
        let rest = std::mem::take(&mut *lock(&self.queue));
        let Some(reason) = reason.filter(|_| !rest.is_empty()) else {
            return;
        };
        self.run
            .fault(format!("{reason}; {} mails wait", rest.len()));
        let mut steps = Vec::with_capacity(rest.len());
        for due in rest {
            let at = self.run.now();
            let (id, session) = (due.id, 0);
            steps.push(self.pen.step(None, Some(Taken { id, session, at })));
            let tried = (due.id, due.tries + 1);
            let settled = self.run.later(tried, reason.clone(), Later::default());
            steps.push(self.pen.step(Some(settled), None));
        }
        for step in steps {
            if step.done().await.is_err() {
                return;
            }
        }
    }
}
