//! `sensitive` and `coarsen_km` of species and sites.

use config::sensitive::Sensitive;
use config::settings::Workspace;
use std::io;
use std::path::Path;

fn parse(site: &str, species: &str) -> Result<Workspace, config::ConfigError> {
    let text = format!(
        "[workspace]\nname = \"Skerrow Ness\"\n[[site]]\nid = \"long-bank\"\nname = \"Long Bank\"\n\
         latitude = 54.63\nlongitude = -0.41\ntime_zone = \"Europe/London\"\n\
         region = \"western-palearctic\"\n{site}\n\
         [[species]]\nscientific = \"Sterna dougallii\"\n{species}\n"
    );
    let none = |_: &Path| Err(io::ErrorKind::NotFound.into());
    config::parse(&text, Path::new("/reserve"), none)
}

fn read(lines: &str) -> [Option<Sensitive>; 2] {
    let workspace = parse(lines, lines).unwrap();
    [workspace.sites[0].sensitive, workspace.species[0].sensitive]
}

#[test]
fn nothing_is_kept_unless_said() {
    assert_eq!(read(""), [None; 2]);
}

#[test]
fn withheld_and_coarsened() {
    assert_eq!(
        read("sensitive = \"withhold\""),
        [Some(Sensitive::Withhold); 2]
    );
    let usual = Some(Sensitive::Coarsen { km: 10.0 });
    assert_eq!(read("sensitive = \"coarsen\""), [usual; 2]);
    let stated = Some(Sensitive::Coarsen { km: 2.5 });
    assert_eq!(
        read("sensitive = \"coarsen\"\ncoarsen_km = 2.5"),
        [stated; 2]
    );
}

#[test]
fn what_does_not_make_sense_is_refused() {
    for (lines, said) in [
        (
            "sensitive = \"hide\"",
            "unknown sensitive \"hide\" in [[site]]; expected withhold or coarsen",
        ),
        (
            "sensitive = true",
            "wingtide.toml line 10: sensitive in [[site]] is",
        ),
        (
            "sensitive = \"withhold\"\ncoarsen_km = 5",
            "coarsen_km in [[site]] needs sensitive = \"coarsen\" beside it",
        ),
        (
            "coarsen_km = 5",
            "coarsen_km in [[site]] needs sensitive = \"coarsen\" beside it",
        ),
        (
            "sensitive = \"coarsen\"\ncoarsen_km = 0",
            "expected kilometres from 1 to 200",
        ),
        (
            "sensitive = \"coarsen\"\ncoarsen_km = \"far\"",
            "expected kilometres from 1 to 200",
        ),
    ] {
        let wrong = parse(lines, "").unwrap_err().to_string();
        assert!(wrong.contains(said), "{said}: {wrong}");
        assert_eq!(wrong.lines().count(), 1, "{wrong}");
    }
}
