//! Runs other programs: visibly, in the order given, and stopped when their time is over.

use std::io::{BufRead, BufReader};
use std::process::{Command, ExitStatus, Stdio};
use std::time::{Duration, Instant};

use anyhow::{Context, Result, ensure};

/// A command from words; the first is the program.
pub fn command(words: &[&str]) -> Command {
    let mut command = Command::new(words[0]);
    command.args(&words[1..]);
    command
}

/// Runs a command to its end.
///
/// # Errors
/// When it cannot be started or does not succeed.
pub fn run(command: &mut Command) -> Result<()> {
    let shown = shown(command);
    println!("$ {shown}");
    let status = command.status().with_context(|| format!("cannot start `{shown}`"))?;
    ensure!(status.success(), "`{shown}` failed ({status})");
    Ok(())
}

/// Runs a command to its end, letting its output through and giving it back as well.
///
/// # Errors
/// When it cannot be started or does not succeed.
pub fn listen(command: &mut Command) -> Result<String> {
    let shown = shown(command);
    let (status, heard) = hear(command)?;
    ensure!(status.success(), "`{shown}` failed ({status})");
    Ok(heard)
}

/// As [`listen`], but how the command ended is for the caller to judge.
///
/// # Errors
/// When it cannot be started.
pub fn hear(command: &mut Command) -> Result<(ExitStatus, String)> {
    let shown = shown(command);
    println!("$ {shown}");
    let mut child =
        command.stdout(Stdio::piped()).spawn().with_context(|| format!("cannot start `{shown}`"))?;
    let mut heard = String::new();
    for line in BufReader::new(child.stdout.take().context("no output to listen to")?).lines() {
        let line = line?;
        println!("{line}");
        heard.push_str(&line);
        heard.push('\n');
    }
    Ok((child.wait()?, heard))
}

/// Does one named part of a chore and prints how long it took.
///
/// # Errors
/// Those of the part, with its name.
pub fn stage<T>(name: &str, part: impl FnOnce() -> Result<T>) -> Result<T> {
    println!("\n== {name}");
    let started = Instant::now();
    let done = part().with_context(|| format!("FAILED: {name}"))?;
    println!("== {name}: {}", seconds(started.elapsed()));
    Ok(done)
}

/// `12.3 s`.
pub fn seconds(time: Duration) -> String {
    format!("{:.1} s", time.as_secs_f64())
}

fn shown(command: &Command) -> String {
    let words = std::iter::once(command.get_program()).chain(command.get_args());
    words.map(|word| word.to_string_lossy()).collect::<Vec<_>>().join(" ")
}
