//! Each fault, with the message that the writer of the page reads.

use crate::{Bench, FIRST, STEPS};

/// The procedure with `text` below its front matter is refused for this and nothing else, on line `line` of `text`.
#[track_caller]
fn refused(text: &str, line: usize, message: &str) {
    let bench = Bench::new();
    bench.steps(text);
    assert_eq!(bench.faults(), [format!("{STEPS}:{}: {message}", FIRST + line - 1)]);
}

/// The procedure with this front matter is refused for this.
#[track_caller]
fn refused_front(front: &str, messages: &[&str]) {
    let bench = Bench::new();
    bench.file(STEPS, front);
    assert_eq!(
        bench.faults(),
        messages.iter().map(|message| format!("{STEPS}:{message}")).collect::<Vec<_>>()
    );
}

#[test]
fn a_page_says_what_it_is() {
    refused_front(
        "Words.\n",
        &[
            "1: page: has no front matter; begin with +++, then title, kind and summary, then +++ on lines of their own",
        ],
    );
    refused_front(
        "+++\ntitle = \"Steps\n+++\n",
        &["2: front matter: not TOML: invalid basic string, expected `\"`; write key = \"value\""],
    );
}

#[test]
fn an_unknown_key_of_the_front_matter_names_the_nearest() {
    refused_front(
        "+++\ntitle = \"Steps\"\nkind = \"table\"\nsumary = \"Do this.\"\n+++\n",
        &[
            "2: `summary`: is missing; write summary = \"…\"",
            "4: `sumary`: is not a key of the front matter; summary",
        ],
    );
}

#[test]
fn a_value_of_the_front_matter_is_of_its_kind() {
    refused_front(
        "+++\ntitle = 7\nkind = \"procedur\"\nsummary = \" \"\nneeds = 7\nhands_near_circuit = \"no\"\n+++\n",
        &[
            "2: `title`: is not a text; write title = \"…\"",
            "3: kind = \"procedur\": is not a valid kind; procedure",
            "4: `summary`: is blank; write summary = \"…\"",
            "5: `needs`: is not a list of texts; write needs = [\"…\"]",
            "6: `hands_near_circuit`: is neither true nor false; write hands_near_circuit = true",
        ],
    );
}

#[test]
fn hands_near_the_circuit_need_the_discharge_caution() {
    let front =
        "+++\ntitle = \"Steps\"\nkind = \"procedure\"\nsummary = \"Do this.\"\ncautions = [\"hot\"]\n+++\n";
    let message = "1: page: has hands near the circuit and no discharge caution; write cautions = [\"discharge\"], or hands_near_circuit = false if no hand goes near";
    refused_front(front, &[message]);
    refused_front(&front.replace("procedure", "fault"), &[message]);
    refused_front(
        &front.replace("kind = \"procedure\"", "kind = \"table\"\nhands_near_circuit = true"),
        &[message],
    );
    let bench = Bench::new();
    bench.file(STEPS, &front.replace("cautions", "hands_near_circuit = false\ncautions"));
    bench.page("stage/steps.html");
    bench.file(STEPS, &(front.to_owned() + "```caution\ndischarge\n```\n"));
    bench.page("stage/steps.html");
}

#[test]
fn cautions_and_sources_are_known() {
    refused_front(
        "+++\ntitle = \"Steps\"\nkind = \"table\"\nsummary = \"Do this.\"\ncautions = [\"discarge\"]\nsources = [\"gumm\"]\n+++\n",
        &[
            "5: caution \"discarge\": no such caution in content/cautions.toml; nearest: \"discharge\"",
            "6: source \"gumm\": no such source; nearest: \"gum\"",
        ],
    );
    refused(
        "Words.\n\n```caution\nhott\n```\n",
        4,
        "caution \"hott\": no such caution in content/cautions.toml; nearest: \"hot\"",
    );
    refused("Words ([so](source:gumm)).\n", 1, "link \"source:gumm\": no such source; nearest: \"gum\"");
}

