//! Which job is due when. The time is an argument throughout, and what ran is kept elsewhere.

use chrono::{DateTime, TimeDelta, Utc};
use chrono_tz::Tz;
use config::cron_line::CronLine;
use config::settings::Workspace;

/// What is done at set times.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Job {
    /// Sources are fetched, loaded and fitted.
    Load,
    /// The same, and then the digest goes out.
    Digest,
}

impl Job {
    /// Both, in the order in which they run when both are due.
    pub const ALL: [Job; 2] = [Job::Load, Job::Digest];

    /// As the tables write it.
    pub fn name(self) -> &'static str {
        match self {
            Job::Load => "load",
            Job::Digest => "digest",
        }
    }

    /// As the tables write it.
    pub(super) fn of(name: &str) -> Option<Job> {
        Job::ALL.into_iter().find(|job| job.name() == name)
    }
}

/// A job whose time has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Due {
    /// What.
    pub job: Job,
    /// The time that has come; the last one, where several went by.
    pub scheduled_for: DateTime<Utc>,
    /// The first of those, where several went by.
    pub first_missed: Option<DateTime<Utc>>,
}

/// The times of all jobs.
#[derive(Debug, Clone)]
pub struct Timetable {
    /// The zone of the times.
    pub zone: Tz,
    load: CronLine,
    digest: CronLine,
}

/// A time that is accounted for may lie so far ahead of the clock, and the clock has only been set
/// back a little (by an hour, or to a zone mistaken for UTC). Beyond it the clock had been wrong,
/// and waiting for it would mean waiting for years.
const SET_BACK: TimeDelta = TimeDelta::days(2);

impl Timetable {
    /// The times of a workspace: in the zone that `[service]` names, else in that of its first
    /// site.
    pub fn of(workspace: &Workspace) -> Self {
        let service = &workspace.service;
        let of_site = || workspace.sites.first().map(|s| s.time_zone);
        Timetable {
            zone: service.time_zone.or_else(of_site).unwrap_or(Tz::UTC),
            load: service.load.clone(),
            digest: service.digest.clone(),
        }
    }

    fn line(&self, job: Job) -> &CronLine {
        match job {
            Job::Load => &self.load,
            Job::Digest => &self.digest,
        }
    }

    /// Whether the job is due, where all its times up to `counted_until` are accounted for. Times
    /// that went by while nothing ran are due once, as the last of them.
    pub fn due(&self, job: Job, counted_until: DateTime<Utc>, now: DateTime<Utc>) -> Option<Due> {
        let first = self
            .next(job, counted_until)
            .filter(|first| *first <= now)?;
        let last = self.line(job).last_between(counted_until, now, self.zone);
        let last = last.unwrap_or(first);
        Some(Due {
            job,
            scheduled_for: last,
            first_missed: (first < last).then_some(first),
        })
    }

    /// The job's first time after an instant.
    pub fn next(&self, job: Job, after: DateTime<Utc>) -> Option<DateTime<Utc>> {
        self.line(job).next_after(after, self.zone)
    }
}

/// Whether an instant that is accounted for lies so far ahead that the clock must have been wrong
/// when it was counted.
pub(super) fn is_of_a_wrong_clock(counted_until: DateTime<Utc>, now: DateTime<Utc>) -> bool {
    counted_until - now > SET_BACK
}
