//! Help in the columns of the screen: each text comes on one line, however long, and is folded
//! beside the option that it tells of.

use crate::columns::wrap;
use unicode_width::UnicodeWidthStr;

/// A help text with no line wider than `width`, as far as options and their names leave room.
pub fn folded(text: &str, width: usize) -> String {
    let lines: Vec<String> = text.lines().map(|line| fold(line, width)).collect();
    lines.join("\n") + if text.ends_with('\n') { "\n" } else { "" }
}

fn fold(line: &str, width: usize) -> String {
    if line.width() <= width {
        return line.to_owned();
    }
    let (head, told) = line.split_at(told_from(line));
    wrap(told, head, &" ".repeat(head.width()), width)
}

/// Where what is told begins: behind the first gap of two blanks or more, else behind the indent.
fn told_from(line: &str) -> usize {
    let blanks = |from: usize| line[from..].len() - line[from..].trim_start().len();
    let indent = blanks(0);
    match line[indent..].find("  ") {
        Some(gap) => indent + gap + blanks(indent + gap),
        None => indent,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn long_texts_go_on_below_themselves() {
        let help = "Do it\n\nOptions:\n  --one <A>  Some words that are too many for a line\n  -h         Help\n";
        assert_eq!(
            folded(help, 32),
            "Do it\n\nOptions:\n  --one <A>  Some words that are\n             too many for a line\n  -h         Help\n"
        );
        assert_eq!(
            folded("    a text without option", 16),
            "    a text\n    without\n    option"
        );
    }
}
