//! When a delivery is tried again.

use std::time::Duration;

/// The wait before the second try; it doubles from try to try. Greylisting servers want some
/// minutes (RFC 6647, 4.5).
const FIRST: Duration = Duration::from_secs(60);
/// The longest wait of our own.
const LONGEST: Duration = Duration::from_secs(6 * 3600);
/// Tries in all: 1 min doubling to 6 h comes to two days, after which a weekly digest is old. They
/// are counted, not timed, so that a clock that jumps ends none of them.
pub const TRIES: u32 = 17;
/// The longest wait that a receiver may ask for.
const LONGEST_ASKED: Duration = Duration::from_secs(24 * 3600);

/// The wait before the next try after so many, at least as long as the receiver asked for; None
/// where there is to be none.
pub fn wait(tries: u32, asked: Option<Duration>) -> Option<Duration> {
    let asked = asked.unwrap_or_default();
    if tries >= TRIES || asked > LONGEST_ASKED {
        return None;
    }
    let factor = 2_u32.saturating_pow(tries.saturating_sub(1));
    Some(FIRST.saturating_mul(factor).min(LONGEST).max(asked))
}

/// Is it time, by a clock that may have been put back since the last try?
pub fn is_due(now: i64, due_at: i64, tried_at: Option<i64>) -> bool {
    now >= due_at || tried_at.is_some_and(|tried| now < tried)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn waits_double_within_two_days() {
        let minutes = |tries| wait(tries, None).map(|w| w.as_secs() / 60);
        let first: Vec<_> = (1..=5).filter_map(minutes).collect();
        assert_eq!(first, [1, 2, 4, 8, 16]);
        assert_eq!(minutes(TRIES - 1), Some(360));
        assert_eq!(minutes(TRIES), None);
        let all: u64 = (1..TRIES).filter_map(minutes).sum();
        assert!((48..=52).contains(&(all / 60)), "{all} minutes");
    }

    #[test]
    fn a_receiver_may_ask_for_longer_but_not_for_ever() {
        let asked = |s| wait(1, Some(Duration::from_secs(s)));
        assert_eq!(asked(30), Some(FIRST));
        assert_eq!(asked(3600), Some(Duration::from_secs(3600)));
        assert_eq!(asked(86_401), None);
    }

    #[test]
    fn a_clock_put_back_delays_nothing() {
        assert!(!is_due(1000, 1060, Some(1000)));
        assert!(is_due(1060, 1060, Some(1000)));
        assert!(is_due(999, 1060, Some(1000)));
        assert!(!is_due(999, 1060, None));
    }
}
