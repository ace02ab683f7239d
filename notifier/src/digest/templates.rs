//! The three templates, compiled in.

use super::DigestError;
use super::view::View;
use crate::{columns, words};
use minijinja::syntax::SyntaxConfig;
use minijinja::value::Serde;
use minijinja::{AutoEscape, Environment, UndefinedBehavior};

/// Columns of the plain text; RFC 5322 (2.1.1) asks for 78 at most.
pub(super) const TEXT_WIDTH: usize = 74;

/// Which of the three.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Template {
    Subject,
    Text,
    Html,
}

impl Template {
    fn name(self) -> &'static str {
        match self {
            Template::Subject => "subject.txt",
            Template::Text => "digest.txt",
            Template::Html => "digest.html",
        }
    }
}

pub(super) fn environment() -> Result<Environment<'static>, DigestError> {
    let mut env = Environment::new();
    env.set_undefined_behavior(UndefinedBehavior::Strict);
    let mut syntax = SyntaxConfig::builder();
    env.set_syntax(syntax.trim_blocks(true).lstrip_blocks(true).build()?);
    env.set_auto_escape_callback(|name| match name.ends_with(".html") {
        true => AutoEscape::Html,
        false => AutoEscape::None,
    });
    env.add_filter("wrap", wrap);
    env.add_filter("underline", underline);
    env.add_template("subject.txt", include_str!("../../templates/subject.txt"))?;
    env.add_template("digest.txt", include_str!("../../templates/digest.txt"))?;
    env.add_template("style.html", include_str!("../../templates/style.html"))?;
    env.add_template("set.html", include_str!("../../templates/set.html"))?;
    env.add_template("digest.html", include_str!("../../templates/digest.html"))?;
    env.add_template("greeting.txt", include_str!("../../templates/greeting.txt"))?;
    env.add_template(
        "greeting.html",
        include_str!("../../templates/greeting.html"),
    )?;
    env.add_template("leaving.txt", include_str!("../../templates/leaving.txt"))?;
    env.add_template("leaving.html", include_str!("../../templates/leaving.html"))?;
    Ok(env)
}

/// `{{ text|wrap("- ", "  ") }}`: to the text's columns behind the indents.
fn wrap(text: &str, first: Option<&str>, rest: Option<&str>) -> String {
    let first = first.unwrap_or("");
    columns::wrap(text, first, rest.unwrap_or(first), TEXT_WIDTH)
}

/// A line of so many signs as the text's widest line has columns.
fn underline(text: &str, sign: &str) -> String {
    let wide = text
        .lines()
        .map(unicode_width::UnicodeWidthStr::width)
        .max();
    sign.repeat(wide.unwrap_or(0))
}

pub(super) fn render(which: Template, view: &View) -> Result<String, DigestError> {
    let env = environment()?;
    let text = env.get_template(which.name())?.render(Serde(view))?;
    Ok(match which {
        Template::Subject => one_line(&text),
        Template::Text => words::plain_spaces(&text) + "\n",
        Template::Html => text + "\n",
    })
}

/// Line ends and runs of spaces as one space: a subject is one header line.
fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}
