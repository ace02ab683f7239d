//! Whether the service does its work.

use super::runs::{self, Outcome, Run};
use super::schedule::Job;
use super::steps::Step;
use super::tables::TablesError;
use rusqlite::Connection;
use std::sync::Mutex;
use std::time::{Duration, Instant};

/// The loop looks at the clock twice a minute.
const BEATS: Duration = Duration::from_secs(180);
/// A step with its tries; ten million counts take minutes.
const STEP: Duration = Duration::from_secs(6 * 3600);

/// Signs of life of the loop, by a clock that nobody sets.
#[derive(Debug)]
pub(super) struct Pulse(Mutex<Signs>);

#[derive(Debug)]
struct Signs {
    beat: Instant,
    step: Option<(Step, Instant)>,
    keeper_from: Option<Instant>,
}

impl Default for Pulse {
    fn default() -> Self {
        Pulse(Mutex::new(Signs {
            beat: Instant::now(),
            step: None,
            keeper_from: None,
        }))
    }
}

impl Pulse {
    /// The loop goes round.
    pub(super) fn beat(&self) {
        super::held(&self.0).beat = Instant::now();
    }

    /// A run has reached a step.
    pub(super) fn reach(&self, step: Step) {
        super::held(&self.0).step = Some((step, Instant::now()));
    }

    /// A run has ended.
    pub(super) fn rest(&self) {
        let mut signs = super::held(&self.0);
        signs.step = None;
        signs.beat = Instant::now();
    }

    /// Whether the last try to reach the keeper is long enough ago.
    pub(super) fn keeper_may_be_tried(&self) -> bool {
        super::held(&self.0)
            .keeper_from
            .is_none_or(|from| Instant::now() >= from)
    }

    /// The keeper could not be reached.
    pub(super) fn try_keeper_after(&self, wait: Duration) {
        super::held(&self.0).keeper_from = Some(Instant::now() + wait);
    }

    /// What is stuck, in a sentence.
    pub(super) fn stuck(&self) -> Option<String> {
        let signs = super::held(&self.0);
        match signs.step {
            Some((step, since)) if since.elapsed() > STEP => {
                let hours = since.elapsed().as_secs() / 3600;
                Some(format!(
                    "The step \"{}\" has taken {hours} hours.",
                    step.name()
                ))
            }
            None if signs.beat.elapsed() > BEATS => {
                Some("The schedule has not been looked at for minutes.".to_owned())
            }
            _ => None,
        }
    }
}

/// What is wrong, a sentence each; nothing where all is well.
///
/// # Errors
/// [`TablesError`] where the tables cannot be read, which is no good sign either.
pub(super) fn reasons(conn: &Connection, pulse: &Pulse) -> Result<Vec<String>, TablesError> {
    let digest = runs::last_of(conn, Job::Digest)?;
    let failed = digest
        .filter(|run| run.outcome == Outcome::Failed)
        .map(failed);
    Ok(pulse.stuck().into_iter().chain(failed).collect())
}

fn failed(run: Run) -> String {
    let at = run.due.scheduled_for.format("%-d %B %Y, %H:%M UTC");
    format!("The digest of {at} was not done.")
}