#[test]
fn a_valve_is_in_the_table() {
    refused(
        "The [valve](valve:6L6G).\n",
        1,
        "link \"valve:6L6G\": is not in the valve table; nearest: \"6L6GC\"",
    );
}

#[test]
fn a_comment_in_the_glossary_says_how_a_term_is_linked() {
    let bench = Bench::new();
    bench.glossary("| law <!-- linked: laws --> | x |\n| law | y |\n");
    assert_eq!(
        bench.faults(),
        [
            "content/9-appendix/1-glossary.md:9: <!-- linked: laws -->: does not say how the term is linked; \
             write <!-- linked as: law of a control --> or <!-- not linked -->",
            "content/9-appendix/1-glossary.md:10: id \"term-law\": is in the page already, from line 9 of \
             content/9-appendix/1-glossary.md; give one of them an id of its own: ## Heading {#its-own-id}",
        ]
    );
}

#[test]
fn the_list_of_cautions_is_in_order() {
    let bench = Bench::new();
    bench.file(
        "content/cautions.toml",
        "[[caution]]\nid = \"discharge\"\nsignal = \"danger\"\ntitle = \"A\"\ntext = \"B\"\n[[caution]]\nid = \"discharge\"\nsignal = \"danger\"\ntitle = \"A\"\ntext = \"[C](2-stage/1-step.md)\"\ntxt = \"\"\n",
    );
    assert_eq!(
        bench.faults(),
        [
            "content/cautions.toml:7: caution \"discharge\": is there twice; give each caution its own id",
            "content/cautions.toml:10: link \"2-stage/1-step.md\": there is no content/2-stage/1-step.md; nearest: \"content/2-stage/1-steps.md\"",
            "content/cautions.toml:11: `txt`: is not a key of the caution; text",
        ]
    );
}

#[test]
fn a_caution_says_how_grave_it_is() {
    let bench = Bench::new();
    let caution =
        |id: &str, signal: &str| format!("[[caution]]\nid = \"{id}\"\n{signal}title = \"A\"\ntext = \"B\"\n");
    bench.file(
        "content/cautions.toml",
        &[
            caution("discharge", "signal = \"danger\"\n"),
            caution("hot", "signal = \"warming\"\n"),
            caution("loud", ""),
        ]
        .concat(),
    );
    assert_eq!(
        bench.faults(),
        [
            "content/cautions.toml:8: signal = \"warming\": is not a valid signal; warning",
            "content/cautions.toml:11: `signal`: is missing; write signal = \"…\"",
        ]
    );
}

#[test]
fn a_calculator_is_known_and_takes_its_fields() {
    refused(
        "```calculator\ncalculator = \"disipation\"\n```\n",
        2,
        "calculator \"disipation\": no such calculator; nearest: \"dissipation\"",
    );
    refused(
        "1. Do:\n\n    ```calculator\n    calculator = \"dissipation\"\n    [inputs]\n    cathode-curent = \"34 mA\"\n    ```\n",
        6,
        "field \"cathode-curent\": dissipation asks for no such field; nearest: \"cathode-current\"",
    );
    refused(
        "```calculator\ncalculator = \"dissipation\"\n[inputs]\ncathode-current = 34\n```\n",
        4,
        "`inputs.cathode-current`: is not a text; write cathode-current = \"…\"",
    );
    refused(
        "```calculator\ncalulator = \"dissipation\"\ncalculator = \"dissipation\"\n```\n",
        2,
        "`calulator`: is not a key of the calculator block; calculator",
    );
}

