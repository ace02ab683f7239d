//! The commented settings of a new workspace load, with and without their notes.

use std::io;
use std::path::{Path, PathBuf};

#[test]
fn the_template_loads_from_disk() {
    let dir = tempfile::tempdir().unwrap();
    std::fs::write(
        dir.path().join(config::FILE_NAME),
        config::new_workspace_toml(),
    )
    .unwrap();
    let workspace = config::load(dir.path()).unwrap_or_else(|e| panic!("{e}"));
    assert!(workspace.root.is_absolute());
    assert_eq!(workspace.sources[0].path, workspace.root.join("counts.csv"));
    assert_eq!(workspace.digest.title, "This week at My counts");
    let sets: Vec<&str> = workspace
        .look_alikes
        .iter()
        .map(|s| s.id.as_str())
        .collect();
    assert_eq!(sets, ["small-sandpipers"]);
}

/// Every setting that the template shows as a note is a real one.
#[test]
fn the_template_loads_with_its_notes_taken_in() {
    let setting = |line: &str| {
        let bare = line
            .strip_prefix("# ")
            .filter(|l| l.starts_with('[') || l.contains(" = "));
        match bare {
            Some(bare) if !bare.starts_with("Daily") => bare.to_owned(),
            _ => line.to_owned(),
        }
    };
    let text: Vec<String> = config::new_workspace_toml().lines().map(setting).collect();
    let own = "id = \"own\"\ntitle = \"Own\"\nsource = \"us\"\nreview = \"us\"\n\
               [[member]]\nspecies = \"Aa aa\"\nplumages = [{ region = \"nearctic\", plumage = \"male\", months = [5] }]\n[[member]]\nspecies = \"Bb bb\"\nplumages = [{ region = \"nearctic\", plumage = \"male\", months = [5] }]\n";
    let one_site_column = text.join("\n").replace("site = \"my-site\"  ", "# ");
    let workspace = config::parse(&one_site_column, Path::new("/w"), Theirs(own))
        .unwrap_or_else(|e| panic!("{e}\n{one_site_column}"));
    assert_eq!(workspace.sources.len(), 6);
    assert_eq!(workspace.look_alikes.len(), 7);
    assert_eq!(workspace.backtest.mondays.len(), 2);
}

/// A folder without sets, and one set file.
struct Theirs(&'static str);

impl config::SetFiles for Theirs {
    fn text(&self, file: &Path) -> io::Result<String> {
        assert_eq!(file, Path::new("/w/my-set.toml"));
        Ok(self.0.to_owned())
    }

    fn entries(&self, folder: &Path) -> io::Result<Vec<PathBuf>> {
        assert_eq!(folder, Path::new("/w/sets"));
        Ok(vec![folder.join("notes.txt")])
    }
}
