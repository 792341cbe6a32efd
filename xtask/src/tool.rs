//! The tools of the chores: found where they are, installed where they are missing, never silently skipped.
//!
//! What can be installed for this project alone is in `~/.cache/standing-current/tools/NAME-VERSION`, where a
//! fresh clone finds it again; a program of that version that is on PATH already is used. Rust targets come by rustup, and what only the system can install by apt.

use std::path::{Path, PathBuf};
use std::process::Command;

use anyhow::{Context, Result, bail};

use crate::run::{command, run};

/// Debian's own, which sees Debian's modules; another may come before it on PATH.
const PYTHON: &str = "/usr/bin/python3";

/// Where a tool comes from.
enum From {
    /// A Rust target, by rustup.
    Rustup,
    /// A program from crates.io, built here. `locked` is false where the crate's own lock file no longer builds.
    Crate { version: &'static str, locked: bool },
    /// A program from crates.io whose speed is what counts: built as its makers have it.
    Measured { version: &'static str },
    /// A package of the npm registry.
    Npm { version: &'static str },
    /// Packages of Debian, which bring this program.
    Apt { packages: &'static [&'static str] },
    /// A module of Debian's own Python, by the package that brings it.
    Python { package: &'static str },
}

/// Something a chore needs: its name at the place it comes from, and why we need it.
pub struct Tool {
    name: &'static str,
    why: &'static str,
    from: From,
}

pub static WASM: Tool = Tool {
    name: "wasm32-unknown-unknown",
    why: "builds the calculators for the browser",
    from: From::Rustup,
};
pub static WASI: Tool =
    Tool { name: "wasm32-wasip1", why: "runs calc-core's own tests as WebAssembly", from: From::Rustup };
pub static WASM_BINDGEN: Tool = Tool {
    name: "wasm-bindgen-cli",
    why: "joins WebAssembly and browser; the same version as the crate in Cargo.toml",
    from: From::Crate { version: "0.2.130", locked: false },
};
pub static TRUNK: Tool = Tool {
    name: "trunk",
    why: "builds the WebAssembly modules; it takes several minutes to install",
    from: From::Crate { version: "0.21.14", locked: true },
};
pub static CARGO_DENY: Tool = Tool {
    name: "cargo-deny",
    why: "checks licences and origins of the dependencies",
    from: From::Crate { version: "0.20.2", locked: true },
};
/// Not Debian's: version 108 writes WebAssembly that fails at start.
pub static WASM_OPT: Tool = Tool {
    name: "binaryen",
    why: "makes the WebAssembly smaller (wasm-opt)",
    from: From::Npm { version: "132.0.0" },
};
pub static AXE: Tool = Tool {
    name: "axe-core",
    why: "checks the pages for accessibility",
    from: From::Npm { version: "4.14.1" },
};
/// Later versions want a newer Node than Debian's.
pub static HTML_VALIDATE: Tool =
    Tool { name: "html-validate", why: "checks the pages' HTML", from: From::Npm { version: "9.7.1" } };
pub static PRH: Tool =
    Tool { name: "prh", why: "finds what the book does not say", from: From::Npm { version: "5.4.4" } };
/// Later versions want a newer Node than Debian's.
pub static CSPELL: Tool =
    Tool { name: "cspell", why: "spells British English", from: From::Npm { version: "9.8.0" } };
/// Of biome and this, the one that knows what a browser's interfaces are called and give back: biome had nothing to say.
pub static TYPESCRIPT: Tool =
    Tool { name: "typescript", why: "checks the JavaScript (tsc)", from: From::Npm { version: "7.0.2" } };
pub static NODE: Tool = Tool {
    name: "node",
    why: "runs npm's tools and calc-core's tests as WebAssembly",
    from: From::Apt { packages: &["nodejs", "npm"] },
};
pub static CHROMIUM: Tool = Tool {
    name: "chromium",
    why: "is the browser of the journeys",
    from: From::Apt { packages: &["chromium", "chromium-driver"] },
};
pub static CHROMEDRIVER: Tool = Tool {
    name: "chromedriver",
    why: "steers the browser",
    from: From::Apt { packages: &["chromium", "chromium-driver"] },
};
pub static FIREFOX: Tool = Tool {
    name: "firefox-esr",
    why: "is the second browser of the journeys",
    from: From::Apt { packages: &["firefox-esr"] },
};
/// Debian has none.
pub static GECKODRIVER: Tool = Tool {
    name: "geckodriver",
    why: "steers Firefox",
    from: From::Crate { version: "0.37.1", locked: true },
};
pub static WEBKIT: Tool = Tool {
    name: "WebKitWebDriver",
    why: "brings the third browser of the journeys, with the tablet's engine, and steers it",
    from: From::Apt { packages: &["webkit2gtk-driver"] },
};
pub static XVFB: Tool = Tool {
    name: "Xvfb",
    why: "is the screen of the browsers that do not go without",
    from: From::Apt { packages: &["xvfb"] },
};
pub static PDFTOTEXT: Tool = Tool {
    name: "pdftotext",
    why: "reads back the pages that were printed",
    from: From::Apt { packages: &["poppler-utils"] },
};
/// A general generator of static books, measured beside `press`; with its search and server left out.
pub static MDBOOK: Tool =
    Tool { name: "mdbook", why: "is measured beside press", from: From::Measured { version: "0.5.4" } };
pub static NGSPICE: Tool = Tool {
    name: "ngspice",
    why: "works out networks independently, for the outside checks",
    from: From::Apt { packages: &["ngspice"] },
};

pub static SCIPY: Tool = Tool {
    name: "scipy",
    why: "solves what the calculators' independent references ask (tests/reference)",
    from: From::Python { package: "python3-scipy" },
};

/// Puts every tool in place.
///
/// # Errors
/// When one is missing and cannot be installed from here: then says the command to type.
pub fn ensure(tools: &[&Tool]) -> Result<()> {
    tools.iter().try_for_each(|tool| tool.ensure())
}

impl Tool {
    /// The folder of a tool of our own.
    pub fn folder(&self) -> PathBuf {
        let cache = std::env::var_os("XDG_CACHE_HOME").map_or_else(
            || PathBuf::from(std::env::var_os("HOME").unwrap_or_default()).join(".cache"),
            PathBuf::from,
        );
        let version = match self.from {
            From::Crate { version, .. } | From::Measured { version } | From::Npm { version } => version,
            From::Rustup | From::Apt { .. } | From::Python { .. } => "",
        };
        cache.join("standing-current/tools").join(format!("{}-{version}", self.name))
    }

    /// The folder of a tool's programs, for PATH.
    pub fn programs(&self) -> PathBuf {
        self.folder().join(match self.from {
            From::Npm { .. } => "node_modules/.bin",
            _ => "bin",
        })
    }

    /// A file of an npm package.
    pub fn file(&self, path: &str) -> PathBuf {
        self.folder().join("node_modules").join(self.name).join(path)
    }

    fn ensure(&self) -> Result<()> {
        if self.found()? {
            return Ok(());
        }
        let (name, folder) = (self.name, self.folder());
        println!("{name} is missing; it {}. Installing it.", self.why);
        match self.from {
            From::Rustup => run(&mut command(&["rustup", "target", "add", name])),
            From::Crate { version, locked } => {
                let mut install = command(&["cargo", "install", "--quiet", "--force"]);
                install.arg(format!("{name}@{version}")).arg("--root").arg(&folder);
                if locked {
                    install.arg("--locked");
                }
                // A tool runs a few seconds a day: building it fast matters more than its speed.
                install.envs([
                    ("CARGO_PROFILE_RELEASE_LTO", "off"),
                    ("CARGO_PROFILE_RELEASE_CODEGEN_UNITS", "16"),
                    ("CARGO_PROFILE_RELEASE_OPT_LEVEL", "1"),
                ]);
                run(&mut install)
            }
            From::Measured { version } => {
                let program = format!("{name}@{version}");
                let words =
                    ["cargo", "install", "--quiet", "--force", "--locked", "--no-default-features", &program];
                run(command(&words).arg("--root").arg(&folder))
            }
            From::Npm { version } => {
                NODE.ensure()?;
                std::fs::create_dir_all(&folder)?;
                let mut install = command(&["npm", "install", "--no-fund", "--no-audit", "--loglevel=error"]);
                run(install.arg("--prefix").arg(&folder).arg(format!("{name}@{version}")))
            }
            From::Apt { packages } => apt(name, packages),
            From::Python { package } => apt(name, &[package]),
        }?;
        if !self.found()? {
            bail!("{name} was installed and still cannot be found (looked in {} and PATH)", folder.display());
        }
        Ok(())
    }

    fn found(&self) -> Result<bool> {
        Ok(match self.from {
            From::Rustup => {
                let listed = command(&["rustup", "target", "list", "--installed"]).output();
                let listed = listed.context("rustup is needed to add Rust targets: https://rustup.rs")?;
                String::from_utf8_lossy(&listed.stdout).lines().any(|target| target == self.name)
            }
            // cargo writes this list last, so that a build broken off half-way does not count.
            From::Crate { version, .. } | From::Measured { version } => {
                self.folder().join(".crates.toml").is_file() && holds_a_file(&self.programs())
                    || says(self.name, version)
            }
            From::Npm { .. } => self.file("package.json").is_file(),
            From::Apt { .. } => on_path(self.name),
            From::Python { .. } => {
                let import = format!("import {}", self.name);
                Path::new(PYTHON).is_file()
                    && command(&[PYTHON, "-c", &import]).output().is_ok_and(|ran| ran.status.success())
            }
        })
    }
}

/// A command whose PATH starts with the programs of these tools.
pub fn with_tools(words: &[&str], tools: &[&Tool]) -> Result<Command> {
    let own = tools.iter().map(|tool| tool.programs());
    let path = std::env::var_os("PATH").unwrap_or_default();
    let path = std::env::join_paths(own.chain(std::env::split_paths(&path)))?;
    let mut command = command(words);
    command.env("PATH", path);
    Ok(command)
}

fn apt(program: &str, packages: &[&str]) -> Result<()> {
    let by_hand = format!("apt-get update && apt-get install --yes {}", packages.join(" "));
    if !on_path("apt-get") {
        bail!("`{program}` is needed; on Debian it comes with: {by_hand}");
    }
    let root = command(&["id", "-u"]).output().is_ok_and(|id| id.stdout == b"0\n");
    if !root {
        bail!(
            "only root may install `{program}`. Type this, then start again:\n\n    sudo sh -c '{by_hand}'"
        );
    }
    let quiet = ("DEBIAN_FRONTEND", "noninteractive");
    run(command(&["apt-get", "update", "--quiet=2"]).envs([quiet]))?;
    let mut install = command(&["apt-get", "install", "--yes", "--quiet=2", "--no-install-recommends"]);
    run(install.args(packages).envs([quiet]))
}

/// Whether a program on PATH says that it is of this version.
fn says(program: &str, version: &str) -> bool {
    let said = command(&[program, "--version"]).output().map(|output| output.stdout).unwrap_or_default();
    String::from_utf8_lossy(&said).split_whitespace().nth(1) == Some(version)
}

fn on_path(program: &str) -> bool {
    let path = std::env::var_os("PATH").unwrap_or_default();
    std::env::split_paths(&path).any(|folder| folder.join(program).is_file())
}

fn holds_a_file(folder: &Path) -> bool {
    std::fs::read_dir(folder).is_ok_and(|mut files| files.next().is_some())
}