#[test]
fn a_value_that_does_not_parse_is_refused_in_the_words_of_its_calculator() {
    let inputs = [("cathode-current", "many"), ("anode-voltage.tolerance", "a bit")];
    for (field, value) in inputs {
        let typed = calc_core::calculator::Inputs::from([(field.into(), value.into())]);
        let outcome = calc_core::calculate("dissipation", &typed).expect("there is such a calculator");
        let problem = outcome
            .fields
            .into_iter()
            .find_map(|field| field.problem.or(field.tolerance?.problem))
            .expect("a problem");
        let bench = Bench::new();
        bench.steps(&format!(
            "```calculator\ncalculator = \"dissipation\"\n[inputs]\n\"{field}\" = \"{value}\"\n```\n"
        ));
        let faults = bench.faults();
        assert_eq!(faults.len(), 1, "{faults:?}");
        assert!(
            faults[0].starts_with(&format!("{STEPS}:{}: field \"{field}\": {}", FIRST + 3, problem.message)),
            "{faults:?}"
        );
    }
}

#[test]
fn two_calculators_in_a_page_have_two_ids() {
    let block = "```calculator\ncalculator = \"dissipation\"\n```\n";
    refused(
        &format!("{block}\n{block}"),
        5,
        "calculator block \"dissipation\": is in the page already, from line 7; give the block an id of its own: id = \"second-reading\"",
    );
    refused(
        "```calculator\ncalculator = \"dissipation\"\nid = \"My reading\"\n```\n",
        3,
        "id \"My reading\": cannot be used in a link; use a to z, 0 to 9 and -",
    );
}

#[test]
fn ids_are_given_once_in_a_page() {
    refused(
        "## Why\n\n## Why\n",
        3,
        &format!(
            "id \"why\": is in the page already, from line 7 of {STEPS}; give one of them an id of its own: ## Heading {{#its-own-id}}"
        ),
    );
    refused(
        "1. One\n\n## Between\n\n1. One\n",
        5,
        &format!(
            "id \"step-1\": is in the page already, from line 7 of {STEPS}; give one of them an id of its own: ## Heading {{#its-own-id}}"
        ),
    );
}

#[test]
fn ids_begin_with_a_letter() {
    refused(
        "## 6L6GC\n",
        1,
        "id \"6l6gc\": does not begin with a letter; give it one that does: ## 6L6GC {#valve-6l6gc}",
    );
}

#[test]
fn links_lead_somewhere() {
    refused(
        "See [there](2-stepps.md).\n",
        1,
        "link \"2-stepps.md\": there is no content/2-stage/2-stepps.md; nearest: \"content/2-stage/1-steps.md\"",
    );
    refused(
        "\nSee [there](../2-stage/index.md#wy).\n",
        2,
        "link \"../2-stage/index.md#wy\": there is no #wy in stage/index.html; nearest: \"why\"",
    );
    refused(
        "See [below](#blow).\n\n## Below\n",
        1,
        "link \"#blow\": there is no #blow in stage/steps.html; nearest: \"below\"",
    );
    for written in ["steps.html", "/stage/", "ftp://example.org/a.md", "mailto:a@example.org"] {
        refused(
            &format!("See [there]({written}).\n"),
            1,
            &format!(
                "link \"{written}\": leads to no page; write the way to a .md file from this one, source:ID, valve:TYPE, calculator:ID, #anchor or https://…"
            ),
        );
    }
    refused("See [there][nowhere].\n", 1, "[nowhere]: is defined nowhere; write [nowhere]: … below");
}

#[test]
fn notes_are_there_and_mentioned() {
    refused("So.[^a]\n", 1, "[^a]: is defined nowhere; write [^a]: … below");
    refused("So.[^a]\n\n[^a]: Yes.\n\n[^b]: Or not.\n", 5, "[^b]: is mentioned nowhere; nearest: \"a\"");
}

