//! Posts to a real receiver that checks the signature in another language.

use super::fixture::{deliveries, reserve, resettle, send};
use harness::places::{repository, skipped};
use harness::program::Workspace;
use serde_json::Value;
use std::collections::BTreeSet;
use std::io::{BufRead, BufReader};
use std::process::{Child, Command, Stdio};

/// The secret of the specification's own example.
const SECRET: &str = "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw";

struct Receiver {
    child: Child,
    port: u16,
    home: tempfile::TempDir,
}

impl Drop for Receiver {
    fn drop(&mut self) {
        // it may have ended by itself
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

impl Receiver {
    fn start(answers: &[&str]) -> Option<Self> {
        let Some(python) = std::env::var_os("WINGTIDE_PYTHON") else {
            skipped("no Python for a receiver of posts (WINGTIDE_PYTHON)");
            return None;
        };
        let home = tempfile::tempdir().expect("a folder");
        let mut child = Command::new(python)
            .arg(repository().join("tests/it/deliveries/receiver.py"))
            .args([SECRET.as_ref(), home.path().join("records").as_os_str()])
            .args(answers)
            .stdout(Stdio::piped())
            .spawn()
            .expect("Python runs");
        let mut line = String::new();
        let out = child.stdout.take().expect("its output");
        BufReader::new(out).read_line(&mut line).expect("its port");
        Some(Receiver {
            child,
            port: line.trim().parse().expect("a port"),
            home,
        })
    }

    fn records(&self) -> Vec<Value> {
        let text = std::fs::read_to_string(self.home.path().join("records"));
        let text = text.unwrap_or_default();
        let record = |line| serde_json::from_str(line).expect("JSON");
        text.lines().map(record).collect()
    }

    fn settings(&self, more: &str) -> String {
        format!(
            "\n[[webhook]]\nid = \"club-chat\"\nurl = \"http://127.0.0.1:{}/hooks/birds\"\n\
             secret_file = \"secret\"\nper_minute = 6000\n{more}\n",
            self.port
        )
    }

    fn reserve(&self, more: &str) -> Workspace {
        let workspace = reserve(&self.settings(more));
        workspace.write("secret", format!("{SECRET}\n"));
        workspace
    }
}

#[test]
fn a_post_is_signed_and_says_what_the_readme_tells() {
    let Some(receiver) = Receiver::start(&[]) else {
        return;
    };
    let workspace = receiver.reserve("private = true");
    let (code, states, said) = send(&workspace);
    assert_eq!((code, states.get("sent")), (0, Some(&1)), "{said}");
    let [record] = &receiver.records()[..] else {
        panic!("one post")
    };
    assert_eq!(record["verified"], true);
    assert_eq!(record["fresh"], true);
    assert_eq!(record["path"], "/hooks/birds");
    assert_eq!(record["type"], "application/json");
    assert_eq!(record["id"], deliveries(&workspace)["club-chat"]["mark"]);
    let body: Value = serde_json::from_str(record["body"].as_str().expect("text")).expect("JSON");
    let told = harness::readme::text();
    let mut keys = BTreeSet::new();
    all_keys(&body, &mut keys);
    for key in keys {
        assert!(
            told.contains(&format!("`{key}`")),
            "{key} stands in no table of the README"
        );
    }
    assert_eq!(body["type"], "digest");
    let sites = body["data"]["sites"].as_array().expect("sites");
    assert_eq!((sites.len(), &sites[0]["site"]), (2, &"long-bank".into()));
    assert!(
        body["data"]["text"]
            .as_str()
            .is_some_and(|t| t.contains("Little Stint"))
    );
    // nothing goes out twice
    assert_eq!(send(&workspace).1.get("sent"), Some(&1));
    assert_eq!(receiver.records().len(), 1);
}

fn all_keys(value: &Value, into: &mut BTreeSet<String>) {
    match value {
        Value::Array(items) => items.iter().for_each(|v| all_keys(v, into)),
        Value::Object(fields) => {
            into.extend(fields.keys().cloned());
            fields.values().for_each(|v| all_keys(v, into));
        }
        _ => {}
    }
}

#[test]
fn a_template_of_ones_own_makes_the_body() {
    let Some(receiver) = Receiver::start(&[]) else {
        return;
    };
    let workspace = receiver.reserve("private = true\ntemplate = \"chat.json\"");
    workspace.write(
        "chat.json",
        r#"{"text": {{ data.subject }}, "week": {{ data.week }}}"#,
    );
    assert_eq!(send(&workspace).1.get("sent"), Some(&1));
    let [record] = &receiver.records()[..] else {
        panic!("one post")
    };
    assert_eq!(record["verified"], true);
    let body: Value = serde_json::from_str(record["body"].as_str().expect("text")).expect("JSON");
    assert_eq!(body["week"], "2024-W36");
    assert!(
        body["text"]
            .as_str()
            .is_some_and(|t| t.starts_with("Cette semaine à")),
        "{body}"
    );
}

#[test]
fn a_template_that_does_not_fit_is_told_and_posts_nothing() {
    let Some(receiver) = Receiver::start(&[]) else {
        return;
    };
    let workspace = receiver.reserve("private = true\ntemplate = \"chat.json\"");
    workspace.write("chat.json", r#"{"text": {{ data.subjct }}}"#);
    assert_eq!(send(&workspace).1.get("refused"), Some(&1));
    let answer = deliveries(&workspace)["club-chat"]["answer"].to_string();
    assert!(
        answer.contains("chat.json") && answer.contains("undefined"),
        "{answer}"
    );
    assert!(receiver.records().is_empty());
}

#[test]
fn answers_are_told_apart_and_a_wait_is_kept_to() {
    let answers = ["503 Retry-After:7200", "429", "410"];
    let Some(receiver) = Receiver::start(&answers) else {
        return;
    };
    let workspace = receiver.reserve("private = true");
    assert_eq!(send(&workspace).1.get("waiting"), Some(&1));
    let row = || deliveries(&workspace)["club-chat"].clone();
    let wait = |row: &Value| {
        let at = |key: &str| {
            let text = row[key].as_str().expect("a time");
            chrono::DateTime::parse_from_rfc3339(text).expect("RFC 3339")
        };
        (at("due_at") - at("tried_at")).num_seconds()
    };
    assert_eq!(wait(&row()), 7200, "as the receiver asks");
    send(&workspace);
    assert_eq!(receiver.records().len(), 1, "not before its time");
    workspace.run(&["deliveries", "--retry", "club-chat"]);
    assert_eq!(wait(&row()), 60, "our own wait where none is asked for");
    workspace.run(&["deliveries", "--retry", "club-chat"]);
    assert_eq!(
        (row()["state"].as_str(), row()["answer"].as_str()),
        (Some("refused"), Some("it answers 410 Gone"))
    );
    let ids: BTreeSet<String> = receiver
        .records()
        .iter()
        .map(|r| r["id"].to_string())
        .collect();
    assert_eq!(ids.len(), 1, "every try has the same webhook-id");
}

#[test]
fn this_machine_is_reached_only_where_that_is_meant() {
    let Some(receiver) = Receiver::start(&[]) else {
        return;
    };
    let workspace = receiver.reserve("");
    assert_eq!(send(&workspace).1.get("refused"), Some(&1));
    let answer = deliveries(&workspace)["club-chat"]["answer"].to_string();
    assert!(
        answer.contains("private = true under [[webhook]]"),
        "{answer}"
    );
    assert!(receiver.records().is_empty());
}

#[test]
fn a_redirect_is_not_followed() {
    let Some(receiver) = Receiver::start(&["307 Location:/elsewhere"]) else {
        return;
    };
    let workspace = receiver.reserve("private = true");
    assert_eq!(send(&workspace).1.get("refused"), Some(&1));
    assert_eq!(receiver.records().len(), 1);
}

#[test]
fn a_secret_that_is_none_is_told_and_not_shown() {
    let Some(receiver) = Receiver::start(&[]) else {
        return;
    };
    let workspace = receiver.reserve("private = true");
    workspace.write("secret", "hunter2\n");
    let (code, states, said) = send(&workspace);
    assert_eq!((code, states.get("waiting")), (1, Some(&1)), "{said}");
    assert!(
        said.contains("24 to 64 bytes in base64") && !said.contains("hunter2"),
        "{said}"
    );
    workspace.write("secret", SECRET);
    resettle(&workspace, &receiver.settings("private = true"));
    assert_eq!(send(&workspace).1.get("sent"), Some(&1));
    assert_eq!(receiver.records()[0]["verified"], true);
}
