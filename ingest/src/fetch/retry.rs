//! Whether to ask again, and when: by kind of failure.

use super::failure::{After, Failure};
use chrono::{DateTime, Utc};
use config::settings::FetchSettings;
use std::time::Duration;

/// The wait before the next try after `tries` of them, or the failure that ends the asking. The
/// wait doubles from try to try, and is what the server asks for where that is longer.
pub(super) fn wait(
    failure: Failure,
    tries: u32,
    settings: &FetchSettings,
    now: DateTime<Utc>,
) -> Result<Duration, Failure> {
    let asked = match &failure {
        Failure::Transient(_) => Duration::ZERO,
        Failure::Later { after, .. } => after.map_or(Duration::ZERO, |after| after.from(now)),
        _ => return Err(failure),
    };
    if tries >= settings.tries {
        return Err(failure);
    }
    match failure {
        Failure::Later { status, .. } if asked > settings.longest_wait => Err(Failure::TooLate {
            status,
            wait: asked,
        }),
        _ => Ok(doubled(settings, tries).max(asked)),
    }
}

fn doubled(settings: &FetchSettings, tries: u32) -> Duration {
    let factor = 2_u32.saturating_pow(tries.saturating_sub(1));
    settings
        .wait
        .saturating_mul(factor)
        .min(settings.longest_wait)
}

impl After {
    /// Reads the field's value: seconds, or a date (RFC 9110, 10.2.3).
    pub(super) fn read(value: &str) -> Option<After> {
        let value = value.trim();
        let seconds = value.parse().ok().map(Duration::from_secs);
        let date = || httpdate::parse_http_date(value).ok();
        let wait = seconds.map(After::Wait);
        wait.or_else(|| date().map(|at| After::At(at.into())))
    }

    pub(super) fn from(self, now: DateTime<Utc>) -> Duration {
        match self {
            After::Wait(wait) => wait,
            // a time that has passed asks for no wait
            After::At(at) => (at - now).to_std().unwrap_or_default(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use reqwest::StatusCode;

    const SETTINGS: FetchSettings = FetchSettings {
        timeout: Duration::from_secs(1),
        max_mib: 1,
        tries: 4,
        wait: Duration::from_secs(2),
        longest_wait: Duration::from_secs(100),
        redirects: 1,
        private: false,
    };

    fn later(after: Option<After>) -> Failure {
        let status = StatusCode::SERVICE_UNAVAILABLE;
        Failure::Later { status, after }
    }

    fn seconds(failure: Failure, tries: u32) -> Option<u64> {
        let now = "1994-11-06T08:49:07Z".parse().unwrap();
        wait(failure, tries, &SETTINGS, now)
            .ok()
            .map(|w| w.as_secs())
    }

    #[test]
    fn waits_double_until_the_tries_are_used_up() {
        let waits: Vec<_> = (1..=4).map(|tries| seconds(later(None), tries)).collect();
        assert_eq!(waits, [Some(2), Some(4), Some(8), None]);
    }

    /// The date is the example of RFC 9110, 5.6.7.
    #[test]
    fn a_server_may_ask_for_a_longer_wait() {
        let asked = |value| later(Some(After::read(value).unwrap()));
        assert_eq!(seconds(asked("30"), 1), Some(30));
        assert_eq!(seconds(asked("1"), 1), Some(2));
        assert_eq!(seconds(asked("Sun, 06 Nov 1994 08:49:37 GMT"), 1), Some(30));
        assert_eq!(seconds(asked("Sun, 06 Nov 1994 08:00:00 GMT"), 1), Some(2));
        assert_eq!(seconds(asked("101"), 1), None);
        assert_eq!(After::read("soon"), None);
    }

    #[test]
    fn a_refusal_is_not_asked_again() {
        assert_eq!(seconds(Failure::Refused(StatusCode::NOT_FOUND), 1), None);
        assert_eq!(seconds(Failure::TooLong { max_mib: 1 }, 1), None);
    }
}
