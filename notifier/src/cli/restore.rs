//! `wingtide restore`

use super::args::Restore;
use super::{Failure, Streams, program};
use crate::backup::unpack;
use config::service::Secret;
use config::settings::Workspace;
use std::path::{Path, PathBuf};

/// Restores a workspace, and tells what has to be put back beside it.
pub fn run(dir: &Path, args: &Restore, streams: &mut Streams) -> Result<(), Failure> {
    let into = args.into.as_deref().unwrap_or(dir);
    let restored = unpack(&args.file, into)?;
    writeln!(streams.out, "{}", into.display())?;
    let made = restored.made_at.format("%-d %B %Y, %H:%M UTC");
    streams.remark(&format!(
        "{}, as it was on {made}. It does not know what was sent later: look at \"{} deliveries\" \
         before you start the service.",
        restored.workspace,
        program::name(into)
    ))?;
    let workspace = config::load(into)?;
    for missing in missing(&workspace) {
        writeln!(streams.err, "Put back: {}", missing.display())?;
    }
    Ok(())
}

/// Files that the settings name and that no backup holds.
fn missing(workspace: &Workspace) -> Vec<PathBuf> {
    let files = workspace.sources.iter().filter(|s| s.url.is_none());
    let sources = files.map(|s| s.path.clone());
    let mail = workspace.mail.as_ref();
    let password = mail.and_then(|m| Some(&m.login.as_ref()?.1));
    let posts = workspace.webhooks.iter().filter_map(|w| w.secret.as_ref());
    let secrets = password.into_iter().chain(posts).filter_map(|s| match s {
        Secret::File(path) => Some(path.clone()),
        Secret::Environment(_) => None,
    });
    let key = mail.and_then(|m| Some(m.dkim.as_ref()?.key_file.clone()));
    let all = sources.chain(secrets).chain(key);
    let mut missing: Vec<PathBuf> = all.filter(|path| !path.exists()).collect();
    missing.dedup();
    missing
}
