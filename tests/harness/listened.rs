//! What is logged in this process, so that a test can search it for what must not stand there.

use std::io;
use std::sync::{Mutex, OnceLock, PoisonError};
use tracing_subscriber::EnvFilter;

static HEARD: Mutex<Vec<u8>> = Mutex::new(Vec::new());

struct Ear;

impl io::Write for Ear {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let mut heard = HEARD.lock().unwrap_or_else(PoisonError::into_inner);
        heard.extend_from_slice(bytes);
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

/// Listens from now on, to all that our crates log, down to the last detail.
pub fn listen() {
    static ONCE: OnceLock<()> = OnceLock::new();
    ONCE.get_or_init(|| {
        let log = tracing_subscriber::fmt()
            .with_env_filter(EnvFilter::new("trace"))
            .with_ansi(false)
            .with_writer(|| Ear);
        log.try_init().expect("nobody else listens in this process");
    });
}

/// All that was heard so far.
pub fn heard() -> String {
    let heard = HEARD.lock().unwrap_or_else(PoisonError::into_inner);
    String::from_utf8_lossy(&heard).into_owned()
}
