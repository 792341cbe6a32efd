//! What can be found: the index, the printed lists, and what is wrong with them.

use crate::Bench;
use crate::pages::holds;
use serde_json::Value;
use std::fs;

const SYMPTOMS: &str = "[[symptom]]\nsense = \"heard\"\nwhat = \"It howls\"\nalso = \"squeals\"\nfirst = \"Mains off.\"\n\
                        look = [{ to = \"2-stage/index.md#why\", why = \"The reason\" }]\n";

/// A book with a page that lists what `list` says.
fn bench(list: &str) -> Bench {
    let bench = Bench::new();
    let front =
        |title: &str| format!("+++\ntitle = \"{title}\"\nkind = \"appendix\"\nsummary = \"Lists.\"\n+++\n\n");
    bench.file("content/19-find/index.md", &front("Find"));
    bench.file("content/19-find/1-list.md", &format!("{}```index\n{list}\n```\n", front("The list")));
    bench.file("content/symptoms.toml", SYMPTOMS);
    bench
}

fn index(bench: &Bench) -> Value {
    let page = bench.page("stage/index.html");
    let name = page
        .split("data-index=\"../")
        .nth(1)
        .and_then(|rest| rest.split('"').next())
        .expect("the index is named");
    let text = fs::read_to_string(bench.path("out").join(name)).expect("the index");
    serde_json::from_str(&text).expect("JSON")
}

#[test]
fn a_symptom_is_printed_with_what_to_do_and_where_to_look() {
    let page = bench("symptoms").page("find/list.html");
    holds(
        &page,
        &[
            "<h2 id=\"heard\">You hear it</h2>",
            "<li id=\"symptom-it-howls\">",
            "<strong>It howls.</strong> Mains off.",
        ],
    );
    holds(&page, &["<a href=\"../stage/index.html#why\" data-to=\"The stage\">The reason</a>"]);
}

#[test]
fn a_symptom_that_leads_nowhere_is_refused_at_its_line() {
    let bench = bench("symptoms");
    bench.file("content/symptoms.toml", &SYMPTOMS.replace("#why", "#way"));
    let faults = bench.faults();
    assert!(
        faults[0].starts_with(
            "content/symptoms.toml:6: link \"2-stage/index.md#way\": there is no #way in stage/index.html"
        ),
        "{faults:?}"
    );
    bench.file("content/symptoms.toml", "[[symptom]]\nsense = \"felt\"\nwhat = \"It shakes\"\n");
    let faults = bench.faults();
    assert_eq!(faults.len(), 2, "no such sense, no place to look: {faults:?}");
}

#[test]
fn a_list_that_there_is_not_is_refused_with_the_nearest() {
    let faults = bench("symptom").faults();
    assert!(faults[0].contains("no such index") && faults[0].contains("symptoms"), "{faults:?}");
}

#[test]
fn valves_are_listed_with_the_pages_that_speak_of_them() {
    let bench = bench("valves");
    bench.steps("1. Put an EL34 in, and no XEL84.\n");
    let page = bench.page("find/list.html");
    holds(
        &page,
        &[
            "<a href=\"../appendix/valves/el34.html\" data-to=\"EL34\">EL34, 6CA7</a>\n<p>It is spoken of in <a href=\"../stage/steps.html\">Steps</a>.</p>",
        ],
    );
    assert_eq!(page.matches("It is spoken of in").count(), 1, "{page}");
}

#[test]
fn the_index_has_pages_headings_steps_rows_and_symptoms() {
    let bench = bench("symptoms");
    bench.steps("## Do it\n\n1. **Turn it off.** Wait.\n\n## Look\n\n| Sign | Means |\n|---|---|\n| a glow | off |\n| ____ | ____ |\n");
    let index = index(&bench);
    let number = |path: &str| {
        let pages = index["pages"].as_array().expect("pages");
        pages.iter().position(|page| page[0] == path).expect("the page")
    };
    let steps = number("stage/steps.html");
    let places = index["places"].as_array().expect("places");
    let of_steps: Vec<String> =
        places.iter().filter(|place| place[0] == steps).map(|place| place.to_string()).collect();
    let expected = [
        format!("[{steps},0,\"\",\"Steps\",\"\",\"Do this.\"]"),
        format!("[{steps},0,\"do-it\",\"Do it\",\"\",\"\"]"),
        format!("[{steps},1,\"step-1\",\"Turn it off.\",\"Do it\",\"Wait.\"]"),
        format!("[{steps},0,\"look\",\"Look\",\"\",\"\"]"),
        format!("[{steps},2,\"row-a-glow\",\"a glow\",\"Look\",\"off\"]"),
    ];
    assert_eq!(of_steps, expected);
    assert_eq!(index["symptoms"][0][3], number("stage/index.html"));
    assert_eq!(index["symptoms"][0][4], "why");
}

#[test]
fn a_book_without_lists_has_no_find_field() {
    let page = Bench::new().page("stage/index.html");
    assert!(!page.contains("to-find"), "{page}");
}
