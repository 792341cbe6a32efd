//! The valve table and the page of each valve.

use crate::Bench;
use crate::pages::holds;
use calc_core::valve::{Kind, Pin, VALVES, Valve, fitted, particulars, residuals};

fn page(valve: &str) -> String {
    Bench::new().page(&format!("appendix/valves/{valve}.html"))
}

/// Every valve with its page, from one printing.
fn valves() -> Vec<(&'static Valve, String)> {
    let bench = Bench::new();
    bench.print().expect("the book is right");
    let read = |valve: &'static Valve| {
        let path = format!("out/appendix/valves/{}.html", valve.name.to_lowercase());
        (valve, std::fs::read_to_string(bench.path(&path)).expect("the valve's page"))
    };
    VALVES.iter().map(read).collect()
}

#[test]
fn the_table_leads_to_every_valve() {
    let table = Bench::new().page("appendix/valves.html");
    for (valve, page) in valves() {
        let path = format!("appendix/valves/{}.html", valve.name.to_lowercase());
        holds(&table, &[&format!("<a href=\"../{path}\">{}</a>", valve.label())]);
        holds(&page, &["<a href=\"../../appendix/valves.html\">"]);
    }
    assert!(table.contains("no model: too few data-sheet figures are known"));
}

#[test]
fn the_contents_list_the_table_and_not_every_valve() {
    let contents = Bench::new().page("index.html");
    assert!(contents.contains("href=\"appendix/valves.html\"") && !contents.contains("appendix/valves/"));
}

#[test]
fn a_text_reaches_a_valve_by_any_of_its_names() {
    let page = Bench::new().printed_steps("The [6L6GC](valve:6L6GC) and the [ECC83](valve:ECC83).\n");
    holds(
        &page,
        &[
            "<a href=\"../appendix/valves/6l6gc.html\">6L6GC</a>",
            "<a href=\"../appendix/valves/12ax7.html\" data-to=\"12AX7\">ECC83</a>",
        ],
    );
}

#[test]
fn every_figure_the_bench_looks_for_is_there_or_said_to_be_unknown() {
    for (valve, page) in valves() {
        let mut looked_for = vec![
            "Anode voltage",
            "Anode dissipation",
            "Cathode current",
            "Heater to cathode",
            "With fixed bias",
            "With cathode bias",
            "Heater voltage",
            "Heater current",
            "Anode to grid",
        ];
        if valve.kind != Kind::Triode {
            looked_for.extend(["Screen voltage", "Screen dissipation"]);
        }
        for what in looked_for {
            let head = format!("<th scope=\"row\">{what}</th>");
            let (_, row) = page.split_once(&head).unwrap_or_else(|| panic!("{}: no {what}", valve.name));
            let (row, _) = row.split_once("</tr>").expect("a row ends");
            let known = row.contains("appendix/sources.html#source-");
            assert!(known != row.contains("not in this table"), "{}: {what}: {row}", valve.name);
        }
        let anode = valve.limits.anode_power.is_some_and(|figure| page.contains(figure.system.words()));
        assert!(anode || valve.limits.anode_power.is_none(), "{}: the rating's system", valve.name);
    }
}

#[test]
fn the_socket_is_drawn_from_the_pins_and_said_in_words() {
    let page = page("el34");
    holds(
        &page,
        &[
            "<title id=\"socket-title\">Socket of the EL34, seen from below</title>",
            "Clockwise from the key, which is at the bottom: pin 1 suppressor grid; pin 2 heater; pin 3 anode; pin 4 screen \
             grid; pin 5 control grid; pin 6 no connection; pin 7 heater; pin 8 cathode.",
            "<tr><th scope=\"row\">5</th><td>g1</td><td>control grid</td></tr>",
            "<tr><th scope=\"row\">6</th><td>NC</td><td>no connection</td></tr>",
            "Pin 1 is the suppressor grid.</strong> It belongs on the cathode, pin 8.",
            "Nothing is on pin 6</strong>",
        ],
    );
    // Pin 1 left of the key and pin 8 right of it, at the same height; pin 2 further up on the left.
    let place = |number: u8| {
        let (before, _) = page.split_once(&format!("text-anchor=\"middle\">{number}</text>")).expect("a pin");
        let tag = &before[before.rfind("<text").expect("its number")..];
        let value = |name: &str| {
            let (_, rest) = tag.split_once(&format!("{name}=\"")).expect("a coordinate");
            rest.split('"').next().and_then(|text| text.parse::<f64>().ok()).expect("a number")
        };
        (value(" x"), value(" y"))
    };
    let (one, two, eight) = (place(1), place(2), place(8));
    assert!(one.0 < 155.0 && eight.0 > 155.0 && one.1 == eight.1 && two.0 < one.0 && two.1 < one.1);
}

