//! A table of a file, read key by key.

use super::{Document, value};
use crate::nearest::{nearest, one_of};
use std::ops::{Range, RangeInclusive};
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// A key that a table may have, and what it is for, as "expected ..." goes on.
#[derive(Clone, Copy)]
pub(crate) struct Key(pub(crate) &'static str, pub(crate) &'static str);

/// A table with the keys that it may have. Whatever does not read is noted in the document,
/// so that a `None` from any reader is either "left out" or already told.
#[derive(Clone)]
pub(crate) struct Section<'d> {
    doc: &'d Document<'d>,
    title: String,
    span: Range<usize>,
    table: &'d DeTable<'d>,
    keys: &'static [Key],
}

impl<'d> Section<'d> {
    /// The whole file as a table. Notes its unknown keys.
    pub(crate) fn top(
        doc: &'d Document<'d>,
        tree: &'d Spanned<DeTable<'d>>,
        keys: &'static [Key],
    ) -> Self {
        let title = "the file".to_owned();
        Section::new(doc, title, 0..0, tree.get_ref(), keys)
    }

    fn new(
        doc: &'d Document<'d>,
        title: String,
        span: Range<usize>,
        table: &'d DeTable<'d>,
        keys: &'static [Key],
    ) -> Self {
        let section = Section {
            doc,
            title,
            span,
            table,
            keys,
        };
        for key in table
            .keys()
            .filter(|k| !section.names().any(|n| n == k.get_ref()))
        {
            section.unknown_key(key.get_ref(), key.span());
        }
        section
    }

    /// The file it stands in.
    pub(crate) fn doc(&self) -> &'d Document<'d> {
        self.doc
    }

    /// How messages call it, e.g. `[[site]]`.
    pub(crate) fn title(&self) -> &str {
        &self.title
    }

    /// Does it have the key?
    pub(crate) fn has(&self, key: &str) -> bool {
        self.get(key).is_some()
    }

    /// Does the table under `key` have `inner`? Notes nothing.
    pub(crate) fn has_in(&self, key: &str, inner: &str) -> bool {
        let table = self.get(key).and_then(|v| v.get_ref().as_table());
        table.is_some_and(|t| t.keys().any(|k| k.get_ref() == inner))
    }

