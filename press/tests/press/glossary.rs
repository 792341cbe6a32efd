//! Terms link to the glossary where a page first uses them.

use crate::Bench;
use crate::pages::holds;

const ROWS: &str = "| anode | Collects the current. |\n| anode dissipation | Its heat. |\n| grid leak, leak | Holds the grid. |\n\
                    | valve <!-- not linked --> | Glass. |\n";

fn link(id: &str, words: &str) -> String {
    format!("<a class=\"term\" href=\"../appendix/glossary.html#term-{id}\">{words}</a>")
}

#[test]
fn the_first_use_is_linked_and_no_other() {
    let bench = Bench::new();
    bench.glossary(ROWS);
    let page = bench.printed_steps(
        "Anodes & grids. The anode of a valve.\n\n1. Mind the anode dissipation; the leak, the grid leak.\n",
    );
    holds(&page, &[&format!("<p>{} &amp; grids. The anode of a valve.</p>", link("anode", "Anodes"))]);
    let step = format!(
        "Mind the {}; the {}, the grid leak.",
        link("anode-dissipation", "anode dissipation"),
        link("grid-leak", "leak")
    );
    holds(&page, &[&step]);
    assert_eq!(page.matches("class=\"term\"").count(), 3, "{page}");
}

#[test]
fn nothing_is_linked_where_it_would_disturb() {
    let bench = Bench::new();
    bench.glossary(ROWS);
    bench.file(
        "content/cautions.toml",
        "[[caution]]\nid = \"discharge\"\nsignal = \"danger\"\ntitle = \"Anode\"\ntext = \"The anode is live.\"\n",
    );
    let page = bench.printed_steps(
        "## The anode\n\n`anode` **anode** *anode* [anode](#the-anode)\n\n| anode |\n|---|\n| anode |\n\n\
         ```reading\nquantity = \"anode\"\nprobes = \"anode\"\nexpect = \"1 V\"\nstop = \"anode\"\nunit = \"V\"\nplausible = [\"0 V\", \"9 V\"]\n```\n",
    );
    assert!(!page.contains("class=\"term\""), "{page}");
}

#[test]
fn a_row_of_the_glossary_can_be_linked_to_and_links_nothing_to_itself() {
    let bench = Bench::new();
    bench.glossary(ROWS);
    bench.steps("1. See [leak](../9-appendix/1-glossary.md#term-grid-leak).\n");
    let page = bench.page("appendix/glossary.html");
    holds(
        &page,
        &["<tr id=\"term-grid-leak\"><td>grid leak, leak</td>", "<tr id=\"term-valve\"><td>valve </td>"],
    );
    assert!(!page.contains("class=\"term\""), "{page}");
}

#[test]
fn a_page_that_press_wrote_links_them_too() {
    let bench = Bench::new();
    bench.glossary("| bias source | It. |\n| cathode | That. |\n| grid | Those. |\n");
    let page = bench.page("appendix/valves/6l6gc.html");
    for term in ["bias source", "cathode", "grid"] {
        let link =
            format!("href=\"../../appendix/glossary.html#term-{}\">{term}</a>", term.replace(' ', "-"));
        assert_eq!(page.matches(&link).count(), 1, "{term}");
    }
}

#[test]
fn a_book_without_a_glossary_links_nothing() {
    assert!(!Bench::new().printed_steps("The anode.\n").contains("class=\"term\""));
}
