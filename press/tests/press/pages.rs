//! What is in a printed page.

use crate::{Bench, STEPS};

#[track_caller]
pub fn holds(page: &str, parts: &[&str]) {
    for part in parts {
        assert!(page.contains(part), "no {part}\nin {page}");
    }
}

#[test]
fn steps_are_numbered_across_stages_and_can_be_linked_to() {
    let bench = Bench::new();
    let page = bench
        .printed_steps("## A\n\n1. One\n   1. inner\n2. Two\n\n## B\n\n3. Three, after [two](#step-2)\n");
    holds(
        &page,
        &[
            "<ol class=\"steps\">\n<li id=\"step-1\">\n<p class=\"step\">Step 1</p>\n",
            "<ol>\n<li>inner</li>\n</ol>",
            "<ol class=\"steps\" start=\"3\">\n<li id=\"step-3\">\n<p class=\"step\">Step 3</p>\n",
            "<a href=\"#step-2\">two</a>",
        ],
    );
    let chapter = "+++\ntitle = \"C\"\nkind = \"table\"\nsummary = \"D\"\n+++\n1. One\n";
    bench.file("content/2-stage/2-plain.md", chapter);
    assert!(!bench.page("stage/plain.html").contains("class=\"step\""));
}

#[test]
fn every_address_is_relative_and_names_its_file() {
    let bench = Bench::new();
    bench.file(
        "content/3-appendix/index.md",
        "+++\ntitle = \"Appendix\"\nkind = \"appendix\"\nsummary = \"More.\"\n+++\n",
    );
    let page = bench.printed_steps("See [why](index.md#why), [the cover](../index.md), [this](source:gum), [that](https://example.org/).\n");
    holds(
        &page,
        &[
            "href=\"../book.css\"",
            "<a href=\"../stage/index.html#why\" data-to=\"The stage\">why</a>",
            "<a href=\"../index.html\" data-to=\"A book\">the cover</a>",
            "href=\"../appendix/sources.html#source-gum\"",
            "<a href=\"https://example.org/\" data-to=\"https://example.org/\">that</a>",
        ],
    );
    assert!(!page.contains("href=\"/") && !page.contains("src=\"/"));
    holds(
        &bench.page("index.html"),
        &["href=\"book.css\"", "href=\"stage/steps.html\"", "href=\"appendix/sources.html\""],
    );
}

#[test]
fn the_frame_says_where_the_page_stands() {
    let bench = Bench::new();
    let page = bench.page("stage/steps.html");
    holds(
        &page,
        &[
            "<!DOCTYPE html><html lang=\"en-GB\">",
            "<title>Steps – Standing Current</title>",
            "<meta name=\"description\" content=\"Do this.\">",
            "<a class=\"skip\" href=\"#page-text\">",
            "<li><a href=\"../index.html\">Cover</a></li><li><a href=\"../stage/index.html\">The stage</a></li><li aria-current=\"page\">Steps</li>",
            "<a rel=\"prev\" href=\"../stage/index.html\">",
            "<a rel=\"next\" href=\"../appendix/valves.html\">",
            "<a href=\"../stage/steps.html\" aria-current=\"page\">Steps</a>",
            "Local electrical codes, the maker’s service data and licensed practice come before this handbook.",
        ],
    );
}

#[test]
fn cautions_stand_at_the_top_and_where_they_are_placed() {
    let page = Bench::new().printed_steps("1. Do:\n\n    ```caution\n    hot\n    ```\n");
    let charged = page
        .find("<strong>Danger</strong> Charged</p>\n<p>Discharge it <strong>first</strong>.</p>")
        .expect("the caution of the front matter");
    let hot = page
        .find("<strong>Caution</strong> Hot</p>\n<p>See <a href=\"../stage/index.html#why\"")
        .expect("the caution of the step");
    assert!(charged < hot);
}