    /// The text under the key, if it is one. Notes nothing.
    pub(crate) fn quietly(&self, key: &str) -> Option<&'d str> {
        self.get(key).and_then(|v| v.get_ref().as_str())
    }

    /// A text of one line.
    pub(crate) fn text(&self, key: &str) -> Option<Spanned<String>> {
        self.read(key, value::line)
    }

    /// A text of one line that must be there.
    pub(crate) fn need_text(&self, key: &str) -> Option<Spanned<String>> {
        self.need(key)?;
        self.text(key)
    }

    /// A text of any number of lines.
    pub(crate) fn paragraph(&self, key: &str) -> Option<String> {
        self.read(key, value::paragraph).map(Spanned::into_inner)
    }

    /// A text of any number of lines that must be there.
    pub(crate) fn need_paragraph(&self, key: &str) -> Option<String> {
        self.need(key)?;
        self.paragraph(key)
    }

    /// A finite number.
    pub(crate) fn number(&self, key: &str) -> Option<Spanned<f64>> {
        self.read(key, value::number)
    }

    /// A number in the range that must be there.
    pub(crate) fn need_number_in(&self, key: &str, range: RangeInclusive<f64>) -> Option<f64> {
        self.need(key)?;
        let number = self.number(key)?;
        if range.contains(number.get_ref()) {
            return Some(number.into_inner());
        }
        self.refuse_value(key, &number, number.get_ref());
        None
    }

    /// A whole number in the range; `default` where left out.
    pub(crate) fn whole(&self, key: &str, range: RangeInclusive<u32>, default: u32) -> Option<u32> {
        if !self.has(key) {
            return Some(default);
        }
        let number = self.read(key, value::whole)?;
        match u32::try_from(*number.get_ref()) {
            Ok(n) if range.contains(&n) => Some(n),
            _ => {
                self.refuse_value(key, &number, number.get_ref());
                None
            }
        }
    }

    /// True or false; false where left out.
    pub(crate) fn flag(&self, key: &str) -> bool {
        self.read(key, DeValue::as_bool)
            .is_some_and(|flag| *flag.get_ref())
    }

    /// A table under the key, e.g. `[digest]`.
    pub(crate) fn section(&self, key: &str, keys: &'static [Key]) -> Option<Section<'d>> {
        let value = self.get(key)?;
        self.section_of(key, self.title_of(key, "[", "]"), value, keys)
    }

    /// How messages call a table below this one.
    pub(super) fn title_of(&self, key: &str, open: &str, close: &str) -> String {
        match self.span == (0..0) {
            true => format!("{open}{key}{close}"),
            false => format!("{key} of {}", self.title),
        }
    }

    /// One of the names given; None where left out.
    pub(crate) fn choice<T: Clone>(&self, key: &str, choices: &[(&str, T)]) -> Option<T> {
        let text = self.text(key)?;
        self.choose(key, &text, choices)
    }

    /// One of the names given, that must be there.
    pub(crate) fn need_choice<T: Clone>(&self, key: &str, choices: &[(&str, T)]) -> Option<T> {
        self.need(key)?;
        self.choice(key, choices)
    }

    /// What the text stands for among the names given.
    pub(crate) fn choose<T: Clone>(
        &self,
        key: &str,
        text: &Spanned<String>,
        choices: &[(&str, T)],
    ) -> Option<T> {
        let names = || choices.iter().map(|(name, _)| *name);
        if let Some((_, choice)) = choices.iter().find(|(name, _)| name == text.get_ref()) {
            return Some(choice.clone());
        }
        let message = format!(
            "unknown {key} {:?} in {}; expected {}",
            text.get_ref(),
            self.title,
            one_of(names())
        );
        self.refuse(text, message, did_you_mean(text.get_ref(), names()));
        None
    }

    /// Notes that the key is missing; None where it is.
    pub(crate) fn need(&self, key: &str) -> Option<()> {
        if self.has(key) {
            return Some(());
        }
        let message = format!(
            "{} has no {key}; expected {}",
            self.title,
            self.expected(key)
        );
        self.refuse_here(message);
        None
    }

    /// Notes that the list under the key has no items.
    pub(crate) fn need_items(&self, key: &str) {
        self.refuse_key(
            key,
            format!(
                "{key} in {} is empty; expected {}",
                self.title,
                self.expected(key)
            ),
        );
    }

    /// Is there a list without items under the key? Notes nothing.
    pub(crate) fn is_empty_list(&self, key: &str) -> bool {
        let list = self.get(key).and_then(|v| v.get_ref().as_array());
        list.is_some_and(|items| items.is_empty())
    }

    /// Notes a value that is of the right kind and yet not what the key expects.
    pub(crate) fn refuse_value<T>(&self, key: &str, at: &Spanned<T>, value: impl std::fmt::Debug) {
        let message = format!(
            "{key} in {} is {value:?}; expected {}",
            self.title,
            self.expected(key)
        );
        self.refuse(at, message, None);
    }

    /// Notes a problem at a value.
    pub(crate) fn refuse<T>(&self, at: &Spanned<T>, message: String, hint: Option<String>) {
        self.doc.refuse(at.span(), message, hint);
    }

    /// Notes a problem of the table as a whole, at its first line.
    pub(crate) fn refuse_here(&self, message: String) {
        self.doc.refuse(self.span.clone(), message, None);
    }

    /// Notes a problem at a key of this table.
    pub(crate) fn refuse_key(&self, key: &str, message: String) {
        let found = self.table.keys().find(|k| k.get_ref() == key);
        let at = found.map_or(self.span.clone(), Spanned::span);
        self.doc.refuse(at, message, None);
    }

    fn names(&self) -> impl Iterator<Item = &'static str> + use<> {
        self.keys.iter().map(|key| key.0)
    }

    fn expected(&self, key: &str) -> &'static str {
        let found = self.keys.iter().find(|k| k.0 == key);
        found.map_or("another value", |k| k.1)
    }

    pub(super) fn get(&self, key: &str) -> Option<&'d Spanned<DeValue<'d>>> {
        let found = self.table.iter().find(|(k, _)| k.get_ref() == key);
        found.map(|(_, value)| value)
    }

    fn read<T>(&self, key: &str, kind: impl Fn(&DeValue<'d>) -> Option<T>) -> Option<Spanned<T>> {
        self.of_kind(key, self.get(key)?, kind)
    }

    pub(super) fn of_kind<T>(
        &self,
        key: &str,
        value: &Spanned<DeValue<'d>>,
        kind: impl Fn(&DeValue<'d>) -> Option<T>,
    ) -> Option<Spanned<T>> {
        let read = value::placed(value, kind(value.get_ref()));
        if read.is_none() {
            self.refuse_kind(key, value);
        }
        read
    }

    pub(super) fn section_of(
        &self,
        key: &str,
        title: String,
        value: &'d Spanned<DeValue<'d>>,
        keys: &'static [Key],
    ) -> Option<Section<'d>> {
        let Some(table) = value.get_ref().as_table() else {
            self.refuse_kind(key, value);
            return None;
        };
        Some(Section::new(self.doc, title, value.span(), table, keys))
    }

    pub(super) fn refuse_kind(&self, key: &str, value: &Spanned<DeValue<'d>>) {
        let is = value::in_words(value.get_ref());
        let message = format!(
            "{key} in {} is {is}; expected {}",
            self.title,
            self.expected(key)
        );
        self.refuse(value, message, None);
    }

    fn unknown_key(&self, key: &str, at: Range<usize>) {
        let near = did_you_mean(key, self.names());
        let hint = near.unwrap_or_else(|| {
            format!(
                "its keys are {}",
                one_of(self.names()).replace(" or ", " and ")
            )
        });
        let message = format!("unknown key {key:?} in {}", self.title);
        self.doc.refuse(at, message, Some(hint));
    }
}

/// The hint with the nearest name, where one is near.
pub(crate) fn did_you_mean<'c>(
    name: &str,
    candidates: impl IntoIterator<Item = &'c str>,
) -> Option<String> {
    nearest(name, candidates).map(|near| format!("did you mean {near:?}?"))
}
