//! A folder of one's own set files: each beside ours, or by its id in its place.

use config::ConfigError;
use config::look_alikes::shipped;
use config::settings::Workspace;
use tempfile::TempDir;

const SETTINGS: &str = r#"
[workspace]
name = "Skerrow Ness"
[[site]]
id = "long-bank"
name = "Long Bank"
latitude = 54
longitude = -0.41
time_zone = "Europe/London"
region = "western-palearctic"
[[species]]
scientific = "Sterna hirundo"
[[species]]
scientific = "Sterna dougallii"
[[species]]
scientific = "Anthus pratensis"
[look_alikes]
folder = "sets"
"#;

fn set(id: &str, members: [&str; 2]) -> String {
    let member = |species: &str| {
        format!(
            "[[member]]\nspecies = \"{species}\"\nplumages = [{{ region = \"nearctic\", \
             plumage = \"adult\", months = [5] }}]\n"
        )
    };
    let members = members.map(member).concat();
    format!("id = \"{id}\"\ntitle = \"Our {id}\"\nsource = \"ours\"\nreview = \"ours\"\n{members}")
}

fn loaded(files: &[(&str, String)]) -> Result<Workspace, ConfigError> {
    let dir = TempDir::new().unwrap();
    std::fs::write(dir.path().join(config::FILE_NAME), SETTINGS).unwrap();
    std::fs::create_dir(dir.path().join("sets")).unwrap();
    for (name, text) in files {
        std::fs::write(dir.path().join("sets").join(name), text).unwrap();
    }
    config::load(dir.path())
}

fn terns() -> String {
    set("pale-terns", ["Sterna hirundo", "Sterna dougallii"])
}

#[test]
fn a_file_overrides_ours_by_its_id_or_extends_it() {
    let dune = set("dune-birds", ["Anthus pratensis", "Sterna hirundo"]);
    let gulls = set("big-gulls", ["Larus argentatus", "Larus fuscus"]);
    let workspace = loaded(&[
        ("a-file.toml", terns()),
        ("dune.toml", dune),
        ("gulls.toml", gulls),
        ("notes.txt", "no set".to_owned()),
    ])
    .unwrap_or_else(|e| panic!("{e}"));
    let title = |id: &str| {
        let found = workspace.library.iter().find(|s| s.id == id);
        found.map(|s| s.title.clone())
    };
    assert_eq!(title("pale-terns").as_deref(), Some("Our pale-terns"));
    assert_eq!(title("big-gulls").as_deref(), Some("Our big-gulls"));
    assert_eq!(workspace.library.len(), shipped().unwrap().len() + 2);
    // those with two members among the species are used, as of the shipped ones
    let used: Vec<&str> = workspace
        .look_alikes
        .iter()
        .map(|s| s.id.as_str())
        .collect();
    assert_eq!(used, ["pale-terns", "dune-birds"]);
    assert_eq!(workspace.look_alikes[0].title, "Our pale-terns");
}

#[test]
fn what_is_wrong_in_the_folder_is_said_with_its_file() {
    let said = |files: &[(&str, String)]| loaded(files).map(|_| ()).unwrap_err().to_string();
    assert_eq!(
        said(&[("a.toml", terns()), ("b.toml", terns())]),
        "wingtide.toml line 18: sets/b.toml has the id \"pale-terns\" of another file there"
    );
    assert_eq!(
        said(&[("a.toml", terns().replace("adult", "adlut"))])
            .lines()
            .next()
            .unwrap()
            .split(';')
            .next()
            .unwrap(),
        "sets/a.toml line 7, column 46: unknown plumage \"adlut\" in plumages of [[member]]"
    );
    let missing = TempDir::new().unwrap();
    std::fs::write(missing.path().join(config::FILE_NAME), SETTINGS).unwrap();
    assert_eq!(
        config::load(missing.path()).unwrap_err().to_string(),
        "wingtide.toml line 18: folder \"sets\" of [look_alikes] is not there"
    );
}
