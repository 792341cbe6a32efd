//! What is written, what is left alone, what goes.

use crate::{Bench, STEPS};
use base64::Engine;
use calc_core::valve::VALVES;
use press::BuildError;
use press::output::files::Summary;
use std::fs;
use std::io::Read;

#[test]
fn the_same_book_is_written_once() {
    let bench = Bench::new();
    let (pages, first) = bench.print().expect("the book is right");
    assert_eq!((pages, first.removed), (5 + VALVES.len(), 0));
    assert_eq!(
        first.written,
        5 + VALVES.len() + 1 + 11 + 2 * 2 + 1,
        "pages, the page for no page, stylesheet, scripts and worker, glue and module of calculators and job, and what programs ask for"
    );
    assert_eq!(bench.print().expect("the book is right").1, Summary::default());
    bench.steps("1. **Do** something else.\n");
    assert_eq!(
        bench.print().expect("the book is right").1,
        Summary { written: 2, ..Summary::default() },
        "the page, and the worker that lists it"
    );
}

#[test]
fn a_page_that_is_gone_from_the_content_goes_and_what_press_did_not_write_stays() {
    let bench = Bench::new();
    bench.print_as("/", true).expect("the book is right");
    bench.file("out/stage/notes.html", "<p>Somebody else's.</p>");
    fs::remove_file(bench.path(STEPS)).expect("the procedure was there");
    let (_, done) = bench.print_as("/", true).expect("the book is right");
    assert_eq!(done.removed, 1);
    for gone in ["steps.html", "steps.html.br", "steps.html.gz"] {
        assert!(!bench.path("out/stage").join(gone).exists(), "{gone}");
    }
    assert!(bench.path("out/stage/notes.html").exists());
}

#[test]
fn twins_hold_the_same_bytes_and_are_made_anew_only_when_these_change() {
    let bench = Bench::new();
    let (_, done) = bench.print_as("/", true).expect("the book is right");
    assert_eq!(
        done.compressed,
        18 + VALVES.len() + 2 * 2 + 1,
        "six pages, the valves, stylesheet, nine scripts, the worker, the one file; glue and module of calculators and job, and what programs ask for"
    );
    let page = fs::read(bench.path("out/stage/steps.html")).expect("the page");
    let mut gzip = Vec::new();
    let file = fs::File::open(bench.path("out/stage/steps.html.gz")).expect("its twin");
    flate2::read::GzDecoder::new(file).read_to_end(&mut gzip).expect("it is gzip");
    let mut br = Vec::new();
    let mut file = fs::File::open(bench.path("out/stage/steps.html.br")).expect("its twin");
    brotli::BrotliDecompress(&mut file, &mut br).expect("it is brotli");
    assert!(gzip == page && br == page);
    assert_eq!(bench.print_as("/", true).expect("the book is right").1, Summary::default());
    bench.steps("1. **Do** something else.\n");
    assert_eq!(
        bench.print_as("/", true).expect("the book is right").1,
        Summary { written: 4, removed: 0, compressed: 3 },
        "the page, the worker that lists it, the one file that holds it too, the sums"
    );
}

#[test]
fn a_page_that_changes_without_compression_has_no_old_twin() {
    let bench = Bench::new();
    bench.print_as("/", true).expect("the book is right");
    bench.steps("1. **Do** something else.\n");
    bench.print().expect("the book is right");
    assert!(
        !bench.path("out/stage/steps.html.br").exists() && !bench.path("out/stage/steps.html.gz").exists()
    );
    assert!(bench.path("out/stage/index.html.br").exists());
}

#[test]
fn the_same_content_gives_the_same_bytes() {
    let (one, other) = (Bench::new(), Bench::new());
    for bench in [&one, &other] {
        bench.print_as("/", true).expect("the book is right");
    }
    for name in [
        "index.html",
        "stage/steps.html",
        "stage/steps.html.br",
        "stage/steps.html.gz",
        "appendix/sources.html",
    ] {
        let read = |bench: &Bench| fs::read(bench.path("out").join(name)).expect("the file");
        assert!(read(&one) == read(&other), "{name}");
    }
}

#[test]
fn a_book_without_its_wasm_is_refused() {
    let bench = Bench::new();
    fs::remove_file(bench.path("webassembly/job_bg.wasm")).expect("it was there");
    assert!(matches!(bench.print(), Err(BuildError::Unready(why)) if why.contains("job_bg.wasm")));
    bench.file("webassembly/job_bg.wasm", "not really\n");
    bench.file("webassembly/job.js", "// fetches nothing\n");
    assert!(matches!(bench.print(), Err(BuildError::Unready(why)) if why.contains("job.js")));
}

#[test]
fn a_module_fetches_its_own_bytes_and_programs_find_it_by_name() {
    let bench = Bench::new();
    let for_programs = bench.page("calculators.js");
    let name = for_programs.split('"').find_map(|part| part.strip_prefix("./")).expect("it names a script");
    assert_ne!(name, "calculators.js");
    let wasm = name.replace(".js", "_bg.wasm");
    assert_eq!(bench.page(name), format!("fetch(\"{wasm}\");\n"));
    assert!(bench.path("out").join(wasm).is_file());
}

#[test]
fn a_module_that_has_changed_takes_the_place_of_the_old_one() {
    let bench = Bench::new();
    let modules = |bench: &Bench| -> Vec<String> {
        let files = fs::read_dir(bench.path("out")).expect("the folder").flatten();
        let mut names: Vec<String> =
            files.map(|file| file.file_name().to_string_lossy().into_owned()).collect();
        names.retain(|name| name.starts_with("job-"));
        names.sort();
        names
    };
    bench.print_as("/", true).expect("the book is right");
    let old = modules(&bench);
    bench.file("webassembly/job_bg.wasm", "another\n");
    bench.print_as("/", true).expect("the book is right");
    let new = modules(&bench);
    assert_eq!((old.len(), new.len()), (6, 6), "glue and module, each with two twins");
    assert!(old.iter().all(|name| !new.contains(name)));
}

#[test]
fn the_sums_are_those_of_the_files() {
    let bench = Bench::new();
    bench.print_as("/", true).expect("the book is right");
    let check = std::process::Command::new("sha256sum")
        .args(["--check", "--strict", "--quiet", "SHA256SUMS"])
        .current_dir(bench.path("out"))
        .output()
        .expect("sha256sum runs");
    assert!(check.status.success(), "{}", String::from_utf8_lossy(&check.stdout));
}

#[test]
fn the_one_file_holds_every_page_and_asks_nobody() {
    let bench = Bench::new();
    bench.print_as("/", true).expect("the book is right");
    let text = fs::read_to_string(bench.path("out/standing-current.html")).expect("the one file");
    let packed =
        text.split("id=\"book\">").nth(1).and_then(|rest| rest.split('<').next()).expect("the book in it");
    let packed = base64::engine::general_purpose::STANDARD.decode(packed).expect("base64");
    let mut pages = String::new();
    flate2::read::GzDecoder::new(packed.as_slice()).read_to_string(&mut pages).expect("gzip");
    let pages: serde_json::Value = serde_json::from_str(&pages).expect("JSON");
    for page in ["index.html", "stage/index.html", "stage/steps.html"] {
        assert!(pages[page]["html"].as_str().is_some_and(|html| html.contains("page-text")), "{page}");
    }
    assert!(text.contains("default-src 'none'") && !text.contains("'unsafe-inline'"));
    assert!(!text.contains("src=\"") && !text.contains("<link"), "it fetches nothing");
}
