//! What the service worker is told of an edition.

use crate::{Bench, STEPS};
use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

/// What `printf 'body { margin: 0 }\n' | sha256sum` (GNU coreutils 9.1) says of the stylesheet.
const STYLESHEET: &str = "b4d5deb2f19a59cc8683e443244245fad7c2e9a22e20b02dc2068698c69a9528";

#[track_caller]
fn worker(bench: &Bench) -> String {
    bench.page("service-worker.js")
}

#[track_caller]
fn edition(worker: &str) -> &str {
    let start = "const EDITION = \"";
    let name = worker.lines().find_map(|line| line.strip_prefix(start)?.strip_suffix("\";"));
    name.expect("the edition has a name")
}

fn collect(folder: &Path, at: &str, names: &mut BTreeSet<String>) {
    for entry in fs::read_dir(folder).expect("a folder of the book").flatten() {
        let name = format!("{at}{}", entry.file_name().to_string_lossy());
        if entry.path().is_dir() {
            collect(&entry.path(), &format!("{name}/"), names);
        } else {
            names.insert(name);
        }
    }
}

#[test]
fn every_file_is_listed_with_the_hash_of_its_bytes_and_none_that_is_not_the_books() {
    let bench = Bench::new();
    bench.file("out/notes.html", "<p>Somebody else's.</p>");
    bench.print_as("/", true).expect("the book is right");
    let worker = worker(&bench);
    let list = worker.split_once("const FILES = {\n").and_then(|(_, rest)| rest.split_once("};"));
    let list = list.expect("a list of files").0;
    let names: BTreeSet<String> =
        list.lines().filter_map(|line| line.split('"').nth(1)).map(str::to_owned).collect();
    let mut present = BTreeSet::new();
    collect(&bench.path("out"), "", &mut present);
    present.retain(|name| {
        !name.ends_with(".br")
            && !name.ends_with(".gz")
            && !["notes.html", "service-worker.js", "standing-current.html", "SHA256SUMS"].contains(&&**name)
    });
    assert!(present.contains("404.html") && present.contains("stage/steps.html"));
    assert_eq!(names, present);
    assert!(list.contains(&format!("\"book.css\": \"{STYLESHEET}\",")), "{list}");
    assert!(worker.ends_with("\n// keeps\n"), "what we wrote follows");
}

#[test]
fn an_edition_is_named_by_its_bytes_alone() {
    let (one, other) = (Bench::new(), Bench::new());
    let first = worker(&one);
    assert_eq!(first, worker(&other));
    one.print_as("/", true).expect("the book is right");
    assert_eq!(first, worker(&one), "compressed twins make no other edition");
    let mut names = vec![edition(&first).to_owned()];
    let mut differs = |bench: &Bench, why: &str| {
        let name = edition(&worker(bench)).to_owned();
        assert!(name.len() == 8 && !names.contains(&name), "{why}: {name}");
        names.push(name);
    };
    one.steps("1. **Do** something else.\n");
    differs(&one, "a page has changed");
    one.file("webassembly/job_bg.wasm", "other code\n");
    differs(&one, "the WebAssembly has changed");
    one.file("press/assets/book.css", "body { margin: 1px }\n");
    differs(&one, "a file has changed, its name has not");
    one.file("web/js/service-worker.js", "// keeps better\n");
    differs(&one, "the worker has changed");
    fs::remove_file(one.path(STEPS)).expect("the procedure was there");
    differs(&one, "a page has gone");
}
