//! The most that goes out in a minute.

use super::{Hands, lock};
use std::sync::Mutex;
use std::time::Duration;
use tokio::time::{Instant, sleep};

/// Gives out turns, evenly spaced.
pub(super) struct Pace {
    every: Option<Duration>,
    next: Mutex<Option<Instant>>,
}

/// How often a wait looks whether it is to end.
const LOOK: Duration = Duration::from_millis(100);

impl Pace {
    /// So many a minute; as many as go where None.
    pub fn per_minute(most: Option<u32>) -> Self {
        Pace {
            every: most.map(|most| Duration::from_secs(60) / most.max(1)),
            next: Mutex::new(None),
        }
    }

    /// Whether turns may have to be waited for.
    pub fn is_limited(&self) -> bool {
        self.every.is_some()
    }

    /// Waits for a turn; false where the run is to end first.
    pub async fn turn(&self, hands: &Hands) -> bool {
        let Some(at) = self.reserve() else {
            return !hands.stopped();
        };
        loop {
            if hands.stopped() {
                return false;
            }
            let left = at.saturating_duration_since(Instant::now());
            if left.is_zero() {
                return true;
            }
            sleep(left.min(LOOK)).await;
        }
    }

    fn reserve(&self) -> Option<Instant> {
        let every = self.every?;
        let mut next = lock(&self.next);
        let at = next.map_or_else(Instant::now, |at| at.max(Instant::now()));
        *next = Some(at + every);
        Some(at)
    }
}
