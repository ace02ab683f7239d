//! How the program is called, so that commands in messages can be pasted.

use std::ffi::OsString;
use std::path::Path;

/// Commands that work on a workspace and that messages tell people to run.
const ON_A_WORKSPACE: [&str; 4] = ["load", "fit", "week", "deliveries"];

/// "wingtide", with the folder where another than the one that people are in was named.
pub fn name(dir: &Path) -> String {
    match dir.to_str() {
        Some(".") => "wingtide".to_owned(),
        _ => format!("wingtide --dir {}", quoted(&dir.to_string_lossy())),
    }
}

/// The command as it was typed, the program's name first.
pub fn typed(args: &[OsString]) -> String {
    let words = args.iter().skip(1).map(|word| word.to_string_lossy());
    words.fold("wingtide".to_owned(), |command, word| {
        format!("{command} {}", quoted(&word))
    })
}

/// A word as a POSIX shell reads it back.
fn quoted(word: &str) -> String {
    match !word.is_empty() && word.chars().all(is_plain) {
        true => word.to_owned(),
        false => format!("'{}'", word.replace('\'', "'\\''")),
    }
}

fn is_plain(c: char) -> bool {
    c.is_alphanumeric() || "/._-+:@%,=".contains(c)
}

/// A message of a crate that knows of no folder, with its commands made whole.
pub fn complete(message: &str, dir: &Path) -> String {
    let name = name(dir);
    ON_A_WORKSPACE
        .iter()
        .fold(message.to_owned(), |text, command| {
            text.replace(&format!("wingtide {command}"), &format!("{name} {command}"))
        })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn commands_name_the_folder_where_it_was_named() {
        let said = "nothing is loaded yet: run `wingtide load` first";
        assert_eq!(complete(said, Path::new(".")), said);
        assert_eq!(
            complete(said, Path::new("my/counts")),
            "nothing is loaded yet: run `wingtide --dir my/counts load` first"
        );
        assert_eq!(
            name(Path::new("it's mine")),
            r"wingtide --dir 'it'\''s mine'"
        );
    }

    #[test]
    fn commands_are_told_as_they_were_typed() {
        let words = [
            "target/wingtide",
            "--dir",
            "mine",
            "curve",
            "--species=Little Stint",
            "",
        ];
        assert_eq!(
            typed(&words.map(OsString::from)),
            "wingtide --dir mine curve '--species=Little Stint' ''"
        );
    }
}
