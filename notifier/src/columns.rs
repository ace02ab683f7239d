//! Text in columns: wrapping and the table of species, for the screen and plain-text mail.

use crate::guidance::types::MemberGuidance;
use crate::words;
use textwrap::{Options, WordSeparator, WordSplitter, WrapAlgorithm};
use unicode_width::UnicodeWidthStr;

const HEADINGS: [&str; 5] = ["", "a visit", "this week", "of the set", "where it stands"];
const GAP: usize = 2;

/// Wraps to so many columns, the first line and the others each behind its indent. Words tied
/// by no-break spaces stay together; a word longer than a line is broken.
pub fn wrap(text: &str, first: &str, rest: &str, width: usize) -> String {
    let options = Options::new(width.max(first.width() + 1).max(rest.width() + 1))
        .initial_indent(first)
        .subsequent_indent(rest)
        .word_separator(WordSeparator::AsciiSpace)
        .word_splitter(WordSplitter::NoHyphenation)
        .wrap_algorithm(WrapAlgorithm::FirstFit);
    words::plain_spaces(&textwrap::wrap(&squeezed(text), options).join("\n"))
}

/// Runs of breaking white space, line ends too, as one space.
fn squeezed(text: &str) -> String {
    let parts = text.split(|c: char| c.is_whitespace() && c != words::TIE);
    parts
        .filter(|p| !p.is_empty())
        .collect::<Vec<_>>()
        .join(" ")
}

/// The species of a set, whose shares rest on so many birds, as lines of at most `width` columns (64
/// at the least), headings first, and whether a name bears the star that says its chance is not from
/// a curve.
pub fn member_table(
    (members, birds): (&[MemberGuidance], f64),
    indent: &str,
    width: usize,
) -> (Vec<String>, bool) {
    let mut rows = vec![HEADINGS.map(str::to_string)];
    rows.extend(members.iter().map(|m| cells(m, birds)));
    let lines = table(&rows, (0, &[1, 2, 3]), indent, width);
    (lines, members.iter().any(MemberGuidance::has_star))
}

/// Rows in columns: those `right` end where the widest cell ends, the others begin below their
/// heading. One `wrapped` column takes what of `width` the others leave, and goes on below.
pub fn table<const N: usize>(
    rows: &[[String; N]],
    (wrapped, right): (usize, &[usize]),
    indent: &str,
    width: usize,
) -> Vec<String> {
    let mut widths: [usize; N] = std::array::from_fn(|c| widest(rows, c));
    let gaps = N.saturating_sub(1) * GAP + indent.width();
    let others = widths.iter().sum::<usize>() - widths[wrapped] + gaps;
    widths[wrapped] = widths[wrapped].min(width.saturating_sub(others).max(8));
    let lines = rows
        .iter()
        .flat_map(|row| lines(row, &widths, (wrapped, right)));
    lines
        .map(|line| format!("{indent}{line}").trim_end().to_owned())
        .collect()
}

fn cells(member: &MemberGuidance, birds: f64) -> [String; 5] {
    let star = if member.has_star() { "*" } else { "" };
    [
        format!("{}{star}", member.name),
        words::told(member, member.chance_visit),
        words::told(member, member.chance_week),
        words::share(member, birds),
        words::stands(member).to_string(),
    ]
}

fn widest<const N: usize>(rows: &[[String; N]], column: usize) -> usize {
    rows.iter().map(|r| r[column].width()).max().unwrap_or(0)
}

fn lines<const N: usize>(
    row: &[String; N],
    widths: &[usize; N],
    (wrapped, right): (usize, &[usize]),
) -> Vec<String> {
    let folded = wrap(&row[wrapped], "", "  ", widths[wrapped]);
    let line = |(i, part): (usize, &str)| {
        let cells = row.iter().enumerate().map(|(column, cell)| {
            let cell = match i {
                _ if column == wrapped => part.to_owned(),
                0 => words::plain_spaces(cell),
                _ => String::new(),
            };
            padded(&cell, widths[column], right.contains(&column))
        });
        cells.collect::<Vec<_>>().join(&" ".repeat(GAP))
    };
    folded.split('\n').enumerate().map(line).collect()
}

fn padded(text: &str, width: usize, right: bool) -> String {
    let room = " ".repeat(width.saturating_sub(text.width()));
    if right {
        room + text
    } else {
        text.to_string() + &room
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::guidance::types::{Basis, Stands};

    fn member(name: &str, basis: Basis) -> MemberGuidance {
        MemberGuidance {
            species: "Genus species".into(),
            name: name.into(),
            chance_visit: 0.3,
            chance_week: 0.66,
            by_visits: [0.3; 7],
            basis,
            recorded: true,
            listed: true,
            share: 0.01,
            stands: Some(Stands::Outside),
            plumages: vec![],
        }
    }

    #[test]
    fn ties_hold_and_long_words_break() {
        let tied = format!("about {}", "5\u{a0}%");
        assert_eq!(wrap(&tied, "", "", 7), "about\n5 %");
        assert_eq!(wrap("abcdefghij", "- ", "  ", 7), "- abcde\n  fghij");
        assert_eq!(wrap("a\n\n b", "", "", 20), "a b");
    }

    #[test]
    fn a_column_goes_on_below_itself_and_numbers_end_together() {
        let rows = [["no", "what", "birds"], ["1", "a long name", "7"]];
        let rows = rows.map(|row| row.map(str::to_owned));
        let lines = table(&rows, (1, &[2]), " ", 20);
        assert_eq!(
            lines,
            [
                " no  what      birds",
                " 1   a long        7",
                "       name"
            ]
        );
    }

    #[test]
    fn tables_keep_to_their_columns_whatever_the_name() {
        let long = "Zwergstrandläufer mit einem sehr langen Namen";
        let wide = "ハマシギハマシギハマシギハマシギハマシギハマシギ";
        let members = [member(long, Basis::Curve), member(wide, Basis::Frequency)];
        for width in [64, 72, 80, 120] {
            let (lines, star) = member_table((&members, 40.0), "  ", width);
            assert!(star);
            for line in &lines {
                assert!(line.width() <= width, "{width}: {line}");
            }
            let text = lines.join("");
            assert!(
                text.contains("under 2 %") && text.contains("65 %"),
                "{text}"
            );
        }
    }
}
