//! Holds what was found against what a check expects, field by field.

use super::topic::Topic;
use serde_json::Value;

/// Tolerance keys that every topic may use; `mod` goes with another one.
const COMMON: &[&str] = &["abs", "rel", "mod", "note"];

/// A tolerance as it applies to one field.
#[derive(Debug, Clone, Copy)]
enum Rule {
    Exact,
    Absolute(f64),
    Relative(f64),
    /// Between two times.
    Seconds(f64),
    /// theta beyond 1e5, or the Poisson limit itself.
    ToThePoissonLimit,
    Nothing,
}

/// The tolerances of one check.
pub struct Judge<'a> {
    topic: &'a Topic,
    tolerance: &'a Value,
}

impl<'a> Judge<'a> {
    /// Refuses tolerance keys that the topic does not know.
    pub fn new(topic: &'a Topic, tolerance: &'a Value) -> Result<Self, String> {
        match tolerance {
            Value::Number(_) => {}
            Value::Object(map) => {
                let known = |k: &str| COMMON.contains(&k) || topic.keys.contains(&k);
                if let Some(key) = map.keys().find(|k| !known(k)) {
                    return Err(format!("unknown tolerance key {key}"));
                }
            }
            other => return Err(format!("unknown kind of tolerance: {other}")),
        }
        Ok(Judge { topic, tolerance })
    }

    /// All fields that disagree, in words.
    pub fn differences(&self, expected: &Value, found: &Value) -> Vec<String> {
        let mut differences = Vec::new();
        self.walk("", expected, found, &mut differences);
        differences
    }

    fn walk(&self, field: &str, expected: &Value, found: &Value, out: &mut Vec<String>) {
        match expected {
            // entries of a map of maps are judged by their own names where these mean something
            Value::Object(fields) => {
                for (name, wanted) in fields {
                    let governed = !field.is_empty() && self.rule(name).is_err();
                    let name_of_rule = if governed { field } else { name };
                    if matches!(self.rule(name_of_rule), Ok(Rule::Nothing)) {
                        continue;
                    }
                    match found.get(name) {
                        Some(value) => self.walk(name_of_rule, wanted, value, out),
                        None => out.push(format!("{name}: nothing was computed")),
                    }
                }
            }
            Value::Array(wanted) => match found.as_array() {
                Some(values) if values.len() == wanted.len() => {
                    let largest = self.largest(field, expected);
                    for (w, v) in wanted.iter().zip(values) {
                        self.entry(field, w, v, largest, out);
                    }
                }
                _ => out.push(format!("{field}: expected {expected}, found {found}")),
            },
            _ => self.entry(field, expected, found, None, out),
        }
    }

    fn entry(
        &self,
        field: &str,
        wanted: &Value,
        found: &Value,
        largest: Option<f64>,
        out: &mut Vec<String>,
    ) {
        if wanted.is_object() {
            return self.walk(field, wanted, found, out);
        }
        if let (Some(wanted), Some(found)) = (wanted.as_array(), found.as_array()) {
            if wanted.len() != found.len() {
                out.push(format!(
                    "{field}: {} entries, found {}",
                    wanted.len(),
                    found.len()
                ));
            }
            for (w, f) in wanted.iter().zip(found) {
                self.entry(field, w, f, largest, out);
            }
            return;
        }
        match self.rule(field) {
            Ok(rule) if self.agree(rule, wanted, found, largest) => {}
            Ok(rule) => out.push(format!(
                "{field}: expected {wanted}, found {found} ({rule:?})"
            )),
            Err(why) => out.push(why),
        }
    }

    fn agree(&self, rule: Rule, wanted: &Value, found: &Value, largest: Option<f64>) -> bool {
        if let Rule::ToThePoissonLimit = rule {
            return found == "Poisson limit" || found.as_f64().is_some_and(|t| t > 1e5);
        }
        if let Rule::Seconds(limit) = rule {
            let apart = seconds(wanted)
                .zip(seconds(found))
                .map(|(w, f)| (w - f).abs());
            return apart.is_some_and(|s| s <= limit);
        }
        let (Some(w), Some(f)) = (wanted.as_f64(), found.as_f64()) else {
            return wanted == found;
        };
        let mut off = (w - f).abs();
        if let Some(circle) = self.tolerance.get("mod").and_then(Value::as_f64) {
            off = off.rem_euclid(circle).min(circle - off.rem_euclid(circle));
        }
        match rule {
            Rule::Exact => w == f,
            Rule::Absolute(limit) => off <= limit,
            Rule::Relative(limit) => off <= limit * largest.unwrap_or(w.abs()),
            Rule::Seconds(_) | Rule::ToThePoissonLimit | Rule::Nothing => true,
        }
    }

    fn largest(&self, field: &str, list: &Value) -> Option<f64> {
        fn all(value: &Value) -> f64 {
            match value {
                Value::Array(list) => list.iter().map(all).fold(0.0, f64::max),
                other => other.as_f64().map_or(0.0, f64::abs),
            }
        }
        self.topic.by_largest.contains(&field).then(|| all(list))
    }

    /// The rule for a field: by the topic's list, by its own name, or the check's plain one.
    fn rule(&self, field: &str) -> Result<Rule, String> {
        let topic = self.topic;
        let by_name = |(pattern, _): &&(&str, &str)| match pattern.strip_suffix('*') {
            Some(start) => field.starts_with(start),
            None => *pattern == field,
        };
        if topic.information.contains(&field) {
            return Ok(Rule::Nothing);
        }
        let listed = topic
            .governs
            .iter()
            .find(by_name)
            .map(|(_, key)| (*key).to_owned());
        let own = [
            format!("{field}_abs"),
            format!("{field}_rel"),
            field.to_owned(),
        ];
        let keys = listed
            .into_iter()
            .chain(own)
            .chain(["abs".into(), "rel".into()]);
        for key in keys {
            if key == "exact" {
                return Ok(Rule::Exact);
            }
            if let Some(rule) = self.by_key(&key) {
                return rule;
            }
        }
        Err(format!("{field}: no tolerance governs it"))
    }

    fn by_key(&self, key: &str) -> Option<Result<Rule, String>> {
        let numbered = |limit: f64| match key {
            "seconds" => Rule::Seconds(limit),
            _ if key == "rel" || key.ends_with("_rel") => Rule::Relative(limit),
            _ => Rule::Absolute(limit),
        };
        let plain = || self.tolerance.as_f64().filter(|_| key == "abs");
        let stated = self.tolerance.get(key);
        if let Some(words) = stated.and_then(Value::as_str) {
            return Some(match words {
                "exact" => Ok(Rule::Exact),
                "theta > 1e5 or Poisson limit" => Ok(Rule::ToThePoissonLimit),
                _ => Err(format!("{key}: unknown tolerance {words:?}")),
            });
        }
        let ours = || {
            self.topic
                .ours
                .iter()
                .find(|(k, _)| *k == key)
                .map(|(_, t)| *t)
        };
        let limit = stated.and_then(Value::as_f64).or_else(plain).or_else(ours);
        limit.map(|l| Ok(numbered(l)))
    }
}

/// A time with its offset, `+0100` or `Z`, in seconds.
fn seconds(value: &Value) -> Option<f64> {
    let text = value.as_str()?;
    let read = |form| chrono::DateTime::parse_from_str(text, form).ok();
    let time = chrono::DateTime::parse_from_rfc3339(text).ok();
    let time = time.or_else(|| read("%Y-%m-%dT%H:%M:%S%z"))?;
    Some(time.timestamp_millis() as f64 / 1000.0)
}