#[test]
fn a_reading_says_where_what_to_expect_and_when_to_stop() {
    let page = Bench::new().printed_steps(
        "```reading\nquantity = \"Drop\"\nprobes = \"Pin 8\"\nexpect = \"34 mV\"\nstop = \"Over 61 mV: off\"\nunit = \"mV\"\nplausible = [\"0 mV\", \"900 mV\"]\neach = \"socket\"\n```\n",
    );
    holds(
        &page,
        &[
            "aria-label=\"Reading: Drop\"><div class=\"says\"><p class=\"quantity\">Drop</p>",
            "<dt>Probes</dt> <dd>Pin 8</dd>",
            "<dt>Expect</dt> <dd>34\u{a0}mV</dd>",
            "<dl class=\"blanks\"><div><dt>A1</dt><dd>mV</dd></div><div><dt>A2</dt>",
            "<p class=\"stop-rule\">Stop if over 61\u{a0}mV: off.</p>",
        ],
    );
}

#[test]
fn the_amplifiers_own_words_are_printed_as_examples_that_a_run_finds() {
    let page = Bench::new().printed_steps("1. Of the {valve: 6L6GC} read **pin {pin grid: 5}** twice.\n");
    holds(
        &page,
        &[
            "Of the <span data-of=\"valve\">6L6GC</span> read <strong>pin <span data-of=\"pin grid\">5</span></strong> twice.",
        ],
    );
}

#[test]
fn a_calculator_is_printed_as_web_gives_it_and_brings_its_wasm() {
    let bench = Bench::new();
    let page = bench.printed_steps("```calculator\ncalculator = \"dissipation\"\nid = \"first\"\n[inputs]\ncathode-current = \"38 mA\"\n```\n");
    let block = web::Block {
        id: "first".into(),
        calculator: "dissipation".into(),
        inputs: [("cathode-current".into(), "38 mA".into())].into(),
    };
    holds(
        &page,
        &[
            &web::printed(&block, &|_| String::new()).expect("there is such a calculator"),
            "<link rel=\"modulepreload\" data-module=\"calculators\" href=\"../calculators-",
            "<link rel=\"preload\" as=\"fetch\" type=\"application/wasm\" crossorigin href=\"../calculators-",
            "<script type=\"module\" src=\"../loader.js\"></script>",
        ],
    );
    assert!(!bench.page("index.html").contains("loader.js"), "a page without a calculator loads none");
}

#[test]
fn the_content_policy_is_kept() {
    let page = Bench::new().printed_steps(
        "| A | B |\n|--:|:-:|\n| 1 | $\\begin{aligned} a &= b \\\\ c &= d \\end{aligned}$ |\n",
    );
    holds(
        &page,
        &[
            "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; style-src 'self'",
            "<th scope=\"col\" class=\"right\">A</th>",
            "<td class=\"centre\"><math>",
        ],
    );
    assert!(!page.contains(" style=") && !page.contains("<style"), "{page}");
}

#[test]
fn a_wide_table_scrolls_in_a_named_region_of_its_own() {
    let page = Bench::new().printed_steps("## Ratings\n\n| A |\n|---|\n| 1 |\n\n| B |\n|---|\n| 2 |\n");
    holds(
        &page,
        &[
            "<section class=\"scroll\" tabindex=\"0\" aria-label=\"Table 1: Ratings\">\n<table>",
            "aria-label=\"Table 2: Ratings\">",
        ],
    );
}

#[test]
fn formulas_become_mathml() {
    let page = Bench::new().printed_steps("So $P_a = V I$, that is $$P = 1$$\n");
    holds(
        &page,
        &["<math><msub><mi>P</mi><mi>a</mi></msub><mo>=</mo>", "tabindex=\"0\"><math display=\"block\">"],
    );
}

#[test]
fn a_figure_stands_in_the_page_at_the_size_it_was_drawn() {
    let bench = Bench::new();
    let svg = "<?xml version=\"1.0\"?>\n<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 640 320\"><title>A pair</title><desc>Two</desc></svg>\n";
    bench.file("content/2-stage/figures/pair.svg", svg);
    let page = bench.printed_steps("![Two valves](figures/pair.svg \"Seen from below\")\n");
    holds(
        &page,
        &[
            "<section class=\"scroll\" tabindex=\"0\" aria-label=\"Figure: A pair\"><svg role=\"img\" width=\"640\" height=\"320\" xmlns=",
            "<figcaption>Seen from below</figcaption>",
        ],
    );
    assert!(!page.contains("<?xml") && !page.contains("<p><figure"));
}