#[test]
fn figures_are_there_and_say_what_they_show() {
    let figure = |svg: &str| {
        let bench = Bench::new();
        bench.file("content/2-stage/figures/pair.svg", svg);
        bench.steps("![A pair](figures/pair.svg)\n");
        bench.faults()
    };
    let at = "content/2-stage/figures/pair.svg";
    let svg = "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 9 9\">\n<title>A</title><desc>B</desc>\n<path/></svg>\n";
    refused(
        "![A pair](figures/pear.svg)\n",
        1,
        "figure \"figures/pear.svg\": there is no content/2-stage/figures/pear.svg; there are none",
    );
    refused(
        "![A pair](figures/pair.png)\n",
        1,
        "figure \"figures/pair.png\": is not an SVG file; draw it as SVG, or make a table of it",
    );
    refused(
        "Look: ![A pair](figures/pair.svg)\n",
        1,
        "figure \"figures/pair.svg\": is inside a paragraph; put it between blank lines",
    );
    assert_eq!(
        figure(&svg.replace("<title>A</title>", "")),
        [format!("{at}:1: figure: has no <title>; begin it with <title>what it is</title>")]
    );
    assert_eq!(
        figure(&svg.replace("<desc>B</desc>", "<desc> </desc>")),
        [format!(
            "{at}:1: figure: has no <desc>; begin it with <desc>what it shows, for those who cannot see it</desc>"
        )]
    );
    assert_eq!(
        figure(&svg.replace("<path/>", "<path fill=\"#123\" style=\"x\"/>")),
        [
            format!("{at}:3: fill=\"#123\": stays the same in dark and in print; nearest: \"currentColor\""),
            format!(
                "{at}:3: style=\"x\": is forbidden by the content policy; write fill, stroke and font-size as attributes"
            ),
        ]
    );
    assert_eq!(
        figure(&svg.replace("<path/>", "<script/>")),
        [format!("{at}:3: <script>: has no place in a figure; draw with shapes, paths and text alone")]
    );
    assert_eq!(
        figure(&svg.replace("<path/>", "<path>")),
        [format!("{at}:3: figure: not SVG: expected 'path' tag, not 'svg' at 3:7; correct the drawing")]
    );
}

#[test]
fn a_shared_reading_is_taken_by_its_name_and_the_blocks_own_keys_count() {
    const LEFT: &str = "[left]\nquantity = \"Voltage left\"\nprobes = \"P\"\nexpect = \"E\"\nstop = \"Over {9 V}\"\nunit = \"V\"\nhigh = \"job.ht\"\nplausible = [\"0 V\", \"900 V\"]\n";
    let bench = Bench::new();
    bench.file("content/readings.toml", LEFT);
    bench.steps("1. **Do** it.\n\n    ```reading\n    as = \"left\"\n    id = \"again\"\n    quantity = \"Left again\"\n    ```\n");
    let page = bench.page("stage/steps.html");
    assert!(
        page.contains("Left again") && page.contains("9\u{a0}V") && !page.contains("Voltage left"),
        "{page}"
    );
    bench.steps("1. **Do** it.\n\n    ```reading\n    as = \"lift\"\n    ```\n");
    assert_eq!(
        bench.faults(),
        [format!("{STEPS}:{}: as = \"lift\": is not a shared reading; left", FIRST + 3)]
    );
    bench.file("content/readings.toml", "[left\n");
    assert!(bench.faults().iter().any(|fault| fault.starts_with("content/readings.toml:1: shared readings")));
}

#[test]
fn a_reading_says_where_to_stop_in_twelve_words() {
    let reading = "```reading\nquantity = \"Q\"\nprobes = \"P\"\nexpect = \"E\"\nunit = \"V\"\nplausible = [\"0 V\", \"9 V\"]\n";
    refused(&format!("{reading}```\n"), 2, "`stop`: is missing; write stop = \"…\"");
    refused(
        &format!("{reading}stop = \"1 2 3 4 5 6 7 8 9 10 11 12 13\"\n```\n"),
        7,
        "stop = \"1 2 3 4 5 6 7 8 9 10 11 12 13\": has 13 words; say it in 12 words; put the rest into `means`",
    );
    refused(
        &format!("{reading}stop = \"S\"\nunits = \"V\"\n```\n"),
        8,
        "`units`: is not a key of this block; unit",
    );
}

