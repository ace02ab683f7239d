//! What the drawing library leaves out of its SVG.

/// Text for SVG content or attributes.
pub(crate) fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '&' => out.push_str("&amp;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&apos;"),
            // Not allowed in XML 1.0 at all, not even escaped.
            c if c.is_control() && !matches!(c, '\t' | '\n' | '\r') => {}
            c => out.push(c),
        }
    }
    out
}

/// Replaces the root tag by one that shows the drawing at its size in pixels (it was drawn
/// several times as large, since the library rounds to whole units), with title and
/// description for screen readers; their ids begin with `id`, so that a page may hold several.
pub(super) fn finish(
    drawn: &str,
    id: &str,
    size: (u32, u32),
    units: u32,
    (title, text): (&str, &str),
) -> String {
    let body = drawn.split_once('>').map_or("", |(_, rest)| rest);
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{}\" height=\"{}\" \
         viewBox=\"0 0 {} {}\" role=\"img\" aria-labelledby=\"{id}-title {id}-text\">\n\
         <title id=\"{id}-title\">{}</title>\n<desc id=\"{id}-text\">{}</desc>{body}",
        size.0,
        size.1,
        size.0 * units,
        size.1 * units,
        escape(title),
        escape(text),
    )
}
