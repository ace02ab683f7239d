//! Every command's example is one that is understood.

use super::Args;
use clap::{CommandFactory, Parser};

/// The command lines of a help text: indented, and beginning with the program.
fn examples(command: &clap::Command) -> Vec<String> {
    let told = command.get_after_help().map(ToString::to_string);
    let told = told.unwrap_or_default();
    let lines = told.lines().filter_map(|l| l.strip_prefix("  "));
    lines
        .filter(|l| l.starts_with("wingtide "))
        .map(str::to_owned)
        .collect()
}

/// As a shell splits it: at spaces, but not within double quotes; input is none of ours.
fn split(line: &str) -> Vec<String> {
    let line = line.split(" < ").next().unwrap_or(line);
    let mut words = Vec::new();
    for (i, part) in line.split('"').enumerate() {
        match i % 2 {
            0 => words.extend(part.split_whitespace().map(str::to_owned)),
            _ => words.push(part.to_owned()),
        }
    }
    words
}

#[test]
fn every_command_has_an_example_that_is_understood() {
    let program = Args::command();
    let answer = program
        .find_subcommand("second-look")
        .and_then(|c| c.find_subcommand("answer"));
    let mut commands: Vec<&clap::Command> = program.get_subcommands().collect();
    commands.extend([&program, answer.expect("a command")]);
    for command in commands.into_iter().filter(|c| c.get_name() != "help") {
        let examples = examples(command);
        assert!(!examples.is_empty(), "{}: no example", command.get_name());
        for example in examples {
            let read = Args::try_parse_from(split(&example));
            assert!(read.is_ok(), "{example}: {}", read.unwrap_err());
            let words = split(&example);
            let name = command.get_name().to_owned();
            assert!(words.contains(&name), "{example} is not one of {name}");
        }
    }
}
