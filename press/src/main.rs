//! `press --webassembly DIR --out DIR [--root /sub/] [--compress]`, run at the root of the workspace: prints the book into DIR. See the library.

use press::{Job, print};
use std::process::ExitCode;

const USAGE: &str = "usage: press --webassembly DIR --out DIR [--root /sub/] [--compress]";

fn main() -> ExitCode {
    let job = match job() {
        Ok(job) => job,
        Err(error) => {
            eprintln!("press: {error}\n{USAGE}");
            return ExitCode::from(2);
        }
    };
    match print(&job) {
        Ok((pages, done)) => {
            println!(
                "press: {pages} pages; {} files written, {} removed, {} compressed",
                done.written, done.removed, done.compressed
            );
            ExitCode::SUCCESS
        }
        Err(stop) => {
            eprintln!("{stop}");
            ExitCode::FAILURE
        }
    }
}

fn job() -> Result<Job, lexopt::Error> {
    use lexopt::prelude::*;
    let (mut webassembly, mut out, mut root, mut compress) = (None, None, String::from("/"), false);
    let mut arguments = lexopt::Parser::from_env();
    while let Some(argument) = arguments.next()? {
        match argument {
            Long("webassembly") => webassembly = Some(arguments.value()?.into()),
            Long("out") => out = Some(arguments.value()?.into()),
            Long("root") => root = arguments.value()?.string()?,
            Long("compress") => compress = true,
            other => return Err(other.unexpected()),
        }
    }
    if !(root.starts_with('/') && root.ends_with('/')) {
        return Err(
            format!("--root {root}: a path on a server begins and ends with /, as in /handbook/").into()
        );
    }
    Ok(Job {
        workspace: ".".into(),
        webassembly: webassembly.ok_or("--webassembly DIR is missing")?,
        out: out.ok_or("--out DIR is missing")?,
        root,
        compress,
    })
}
