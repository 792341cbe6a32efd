//! What can be seen of the book without a browser.

use std::collections::{BTreeMap, BTreeSet};
use std::path::PathBuf;
use std::process::Command;

use calc_core::calculator::Link;
use serde_json::Value;
use tests::site::{Page, compressed, folder, given, pages, webassembly};

/// Brotli-compressed bytes of a WebAssembly module, by the beginning of its name. No page brings that of the job before it is
/// wanted: it reads, writes and keeps whole jobs, runs procedures and works out their limits. The aims are 230 and 320 kB; these
/// are what the forms, charts, wiring and screens of a run have come to.
const WEBASSEMBLY_BUDGET: [(&str, u64); 2] = [("calculators-", 263_000), ("job-", 342_700)];
/// Brotli-compressed bytes of a first visit of any page, WebAssembly included. The aim is 280 kB.
const FIRST_VISIT_BUDGET: u64 = 320_000;

/// The policy of every page, as a meta element can say it.
const POLICY: &str = "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; style-src 'self'; img-src 'self' data:; \
    connect-src 'self'; manifest-src 'self'; worker-src 'self'; base-uri 'self'; form-action 'none'";

/// Fails with every fault of every page at once, so that one run shows them all.
#[track_caller]
fn no_fault(faults_of: impl Fn(&Page) -> Vec<String>) {
    let faults: Vec<String> = pages()
        .iter()
        .flat_map(|page| {
            faults_of(page).into_iter().map(|fault| format!("{}: {fault}", page.path)).collect::<Vec<_>>()
        })
        .collect();
    assert!(faults.is_empty(), "\n{}", faults.join("\n"));
}

#[test]
fn pages_parse_without_an_error() {
    no_fault(|page| page.html.errors.iter().map(ToString::to_string).collect());
}

#[test]
fn html_is_valid() {
    let config = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/book/html-validate.json");
    let files = pages().into_iter().map(|page| folder().join(page.path));
    let output = Command::new(given("HTML_VALIDATE"))
        .args(["--config", config, "--formatter", "text"])
        .args(files)
        .output()
        .expect("html-validate runs");
    let said = String::from_utf8_lossy(&output.stdout) + String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "\n{said}");
}

#[test]
fn every_reference_is_relative_and_leads_somewhere() {
    let pages = pages();
    let all = |attribute: &str| -> BTreeMap<PathBuf, BTreeSet<String>> {
        let of = |page: &Page| {
            let elements = page.all(&format!("[{attribute}]")).into_iter();
            elements.filter_map(|element| element.attr(attribute)).map(str::to_owned).collect()
        };
        pages.iter().map(|page| (PathBuf::from(&page.path), of(page))).collect()
    };
    let (anchors, calculators) = (all("id"), all("data-calculator"));
    no_fault(|page| {
        let mut faults = Vec::new();
        for reference in page.references() {
            // The page that represents every address that is none has to name the root of the book.
            if page.path == "404.html" && reference == "/" {
                continue;
            }
            if reference.starts_with('/') || reference.contains(':') {
                faults.push(format!("`{reference}` is not relative to the page"));
                continue;
            }
            let (file, anchor) = page.target(reference);
            if !folder().join(&file).is_file() {
                faults.push(format!("`{reference}` leads to no file"));
            } else if let Some(anchor) = anchor {
                // A calculator's link names its calculator, which is on that page under this or another name.
                let calculator = Link::read(&anchor).map(|link| link.calculator);
                let there = match &calculator {
                    Some(calculator) => {
                        calculators.get(&file).is_some_and(|there| there.contains(calculator))
                    }
                    None => anchors.get(&file).is_some_and(|ids| ids.contains(&anchor)),
                };
                if !there {
                    faults.push(format!("`{reference}` leads to no element"));
                }
            }
        }
        faults
    });
}

