//! `wingtide set NAME --drawings DIR`

use crate::cli::{Failure, Streams};
use crate::drawing;
use crate::lesson::Lesson;
use crate::whole_file;
use std::path::Path;

/// Writes the line drawings of a set, making the folder where it is missing.
pub fn run(folder: &Path, lesson: &Lesson<'_>, streams: &mut Streams) -> Result<(), Failure> {
    let drawings = drawing::of(lesson);
    if drawings.is_empty() {
        let id = &lesson.set.id;
        let failure = Failure::new(format!(
            "there is nothing to draw in the set \"{id}\": no two members that are about have the same proportions stated"
        ));
        return Err(failure.hint("a [member.proportions] states them"));
    }
    let cannot = |path: &Path, e: std::io::Error| {
        Failure::new(format!("cannot write {}: {e}", path.display()))
    };
    std::fs::create_dir_all(folder).map_err(|e| cannot(folder, e))?;
    for drawing in drawings {
        let path = folder.join(&drawing.file);
        whole_file::write(&path, drawing.svg.as_bytes()).map_err(|e| cannot(&path, e))?;
        writeln!(streams.out, "{}", path.display())?;
    }
    Ok(())
}
