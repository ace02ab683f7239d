//! A table of a file, read key by key.

use super::{Document, did_you_mean, value};
use crate::nearest::one_of;
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
    pub(super) doc: &'d Document<'d>,
    pub(super) title: String,
    pub(super) span: Range<usize>,
    pub(super) table: &'d DeTable<'d>,
    pub(super) keys: &'static [Key],
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
            section.refuse_unknown(key.get_ref(), key.span());
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

    /// The text under `inner` of the table under `key`, if it is one. Notes nothing.
    pub(crate) fn quietly_in(&self, key: &str, inner: &str) -> Option<&'d str> {
        let table = self.get(key)?.get_ref().as_table()?;
        let found = table.iter().find(|(k, _)| k.get_ref() == inner);
        found.and_then(|(_, value)| value.get_ref().as_str())
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
        self.refuse_value(key, &number);
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
                self.refuse_value(key, &number);
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
        self.section_of(key, value, keys)
    }

    /// The table under the key where it is one, without a look at its keys. Notes nothing.
    pub(crate) fn quiet_section(&self, key: &str) -> Option<Section<'d>> {
        let value = self.get(key)?;
        Some(Section {
            doc: self.doc,
            title: format!("{key} of {}", self.title),
            span: value.span(),
            table: value.get_ref().as_table()?,
            keys: &[],
        })
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

    pub(super) fn names(&self) -> impl Iterator<Item = &'static str> + use<> {
        self.keys.iter().map(|key| key.0)
    }

    pub(super) fn expected(&self, key: &str) -> &'static str {
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
        value: &'d Spanned<DeValue<'d>>,
        keys: &'static [Key],
    ) -> Option<Section<'d>> {
        let Some(table) = value.get_ref().as_table() else {
            self.refuse_kind(key, value);
            return None;
        };
        // A table with a heading is called by it, one within a line by its key.
        let heading = self
            .doc
            .written(value.span())
            .filter(|text| text.starts_with('['));
        let title = heading.map_or_else(|| format!("{key} of {}", self.title), str::to_owned);
        Some(Section::new(self.doc, title, value.span(), table, keys))
    }
}