#[test]
fn a_spare_tag_is_warned_of_by_what_is_on_it() {
    holds(&page("6l6gc"), &["Nothing is on pin 1</strong>", "Nothing is on pin 6</strong>"]);
    holds(&page("6550"), &["Pin 1 is the metal sleeve of the base.</strong>"]);
    holds(&page("kt77"), &["Pin 1 is the beam plates.</strong> It belongs on the cathode, pin 8."]);
    holds(&page("el84"), &["Pins 1, 6 and 8 lead inside.</strong>", "<td>IC</td>"]);
    for without in ["12ax7", "6sl7gt"] {
        let page = page(without);
        assert!(!page.contains("on pin 1</strong>") && !page.contains("lead inside"), "{without}");
    }
}

#[test]
fn the_grid_of_a_double_triode_is_not_called_the_second_grid() {
    let page = page("12ax7");
    holds(&page, &["<td>g II</td><td>control grid, section 2</td>", "Double triode on a noval base (B9A)"]);
    assert!(!page.contains("<td>g2</td>"));
}

#[test]
fn curves_have_the_sheets_rows_over_them_and_figures_below() {
    for (valve, page) in valves() {
        let rows: Vec<_> = residuals().filter(|row| row.sheet.valve == valve.name).collect();
        let Some(fitted) = fitted(valve.name) else {
            assert!(
                page.contains("There are none here") && !page.contains("curves-picture"),
                "{}",
                valve.name
            );
            continue;
        };
        holds(&page, &["published valve model", "id=\"curves-picture-title\"", &fitted.margin_words()[..20]]);
        let (_, currents) = page.split_once("Anode currents of the model").expect("the curves in figures");
        let (head, _) = currents.split_once("</thead>").expect("its head");
        assert!(!head.contains(">-"), "{}: a minus is no hyphen: {head}", valve.name);
        assert!(
            !head.contains(".0<"),
            "{}: a round voltage has no place after the point: {head}",
            valve.name
        );
        // Where the rows differ in their screen voltage, a second picture has them all.
        let elsewhere = rows.iter().any(|row| row.sheet.row.volts.screen != rows[0].sheet.row.volts.screen);
        assert_eq!(page.contains("id=\"rows-picture-title\""), elsewhere, "{}", valve.name);
        // Each dot is a line of no length.
        let dots = page.matches("h.01").count();
        assert!(dots >= rows.len(), "{}: {dots} dots for {} rows", valve.name, rows.len());
        let (_, table) = page.split_once("against its data sheet\"").expect("the rows");
        let (table, _) = table.split_once("</table>").expect("their end");
        assert_eq!(table.matches("<tr>").count(), rows.len() + 1, "{}", valve.name);
    }
}

#[test]
fn every_pin_is_drawn_once() {
    for (valve, page) in valves() {
        let of = particulars(valve.name).expect("its particulars");
        let (_, svg) = page.split_once("aria-labelledby=\"socket-title").expect("the drawing");
        let (svg, _) = svg.split_once("</svg>").expect("its end");
        assert_eq!(svg.matches("r=\"15\"").count(), of.pins.len(), "{}", valve.name);
        let unused = of.pins.iter().filter(|pin| matches!(pin, Pin::Unconnected | Pin::Internal)).count();
        assert_eq!(svg.matches("stroke-dasharray").count(), unused, "{}", valve.name);
    }
}
