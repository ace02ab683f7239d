//! How the service is told to stop, and how its parts learn of it.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use tokio::sync::watch;

/// Known to all parts; once it is set it stays.
#[derive(Debug, Clone)]
pub struct Stop {
    set: Arc<watch::Sender<bool>>,
    /// The same for threads that cannot wait for it.
    flag: Arc<AtomicBool>,
}

impl Default for Stop {
    fn default() -> Self {
        Stop {
            set: Arc::new(watch::channel(false).0),
            flag: Arc::default(),
        }
    }
}

impl Stop {
    /// Tells everybody.
    pub fn now(&self) {
        self.flag.store(true, Ordering::Relaxed);
        self.set.send_replace(true);
    }

    /// Was it told?
    pub fn is_set(&self) -> bool {
        self.flag.load(Ordering::Relaxed)
    }

    /// Waits until it is.
    pub async fn wait(&self) {
        let mut told = self.set.subscribe();
        // the sender lives as long as this does
        let _ = told.wait_for(|set| *set).await;
    }

    /// For work that looks now and then.
    pub fn flag(&self) -> Arc<AtomicBool> {
        Arc::clone(&self.flag)
    }
}

/// Stops the service on SIGTERM, which service managers send, and on SIGINT, which Ctrl-C sends.
///
/// # Errors
/// What the system says where it lets nobody listen.
pub fn on_signals(stop: &Stop) -> std::io::Result<()> {
    #[cfg(unix)]
    let mut ended = {
        use tokio::signal::unix::{SignalKind, signal};
        signal(SignalKind::terminate())?
    };
    let stop = stop.clone();
    tokio::spawn(async move {
        #[cfg(unix)]
        tokio::select! {
            _ = ended.recv() => {}
            _ = tokio::signal::ctrl_c() => {}
        }
        #[cfg(not(unix))]
        let _ = tokio::signal::ctrl_c().await;
        stop.now();
    });
    Ok(())
}
