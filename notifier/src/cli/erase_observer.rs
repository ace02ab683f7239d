//! `wingtide erase-observer`

use super::args::EraseObserver;
use super::{Failure, Streams, load};
use crate::words::{count_of, plain_spaces};
use chrono::Utc;
use config::meaning::KeepObservers;
use config::settings::Workspace;
use ingest::report::grouped;
use ingest::{Store, WhoseName};
use std::path::Path;

/// Erases an observer's name, and tells where it may come back from.
pub fn run(dir: &Path, args: &EraseObserver, streams: &mut Streams) -> Result<(), Failure> {
    let workspace = config::load(dir)?;
    let mut store = Store::open_loaded(&workspace.root)?;
    let whose = args.name.as_deref().map_or(WhoseName::All, WhoseName::One);
    let erased = store.erase_observer(whose)?;
    load::rewrite_pages(&workspace, &store, Utc::now())?;
    let name = match whose {
        WhoseName::One(name) => format!("\"{name}\""),
        WhoseName::All => "every name".to_owned(),
    };
    let number = |n: u64, one, many| plain_spaces(&count_of(n as usize, one, many));
    let rows = number(erased.rows, "row", "rows");
    let batches = number(erased.batches, "batch", "batches");
    let texts = match erased.texts {
        0 => String::new(),
        n => format!(
            ", and from other texts as people wrote them: {}",
            grouped(n)
        ),
    };
    streams.tell(&format!(
        "Erased {name} from {rows} of {batches}{texts}. Counts, minutes and the numbers of \
         observers are as they were."
    ))?;
    comes_back(&workspace).map_or(Ok(()), |line| streams.remark(&line))
}

/// The files of the sources are never changed: what a load of them would do.
fn comes_back(workspace: &Workspace) -> Option<String> {
    let sources = workspace.sources.iter();
    let named = sources.filter(|s| s.meaning.columns.observer.is_some());
    let files: Vec<String> = named.map(|s| load::shown(workspace, &s.path)).collect();
    if files.is_empty() {
        return None;
    }
    let files = files.join(", ");
    Some(match workspace.records.keep_observers {
        KeepObservers::None => format!(
            "Your own files are never changed, and may still have it: {files}. No load keeps names \
             (keep_observers in wingtide.toml)."
        ),
        KeepObservers::Initials | KeepObservers::Names => format!(
            "Your own files are never changed, and may still have it: {files}. It comes back when \
             such a file is read anew; take it out there, or write keep_observers = \"none\" in \
             wingtide.toml."
        ),
    })
}
