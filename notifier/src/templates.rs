//! What all templates of pages are rendered by.

use crate::chart::escape;
use minijinja::syntax::SyntaxConfig;
use minijinja::value::Serde;
use minijinja::{AutoEscape, Environment, UndefinedBehavior};
use serde::Serialize;

/// Templates by name, each with its text, in an environment in which every value is escaped and
/// one that is missing is a fault.
///
/// # Errors
/// A template that cannot be read, which is a fault of the program.
pub(crate) fn environment(
    templates: &[(&'static str, &'static str)],
) -> Result<Environment<'static>, minijinja::Error> {
    let mut env = Environment::new();
    env.set_undefined_behavior(UndefinedBehavior::Strict);
    let mut syntax = SyntaxConfig::builder();
    env.set_syntax(syntax.trim_blocks(true).lstrip_blocks(true).build()?);
    env.set_auto_escape_callback(|_| AutoEscape::Html);
    // the library's own way writes every slash of an address as a reference
    env.set_formatter(|out, state, value| match value.as_str() {
        Some(text) if *state.auto_escape() == AutoEscape::Html && !value.is_safe() => {
            out.write_str(&escape(text)).map_err(minijinja::Error::from)
        }
        _ => minijinja::escape_formatter(out, state, value),
    });
    for (name, text) in templates {
        env.add_template(name, text)?;
    }
    Ok(env)
}

/// A page whose template stands alone: its name, its text and what is shown.
///
/// # Errors
/// A template that does not fit, which is a fault of the program.
pub(crate) fn alone(
    name: &'static str,
    text: &'static str,
    view: &impl Serialize,
) -> Result<String, minijinja::Error> {
    let env = environment(&[(name, text)])?;
    Ok(env.get_template(name)?.render(Serde(view))? + "\n")
}
