//! Numbers for those who watch machines, in Prometheus' text format.

use super::runs::Outcome;
use super::schedule::Job;
use chrono::TimeDelta;
use metrics_exporter_prometheus::{PrometheusBuilder, PrometheusHandle, PrometheusRecorder};

/// The numbers of one service.
pub(super) struct Metrics {
    recorder: PrometheusRecorder,
    handle: PrometheusHandle,
}

/// Numbers that are looked up when they are asked for.
#[derive(Debug, Clone, Default)]
pub(super) struct Looked {
    /// Whether all is well.
    pub healthy: bool,
    /// Of each job: when it ran last without failing and when it is due next, seconds since 1970.
    pub jobs: Vec<(&'static str, Option<i64>, Option<i64>)>,
    /// Deliveries by state.
    pub deliveries: Vec<(&'static str, usize)>,
    /// Sentences that wait for the keeper.
    pub untold: usize,
    /// What the store takes on the disk.
    pub bytes: u64,
}

impl Default for Metrics {
    fn default() -> Self {
        let recorder = PrometheusBuilder::new().build_recorder();
        let handle = recorder.handle();
        let metrics = Metrics { recorder, handle };
        metrics.describe();
        metrics
    }
}

impl Metrics {
    fn describe(&self) {
        metrics::with_local_recorder(&self.recorder, || {
            metrics::describe_counter!("wingtide_runs_total", "Runs that ended, by outcome.");
            metrics::describe_counter!("wingtide_run_seconds_total", "Time that runs took.");
            metrics::describe_gauge!("wingtide_healthy", "1 where all is well, else 0.");
            metrics::describe_gauge!(
                "wingtide_last_success_timestamp_seconds",
                "When a job last did its work."
            );
            metrics::describe_gauge!("wingtide_next_run_timestamp_seconds", "When a job is due.");
            metrics::describe_gauge!("wingtide_deliveries", "Deliveries by state.");
            metrics::describe_gauge!(
                "wingtide_untold_troubles",
                "Things that the keeper has not been told yet."
            );
            metrics::describe_gauge!("wingtide_store_bytes", "What the store takes on the disk.");
        });
    }

    /// A run has ended.
    pub(super) fn ended(&self, job: Job, outcome: Outcome, took: TimeDelta) {
        // a clock that was set back meanwhile must not count backwards
        let seconds = u64::try_from(took.num_seconds()).unwrap_or(0);
        metrics::with_local_recorder(&self.recorder, || {
            let (job, outcome) = (job.name(), outcome.name());
            metrics::counter!("wingtide_runs_total", "job" => job, "outcome" => outcome)
                .increment(1);
            metrics::counter!("wingtide_run_seconds_total", "job" => job).increment(seconds);
        });
    }

    /// Keeps what is held of it small.
    pub(super) fn upkeep(&self) {
        self.handle.run_upkeep();
    }

    /// All numbers.
    pub(super) fn text(&self, looked: &Looked) -> String {
        metrics::with_local_recorder(&self.recorder, || {
            metrics::gauge!("wingtide_healthy").set(f64::from(u8::from(looked.healthy)));
            for (job, last, next) in &looked.jobs {
                let times = [
                    ("wingtide_last_success_timestamp_seconds", last),
                    ("wingtide_next_run_timestamp_seconds", next),
                ];
                for (name, at) in times {
                    if let Some(at) = at {
                        metrics::gauge!(name, "job" => *job).set(*at as f64);
                    }
                }
            }
            for (state, number) in &looked.deliveries {
                metrics::gauge!("wingtide_deliveries", "state" => *state).set(*number as f64);
            }
            metrics::gauge!("wingtide_untold_troubles").set(looked.untold as f64);
            metrics::gauge!("wingtide_store_bytes").set(looked.bytes as f64);
        });
        self.handle.render()
    }
}
