//! Lists and tables of free keys below a table.

use super::{Key, Section, value};
use std::ops::RangeInclusive;
use toml::Spanned;
use toml::de::DeValue;

impl<'d> Section<'d> {
    /// A list of texts, each read by itself so that one bad item does not hide another. The
    /// texts may be empty where `may_be_empty`. None where left out.
    pub(crate) fn texts(&self, key: &str, may_be_empty: bool) -> Option<Vec<Spanned<String>>> {
        self.texts_of(key, self.get(key)?, may_be_empty)
    }

    /// The list of texts that stands at `value`, under the key or in a table under it.
    pub(crate) fn texts_of(
        &self,
        key: &str,
        value: &Spanned<DeValue<'d>>,
        may_be_empty: bool,
    ) -> Option<Vec<Spanned<String>>> {
        let text = |item: &Spanned<DeValue<'d>>| match item.get_ref() {
            DeValue::String(text) if may_be_empty && text.is_empty() => {
                Some(Spanned::new(item.span(), String::new()))
            }
            _ => self.of_kind(key, item, value::line),
        };
        let items = self.list(key, value)?;
        Some(items.filter_map(text).collect())
    }

    /// A list of lists of texts; empty where left out.
    pub(crate) fn text_lists(&self, key: &str) -> Vec<Vec<Spanned<String>>> {
        let Some(items) = self.get(key).and_then(|v| self.list(key, v)) else {
            return Vec::new();
        };
        items
            .filter_map(|item| self.texts_of(key, item, false))
            .collect()
    }

    /// A list of whole numbers in the range.
    pub(crate) fn wholes(&self, key: &str, range: RangeInclusive<u8>) -> Vec<Spanned<u8>> {
        let Some(items) = self.get(key).and_then(|v| self.list(key, v)) else {
            return Vec::new();
        };
        let whole = |item: &Spanned<DeValue<'d>>| {
            let number = self.of_kind(key, item, value::whole)?;
            match u8::try_from(*number.get_ref()) {
                Ok(n) if range.contains(&n) => Some(Spanned::new(item.span(), n)),
                _ => {
                    self.refuse_value(key, &number);
                    None
                }
            }
        };
        items.filter_map(whole).collect()
    }

    /// Pairs of a free key and a text, e.g. vernacular names by language.
    pub(crate) fn pairs(&self, key: &str) -> Vec<(Spanned<String>, Spanned<String>)> {
        let pair = |(k, v): (Spanned<String>, &Spanned<DeValue<'d>>)| {
            self.of_kind(key, v, value::line).map(|text| (k, text))
        };
        self.entries(key).into_iter().filter_map(pair).collect()
    }

    /// The entries of a table with free keys, in the order of the keys.
    pub(crate) fn entries(&self, key: &str) -> Vec<(Spanned<String>, &'d Spanned<DeValue<'d>>)> {
        let Some(value) = self.get(key) else {
            return Vec::new();
        };
        let Some(table) = value.get_ref().as_table() else {
            self.refuse_kind(key, value);
            return Vec::new();
        };
        table
            .iter()
            .map(|(k, v)| (Spanned::new(k.span(), k.get_ref().to_string()), v))
            .collect()
    }

    /// The tables of a list under the key, e.g. every `[[site]]`.
    pub(crate) fn sections(&self, key: &str, keys: &'static [Key]) -> Vec<Section<'d>> {
        let Some(items) = self.get(key).and_then(|v| self.list(key, v)) else {
            return Vec::new();
        };
        let section = |item| self.section_of(key, item, keys);
        items.filter_map(section).collect()
    }

    fn list<'v>(
        &self,
        key: &str,
        value: &'v Spanned<DeValue<'d>>,
    ) -> Option<impl Iterator<Item = &'v Spanned<DeValue<'d>>> + use<'v, 'd>> {
        let list = value.get_ref().as_array();
        if list.is_none() {
            self.refuse_kind(key, value);
        }
        list.map(|items| items.iter())
    }
}