#[test]
fn a_long_page_lists_its_headings() {
    let bench = Bench::new();
    assert!(!bench.printed_steps("## A\n\n## B\n").contains("On this page"));
    let page = bench.printed_steps("## A\n\n## B {#own}\n\n## The $R$ of `C`\n");
    holds(
        &page,
        &[
            "<li><a href=\"#own\">B</a></li>",
            "<a href=\"#the-r-of-c\">The <math><mi>R</mi></math> of <code>C</code></a>",
        ],
    );
}

#[test]
fn needs_and_sources_are_listed() {
    let bench = Bench::new();
    bench.file(
        STEPS,
        "+++\ntitle = \"Steps\"\nkind = \"table\"\nsummary = \"Do this.\"\nneeds = [\"a meter & leads\"]\nsources = [\"gum\"]\n+++\nSee [marks](source:iec-60062).\n",
    );
    let page = bench.page("stage/steps.html");
    holds(
        &page,
        &[
            "<h2 id=\"page-needs\">What you need</h2><ul><li>a meter &amp; leads</li>",
            "<h2 id=\"page-sources\">Sources</h2>",
        ],
    );
    let foot = &page[page.find("page-sources").expect("a list of sources")..];
    holds(foot, &["appendix/sources.html#source-gum\"", "appendix/sources.html#source-iec-60062\""]);
}

#[test]
fn the_list_of_sources_says_how_each_was_seen() {
    let page = Bench::new().page("appendix/sources.html");
    for source in calc_core::source::all() {
        holds(
            &page,
            &[&format!("<div id=\"source-{}\">", source.id), &format!("Standing: {}.", source.trust.words())],
        );
    }
}

#[test]
fn notes_stand_at_the_foot_and_lead_back() {
    let page = Bench::new().printed_steps("So.[^why] And so.[^why]\n\n[^why]: Because.\n");
    holds(
        &page,
        &[
            "<a class=\"note\" id=\"note-1-mention\" href=\"#note-1\" aria-label=\"Note 1\">1</a>",
            "<li id=\"note-1\">\n<p>Because.</p>",
            "<a href=\"#note-1-mention\">",
        ],
    );
}

#[test]
fn the_page_for_no_page_knows_where_the_book_begins() {
    let bench = Bench::new();
    bench.print_as("/a/sub/path/", false).expect("the book is right");
    let page = std::fs::read_to_string(bench.path("out/404.html")).expect("the page");
    holds(
        &page,
        &[
            "<base href=\"/a/sub/path/\">",
            "href=\"index.html\"",
            "href=\"stage/index.html\"",
            "href=\"book.css\"",
        ],
    );
    assert!(!page.contains("href=\"#"), "an anchor would lead to the cover");
}

#[test]
fn a_link_to_a_calculator_leads_to_its_page() {
    let bench = Bench::new();
    bench.file(
        "content/2-stage/2-power.md",
        "+++\ntitle = \"Power\"\nkind = \"calculator\"\nsummary = \"Its page.\"\n+++\n\n```calculator\ncalculator = \"output-power\"\n```\n",
    );
    let page = bench.printed_steps(
        "1. See [it](calculator:output-power).\n\n```calculator\ncalculator = \"output-power\"\n```\n",
    );
    holds(&page, &["href=\"../stage/power.html\""]);
}

#[test]
fn an_answer_leads_on_to_the_calculator_that_takes_it() {
    let bench = Bench::new();
    bench.file(
        "content/2-stage/2-dissipation.md",
        "+++\ntitle = \"Dissipation\"\nkind = \"calculator\"\nsummary = \"Its page.\"\n+++\n\n```calculator\ncalculator = \"dissipation\"\n```\n",
    );
    let page = bench.printed_steps("```calculator\ncalculator = \"idle-current\"\n```\n");
    holds(
        &page,
        &[
            "data-homes=\"../stage/dissipation.html\"",
            "href=\"../stage/dissipation.html#dissipation;*cathode-current=",
        ],
    );
}