#[test]
fn ids_are_unique_and_references_to_them_hold() {
    no_fault(|page| {
        let mut ids = BTreeSet::new();
        let mut faults = Vec::new();
        for id in page.all("[id]").into_iter().filter_map(|element| element.attr("id")) {
            if !ids.insert(id) {
                faults.push(format!("id `{id}` stands twice"));
            }
        }
        for attribute in ["for", "aria-describedby", "aria-labelledby", "aria-controls", "list"] {
            for element in page.all(&format!("[{attribute}]")) {
                for id in element.attr(attribute).unwrap_or_default().split_whitespace() {
                    if !ids.contains(id) {
                        faults.push(format!("{attribute}=\"{id}\" names no element"));
                    }
                }
            }
        }
        faults
    });
}

#[test]
fn the_policy_holds_and_nothing_is_inline() {
    no_fault(|page| {
        let mut faults = Vec::new();
        let policy = page.first("head > meta[http-equiv='Content-Security-Policy']");
        let policy = policy.and_then(|meta| meta.attr("content")).unwrap_or_default();
        if policy != POLICY {
            faults.push(format!("policy is `{policy}`"));
        }
        faults.extend(page.all("script:not([src])").iter().map(|_| "inline script".to_owned()));
        faults.extend(page.all("style").iter().map(|_| "inline style".to_owned()));
        for element in page.all("*") {
            let forbidden = |name: &str| name == "style" || name.starts_with("on");
            for (name, _) in element.value().attrs().filter(|(name, _)| forbidden(name)) {
                faults.push(format!("attribute `{name}` on <{}>", element.value().name()));
            }
        }
        faults
    });
}

#[test]
fn a_page_loads_the_webassembly_that_it_needs_and_no_other() {
    let parts = [
        "head > link[rel=modulepreload][data-module=calculators][href$='.js']",
        "head > link[rel=preload][as=fetch][type='application/wasm'][crossorigin][href*='calculators-'][href$='_bg.wasm']",
        "script[type=module][src$='loader.js']",
    ];
    no_fault(|page| {
        let needed = usize::from(page.calculates());
        let wrong = parts.iter().filter(|part| page.all(part).len() != needed);
        let mut faults: Vec<String> = wrong.map(|part| format!("expected {needed} of `{part}`")).collect();
        let job = page.calculates() || page.first("[data-job], #page-run").is_some();
        if page.all("head > link[rel=job][data-module=job][href$='.js']").len() != usize::from(job) {
            faults.push(format!("the module of the job is named, or is not: {job} was expected"));
        }
        faults
    });
}

#[test]
fn every_page_is_named_and_marked_up_for_readers() {
    let mut titles = BTreeMap::new();
    for page in pages() {
        let title = page.first("title").map(|title| title.text().collect::<String>()).unwrap_or_default();
        if let Some(other) = titles.insert(title.clone(), page.path.clone()) {
            panic!("{} and {other} are both titled `{title}`", page.path);
        }
    }
    no_fault(|page| {
        let needs = ["html[lang=en-GB]", "meta[name=viewport]", "main", "h1", "link[rel=stylesheet]"];
        let missing = needs.iter().filter(|selector| page.all(selector).len() != 1);
        missing.map(|selector| format!("expected exactly one `{selector}`")).collect()
    });
}

#[test]
fn calculators_show_their_example_without_scripts() {
    let mut calculators = 0;
    for page in pages() {
        for calculator in page.all("section.calculator[data-calculator]") {
            calculators += 1;
            let selector = scraper::Selector::parse(".answers [data-answer]").expect("a selector");
            let answers: Vec<String> =
                calculator.select(&selector).map(|answer| answer.text().collect()).collect();
            let worked = !answers.is_empty()
                && answers.iter().all(|answer| answer.contains(|c: char| c.is_ascii_digit()));
            assert!(worked, "{}: {:?} shows {answers:?}", page.path, calculator.attr("id"));
        }
    }
    assert!(calculators > 0, "no calculator in the book");
}