#[test]
fn the_amplifiers_own_words_are_named_right() {
    refused("1. Read pin {pin gird: 5}.\n", 1, "{pin gird: 5}: names no pin of an output valve; pin grid");
    refused(
        "1. Turn:\n\n    about {0.95 × job.bias-expectd: −43 V}\n",
        3,
        "{0.95 × job.bias-expectd: −43 V}: names no value of a job; job.bias-expected",
    );
    refused(
        "1. The **{valve 6L6GC}**\n",
        1,
        "{valve 6L6GC}: has a brace without a colon; write {valve: 6L6GC}: what it is of, a colon, the example",
    );
}

#[test]
fn the_text_is_markdown_and_its_headings_are_in_order() {
    refused("# Title\n", 1, "# Title: is a second title; the title is in the front matter; write ##");
    refused("## A\n\n#### B\n", 3, "#### B: skips a level after ##; write ### B");
    refused(
        "A<br>\nword.\n",
        1,
        "<br>: HTML cannot be used in the text; write Markdown, or \\< for a plain <",
    );
    refused(
        "\n<div>\nword\n</div>\n",
        2,
        "<div>: HTML cannot be used in the text; write Markdown, or \\< for a plain <",
    );
}

#[test]
fn blocks_and_formulas_are_known() {
    refused("```calculater\nx\n```\n", 1, "```calculater: no such kind of block; nearest: \"calculator\"");
    refused(
        "So $\\fraq{1}{2}$.\n",
        1,
        "formula $\\fraq{1}{2}$: Unknown command \"\\fraq\".; write LaTeX as in $P_a = V_a I_a$",
    );
}

#[test]
fn the_book_is_whole() {
    let bench = Bench::new();
    std::fs::remove_file(bench.path("content/index.md")).expect("the cover was there");
    std::fs::remove_file(bench.path("content/2-stage/index.md")).expect("the chapter was there");
    bench.file("content/cautions.toml", "");
    bench.file("content/stray.md", "x");
    assert_eq!(
        bench.faults(),
        [
            "content/2-stage/index.md:1: start of the chapter: is missing; write content/2-stage/index.md",
            "content/index.md:1: cover: is missing; write content/index.md",
            "content/stray.md:1: page: is in no chapter; move it into a folder of content/",
        ]
    );
}

#[test]
fn files_make_addresses_of_their_own() {
    let bench = Bench::new();
    let page = std::fs::read_to_string(bench.path(STEPS)).expect("the procedure");
    bench.file("content/2-stage/2-steps.md", &page);
    bench.file("content/2-stage/3-Two words.md", &page);
    bench.file("content/2-stage/inner/1-x.md", &page);
    assert_eq!(
        bench.faults(),
        [
            "content/2-stage/2-steps.md:1: address stage/steps.html: is taken by content/2-stage/1-steps.md; rename one of the files",
            "content/2-stage/3-Two words.md:1: name of the file: does not make an address; use a to z, 0 to 9 and -, as in 2-set-idle-current.md",
            "content/2-stage/inner/1-x.md:1: page: is in a folder of a folder; move it to content/2-stage/",
        ]
    );
}

#[test]
fn all_faults_are_shown_together_and_nothing_is_printed() {
    let bench = Bench::new();
    bench.file(
        "content/2-stage/index.md",
        "+++\ntitle = \"A\"\nkind = \"chapter\"\nsummary = \"B\"\n+++\n[x](none.md)\n",
    );
    bench.steps("[y](#none)\n\n```caution\nnone\n```\n");
    let Err(stop) = bench.print() else { panic!("the book was printed") };
    let shown = stop.to_string();
    assert_eq!(shown.lines().count(), 4, "{shown}");
    assert!(shown.ends_with("press: 3 faults, nothing printed"), "{shown}");
    assert!(!bench.path("out/index.html").exists());
}

#[test]
fn a_link_to_a_calculator_that_stands_nowhere_is_refused() {
    let bench = Bench::new();
    bench.steps("See [it](calculator:output-power).\n");
    let faults = bench.faults();
    assert!(
        faults[0].contains("\"calculator:output-power\": no page holds this calculator; give it a page"),
        "{faults:?}"
    );
}
