//! `wingtide serve`

use super::args::{LogForm, Serve};
use super::{Failure, Streams};
use crate::service::desk::entry;
use crate::service::lock::Lock;
use crate::service::outgoing::Channels;
use crate::service::stop::{Stop, on_signals};
use crate::service::{Hands, Service};
use chrono::Utc;
use config::settings::Workspace;
use std::net::SocketAddr;
use std::path::Path;
use std::sync::Arc;
use std::time::Duration;
use tokio::net::TcpListener;
use tracing_subscriber::EnvFilter;

/// What the log tells of is set by this variable of the environment, as "warn" or "debug".
const LOG_FILTER: &str = "WINGTIDE_LOG";
/// Threads that wait for the network; work that blocks has its own.
const THREADS: usize = 2;
/// How long the end waits for threads that still block: what they have not landed did not happen.
const LAST_WAIT: Duration = Duration::from_secs(1);

/// Serves until it is told to stop.
pub fn run(dir: &Path, args: &Serve, streams: &mut Streams) -> Result<(), Failure> {
    let workspace = config::load(dir)?;
    let _lock = Lock::take(&workspace.root, Utc::now())?;
    start_log(args.log);
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(THREADS)
        .enable_all()
        .build()?;
    let listen = args.listen.unwrap_or(workspace.service.listen);
    let ended = runtime.block_on(serve(dir, &workspace, listen, streams));
    runtime.shutdown_timeout(LAST_WAIT);
    ended
}

async fn serve(
    dir: &Path,
    workspace: &Workspace,
    listen: SocketAddr,
    streams: &mut Streams<'_>,
) -> Result<(), Failure> {
    let stop = Stop::default();
    on_signals(&stop)?;
    let listener = TcpListener::bind(listen)
        .await
        .map_err(|why| cannot_listen(listen, &why))?;
    let address = listener.local_addr()?;
    let hands = Hands {
        clock: Arc::new(Utc::now),
        deliver: Arc::new(Channels),
        second: Duration::from_secs(1),
    };
    let more = Channels::pages(dir, workspace, &hands.clock);
    let service = Service::open(dir, workspace, address, hands, stop)?;
    streams.remark(&format!("Serving {}:", workspace.name))?;
    writeln!(streams.err, "  the pages are at http://{address}/")?;
    writeln!(
        streams.err,
        "  the status page is at http://{address}/keeper"
    )?;
    if workspace.service.keeper_token.is_none() {
        let place = Path::new(ingest::STORE_FOLDER).join(entry::FILE);
        let place = place.display();
        streams.remark(&format!(
            "The token that opens the status page stands in {place}."
        ))?;
    }
    service.serve(listener, more).await?;
    Ok(())
}

fn cannot_listen(listen: SocketAddr, why: &std::io::Error) -> Failure {
    Failure::new(format!(
        "the status page cannot be served at {listen}: {why}"
    ))
    .hint("name another address as listen in [service] of wingtide.toml, or with --listen")
}

fn start_log(form: LogForm) {
    let filter = EnvFilter::try_from_env(LOG_FILTER).unwrap_or_else(|_| EnvFilter::new("info"));
    let log = tracing_subscriber::fmt()
        .with_env_filter(filter)
        .with_target(false)
        .with_ansi(false)
        .with_writer(std::io::stderr);
    // where a log was started in this process already, that one goes on
    let _ = match form {
        LogForm::Text => log.try_init(),
        LogForm::Json => log.json().try_init(),
    };
}