#[test]
fn every_picture_of_a_calculator_has_words_and_points() {
    let mut pictures = 0;
    for page in pages() {
        let with_picture = page.all(".calculator:has(figure.picture)").len();
        let named =
            ".calculator figure.picture > :is([role=img], [role=group]):is([aria-label], [aria-labelledby])";
        assert_eq!(
            page.all(named).len(),
            page.all(".calculator figure.picture").len(),
            "{}: a picture without words",
            page.path
        );
        let tabled = page.all(".calculator:has(figure.picture):has(details.points table td)").len();
        assert_eq!(tabled, with_picture, "{}: a picture without a table of its points", page.path);
        pictures += with_picture;
    }
    assert!(pictures > 0, "no calculator in the book shows a picture");
}

#[test]
fn webassembly_stays_within_its_budget() {
    let modules = webassembly();
    assert_eq!(modules.len(), WEBASSEMBLY_BUDGET.len(), "{modules:?}");
    for (name, budget) in WEBASSEMBLY_BUDGET {
        let is_it = |module: &&PathBuf| {
            module.file_name().is_some_and(|file| file.to_string_lossy().starts_with(name))
        };
        let module = modules.iter().find(is_it).unwrap_or_else(|| panic!("no module {name} in {modules:?}"));
        let bytes = compressed(module);
        assert!(bytes <= budget, "{name}: {bytes} bytes with brotli; the budget is {budget}");
    }
}

#[test]
fn a_first_visit_stays_within_its_budget() {
    no_fault(|page| {
        let bytes = page.first_visit();
        let over = bytes > FIRST_VISIT_BUDGET;
        over.then(|| format!("{bytes} bytes with brotli; the budget is {FIRST_VISIT_BUDGET}"))
            .into_iter()
            .collect()
    });
}

#[test]
fn files_are_compressed_for_sending() {
    no_fault(|page| {
        let file = folder().join(&page.path).into_os_string();
        let missing = [".br", ".gz"].into_iter().filter(|suffix| {
            let mut compressed = file.clone();
            compressed.push(suffix);
            !PathBuf::from(compressed).is_file()
        });
        missing.map(|suffix| format!("no {suffix} beside it")).collect()
    });
}

#[tokio::test(flavor = "multi_thread")]
async fn the_server_sends_the_policy_and_the_types() -> thirtyfour::error::WebDriverResult<()> {
    // Where the book is not kept: what is kept comes without these headers.
    let browser = tests::browser::Browser::open_new(tests::engine::Engine::Chromium).await?;
    browser.page("index.html").await?;
    let wasm = webassembly().remove(0);
    let wasm = wasm.file_name().unwrap_or_default().to_string_lossy();
    let ask = |url: &str| {
        format!(
            "const done = arguments[arguments.length - 1];
             fetch({url:?}).then(r => done([r.status, r.headers.get('content-type'),
                 r.headers.get('content-security-policy'), r.headers.get('content-encoding')]));"
        )
    };
    let policy = format!("{POLICY}; frame-ancestors 'none'");
    for (url, status, media_type) in [
        ("index.html", 200, "text/html; charset=utf-8"),
        ("loader.js", 200, "text/javascript; charset=utf-8"),
        (&*wasm, 200, "application/wasm"),
        ("a/sub/path/index.html", 200, "text/html; charset=utf-8"),
        ("nowhere.html", 404, "text/html; charset=utf-8"),
    ] {
        let answer = browser.execute_async(ask(url), Vec::new()).await?;
        let [got_status, got_type, got_policy, encoding] = answer.convert::<[Value; 4]>()?;
        assert_eq!(
            (got_status, got_type, got_policy),
            (status.into(), media_type.into(), policy.clone().into()),
            "{url}"
        );
        assert_eq!(encoding, "br", "{url} is sent compressed");
    }
    Ok(())
}
