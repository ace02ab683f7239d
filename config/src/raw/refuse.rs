//! What is noted where a table does not read: each sentence has its one place here.

use super::{Section, value};
use crate::nearest::{nearest, one_of};
use std::ops::Range;
use toml::Spanned;
use toml::de::DeValue;

impl<'d> Section<'d> {
    /// Notes that the key is missing; None where it is.
    pub(crate) fn need(&self, key: &str) -> Option<()> {
        if self.has(key) {
            return Some(());
        }
        // Where the key is there under a misspelt name, that is told already.
        let mut unknown = self
            .table
            .keys()
            .filter(|k| !self.names().any(|name| name == k.get_ref()));
        if !unknown.any(|k| nearest(k.get_ref(), self.names()) == Some(key)) {
            let expected = self.expected(key);
            self.refuse_here(format!(
                "{key} is missing in {}; expected {expected}",
                self.title
            ));
        }
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
    pub(crate) fn refuse_value<T>(&self, key: &str, at: &Spanned<T>) {
        let written = self.doc.written(at.span()).unwrap_or_default();
        self.refuse_as(key, at, &format!("is {written}"));
    }

    /// Notes a value of another kind than the key expects.
    pub(super) fn refuse_kind(&self, key: &str, value: &Spanned<DeValue<'d>>) {
        let text = value.get_ref().as_str().unwrap_or_default();
        match text.contains(char::is_control) {
            true => self.refuse_as(key, value, "is not on one line"),
            false => self.refuse_as(
                key,
                value,
                &format!("is {}", value::in_words(value.get_ref())),
            ),
        }
    }

    fn refuse_as<T>(&self, key: &str, at: &Spanned<T>, is: &str) {
        let expected = self.expected(key);
        self.refuse(
            at,
            format!("{key} in {} {is}; expected {expected}", self.title),
            None,
        );
    }

    /// Notes a key that the table does not have.
    pub(super) fn refuse_unknown(&self, key: &str, at: Range<usize>) {
        let all = || {
            format!(
                "its keys are {}",
                one_of(self.names()).replace(" or ", " and ")
            )
        };
        let hint = did_you_mean(key, self.names()).unwrap_or_else(all);
        let message = format!("unknown key {key:?} in {}", self.title);
        self.doc.refuse(at, message, Some(hint));
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
}

/// The hint with the nearest name, where one is near.
pub(crate) fn did_you_mean<'c>(
    name: &str,
    candidates: impl IntoIterator<Item = &'c str>,
) -> Option<String> {
    nearest(name, candidates).map(|near| format!("did you mean {near:?}?"))
}
