//! Secrets, read where they are used and shown nowhere.

use config::service::Secret;
use secrecy::SecretString;

/// The secret as it stands in the environment or its file; where it cannot be had, why, in a
/// phrase that names the place and never what stands there.
pub fn read(secret: &Secret) -> Result<SecretString, String> {
    let text = match secret {
        Secret::Environment(name) => std::env::var(name)
            .map_err(|_| format!("the environment has no {name}, or it is no UTF-8"))?,
        Secret::File(path) => {
            let text = std::fs::read_to_string(path);
            let mut text = text.map_err(|e| format!("{}: {e}", path.display()))?;
            text.truncate(text.trim_end_matches(['\r', '\n']).len());
            text
        }
    };
    match text.is_empty() {
        true => Err(format!("{} is empty", place(secret))),
        false => Ok(text.into()),
    }
}

/// Where a secret stands.
pub(super) fn place(secret: &Secret) -> String {
    match secret {
        Secret::Environment(name) => name.clone(),
        Secret::File(path) => path.display().to_string(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use secrecy::ExposeSecret;

    #[test]
    fn the_last_line_end_is_no_part_of_a_secret() {
        let dir = tempfile::tempdir().expect("a folder");
        let path = dir.path().join("password");
        std::fs::write(&path, "s3 cret \r\n").expect("written");
        let read_back = read(&Secret::File(path.clone())).expect("read");
        assert_eq!(read_back.expose_secret(), "s3 cret ");
        assert!(!format!("{read_back:?}").contains("s3"));
        std::fs::write(&path, "\n").expect("written");
        let said = read(&Secret::File(path)).expect_err("empty");
        assert!(said.ends_with("password is empty"), "{said}");
        let said = read(&Secret::Environment("WINGTIDE_NO_SUCH".into())).expect_err("absent");
        assert!(said.contains("WINGTIDE_NO_SUCH"), "{said}");
    }
}
