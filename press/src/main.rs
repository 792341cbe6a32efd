//! `press --webassembly DIR --out DIR [--root /sub/] [--publish]`, run at the root of the workspace: prints the book into DIR. See the library.
//!
//! With `--trunk` it is run by Trunk, which says in the environment where the WebAssembly is and whether it is for publishing.

use press::{BuildOptions, print};
use std::process::ExitCode;

const USAGE: &str = "usage: press --webassembly DIR --out DIR [--root /sub/] [--publish], or press --trunk";

fn main() -> ExitCode {
    let options = match options() {
        Ok(options) => options,
        Err(error) => {
            eprintln!("press: {error}\n{USAGE}");
            return ExitCode::from(2);
        }
    };
    match print(&options) {
        Ok((pages, done)) => {
            println!(
                "press: {pages} pages; {} files written, {} removed, {} compressed",
                done.written, done.removed, done.compressed
            );
            ExitCode::SUCCESS
        }
        Err(error) => {
            eprintln!("{error}");
            ExitCode::FAILURE
        }
    }
}

fn options() -> Result<BuildOptions, lexopt::Error> {
    use lexopt::prelude::*;
    let (mut webassembly, mut out) = (None, None);
    let (mut root, mut publish) = (String::from("/"), false);
    let mut arguments = lexopt::Parser::from_env();
    while let Some(argument) = arguments.next()? {
        match argument {
            Long("webassembly") => webassembly = Some(arguments.value()?.into()),
            Long("out") => out = Some(arguments.value()?.into()),
            Long("root") => root = arguments.value()?.string()?,
            Long("publish") => publish = true,
            Long("trunk") => {
                publish = std::env::var_os("TRUNK_PROFILE").is_some_and(|profile| profile == "release");
                webassembly = std::env::var_os("TRUNK_STAGING_DIR").map(Into::into);
                // As in `xtask/src/book.rs`.
                out = Some(if publish { "dist" } else { "target/serve" }.into());
            }
            other => return Err(other.unexpected()),
        }
    }
    if !(root.starts_with('/') && root.ends_with('/')) {
        return Err(
            format!("--root {root}: a path on a server begins and ends with /, as in /handbook/").into()
        );
    }
    Ok(BuildOptions {
        workspace: ".".into(),
        webassembly: webassembly.ok_or("--webassembly DIR is missing")?,
        out: out.ok_or("--out DIR is missing")?,
        root,
        publish,
    })
}
