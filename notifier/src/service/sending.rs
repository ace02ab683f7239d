//! What waits to be sent goes out by itself, run or no run.

use super::Service;
use super::deliver::Sent;
use super::keeper;
use super::retry::{Fault, Kind};
use crate::words;
use std::sync::Arc;
use std::time::Duration;

/// How often what waits is looked at.
const EVERY: Duration = Duration::from_secs(60);

impl Service {
    /// Sends what is due; one at a time.
    pub(super) async fn send(&self) -> Result<Sent, Fault> {
        let _turn = self.sending.lock().await;
        let workspace = self.settings().await.map_err(Fault::lasting)?;
        let sent = self.deliver.send_due(&workspace, &self.clock, &self.stop);
        sent.await
    }
}

/// Looks after what waits until the service stops.
pub(super) async fn rounds(service: Arc<Service>) {
    while !service.stop.is_set() {
        let told = match service.send().await {
            Ok(sent) => troubles(&sent),
            // somebody else sends meanwhile
            Err(fault) if fault.kind == Kind::Busy => Vec::new(),
            Err(fault) => vec![words::stop(&fault.sentence)],
        };
        let now = service.now();
        for sentence in told {
            tracing::warn!("{sentence}");
            let kept = service.tables(move |conn| keeper::keep(conn, &sentence, now));
            service.note(kept.await);
        }
        tokio::select! {
            () = service.sleep(EVERY) => {}
            () = service.stop.wait() => {}
        }
    }
}

/// What of it the keeper is told. What is tried again by itself is none of it.
pub(super) fn troubles(sent: &Sent) -> Vec<String> {
    let deliveries = |n: usize| words::count_of(n, "delivery", "deliveries");
    let mut troubles = Vec::new();
    if sent.refused > 0 {
        troubles.push(format!(
            "{} refused for good: \"wingtide deliveries\" shows them.",
            deliveries(sent.refused)
        ));
    }
    if sent.in_doubt > 0 {
        troubles.push(format!(
            "{} may have arrived twice, since the service ended while they went out.",
            deliveries(sent.in_doubt)
        ));
    }
    troubles.extend(sent.faults.iter().map(|f| words::stop(f)));
    let plain = troubles.iter().map(|t| words::plain_spaces(t));
    plain.collect()
}
