//! The fenced blocks that stand alone: a calculator, a caution, a script; and figures, which stand as alone as these.

use crate::calculators::{self, Block, Wrong};
use crate::fault::{Place, nearest, quoted};
use crate::figure;
use crate::link::beside;
use crate::piece::Piece;
use crate::table::Table;
use crate::text::Writer;
use maud::{PreEscaped, html};

impl Writer<'_> {
    /// A calculator with its default worked; `place` is the line of the fence.
    pub(crate) fn calculator(&mut self, body: &Piece, place: &Place) -> String {
        let faults = self.shop.faults;
        let Some(mut table) = Table::parse(body, "calculator block", faults) else {
            return String::new();
        };
        let (calculator, id, inputs) =
            (table.required("calculator"), table.string("id"), table.pairs("inputs"));
        table.finish();
        let Some(calculator) = calculator else {
            return String::new();
        };
        let values = inputs.iter().map(|(name, value)| (name.clone(), value.text.clone())).collect();
        let place_of = |name: &str| {
            inputs.iter().find(|(given, _)| given == name).map_or(place, |(_, value)| &value.place)
        };
        let wrongs = calculators::check(&calculator.text, &values);
        for wrong in &wrongs {
            match wrong {
                Wrong::Calculator => {
                    let right = nearest(&calculator.text, calculators::ids());
                    faults.add(
                        &calculator.place,
                        format!("calculator \"{}\"", calculator.text),
                        "no such calculator",
                        right,
                    );
                }
                Wrong::Field { name, known } => {
                    let right = nearest(name, known.iter().map(String::as_str));
                    faults.add(
                        place_of(name),
                        format!("field \"{name}\""),
                        format!("{} asks for no such field", calculator.text),
                        right,
                    );
                }
                Wrong::Value { field, message, offers } => {
                    let right = if offers.is_empty() {
                        String::new()
                    } else {
                        format!("could be {}", quoted(offers.iter().map(String::as_str)))
                    };
                    faults.add(place_of(field), format!("field \"{field}\""), message.clone(), right);
                }
            }
        }
        let id = id.unwrap_or_else(|| calculator.clone());
        if !id.text.bytes().all(|byte| byte.is_ascii_lowercase() || byte.is_ascii_digit() || byte == b'-') {
            faults.add(
                &id.place,
                format!("id \"{}\"", id.text),
                "cannot stand in a link",
                "use a to z, 0 to 9 and -",
            );
        }
        if self.text.ids.contains_key(&id.text) {
            let wrong = format!("is in the page already, from line {}", self.text.ids[&id.text].line);
            faults.add(
                place,
                format!("calculator block \"{}\"", id.text),
                wrong,
                "give the block an id of its own: id = \"second-reading\"",
            );
            return String::new();
        }
        self.text.calculators.insert(calculator.text.clone());
        self.text.scripts.insert(calculators::WITH_JOB.to_owned());
        if !wrongs.is_empty() {
            return String::new();
        }
        let block = Block { id: id.text, calculator: calculator.text, inputs: values };
        let Ok(printed) = calculators::printed(&block) else { return String::new() };
        self.take_ids_in(&printed, place);
        printed + "\n"
    }

    /// The caution of this id.
    pub(crate) fn caution(&mut self, id: &str, place: &Place) -> String {
        let cautions = &self.shop.book.cautions;
        let Some(caution) = cautions.get(id) else {
            self.shop.faults.add(
                place,
                format!("caution \"{id}\""),
                "no such caution in content/cautions.toml",
                nearest(id, cautions.keys().map(String::as_str)),
            );
            return String::new();
        };
        self.text.cautions.insert(id.into());
        let text = PreEscaped(self.markdown(&caution.text));
        html! {
            div.caution role="note" {
                p.caution-title { strong { (caution.signal.word()) } " " (caution.title) }
                (text)
            }
        }
        .into_string()
    }

    /// A block that shows the job: blanks on paper, alive in the browser.
    pub(crate) fn job(&mut self, name: &str, place: &Place) -> String {
        let printed = calculators::job(name);
        self.text.scripts.insert(calculators::WITH_JOB.to_owned());
        self.take_ids_in(&printed, place);
        printed + "\n"
    }

    /// A script of `web/browser/`, shown and run: what it shows is what it does. It writes into the element with the id
    /// that is its name with `-says`.
    pub(crate) fn script(&mut self, body: &Piece) -> String {
        let name = body.text.trim();
        let folder = self.shop.workspace.join("web/browser");
        let Ok(text) = std::fs::read_to_string(folder.join(name)) else {
            let files = std::fs::read_dir(&folder).into_iter().flatten().flatten();
            let names: Vec<String> =
                files.map(|file| file.file_name().to_string_lossy().into_owned()).collect();
            let right = nearest(name, names.iter().map(String::as_str));
            self.shop.faults.add(
                &body.place(0),
                format!("script \"{name}\""),
                "is not in web/browser",
                right,
            );
            return String::new();
        };
        self.text.scripts.insert(name.to_owned());
        let says = format!("{}-says", name.trim_end_matches(".js"));
        let place = body.place(0);
        self.take_id(&says, &place);
        html! {
            pre tabindex="0" { code { (text) } }
            p { "What it says when it runs:" }
            pre id=(says) tabindex="0" { "It has not run: scripts are off, or this is the edition that is one file." }
        }
        .into_string()
    }

    /// The figure in the SVG file that `way` leads to.
    pub(crate) fn figure(&mut self, way: &str, caption: &str, place: &Place) -> String {
        let file = beside(&place.file, way);
        let files = &self.shop.book.files;
        let figures = || files.iter().map(String::as_str).filter(|name| name.ends_with(".svg"));
        if !file.ends_with(".svg") {
            self.shop.faults.add(
                place,
                format!("figure \"{way}\""),
                "is not an SVG file",
                "draw it as SVG, or make a table of it",
            );
            return String::new();
        }
        let read = std::fs::read_to_string(self.shop.workspace.join(&file));
        let Ok(svg) = read else {
            self.shop.faults.add(
                place,
                format!("figure \"{way}\""),
                format!("there is no {file}"),
                nearest(&file, figures()),
            );
            return String::new();
        };
        let Some(printed) = figure::printed(&Piece::new(file.into(), svg, 1), caption, self.shop.faults)
        else {
            return String::new();
        };
        self.take_ids_in(&printed.0, place);
        printed.into_string()
    }

    /// Claims every id that a piece of ready HTML gives.
    pub(crate) fn take_ids_in(&mut self, html: &str, place: &Place) {
        for (at, mark) in html.match_indices(" id=\"") {
            let id = html[at + mark.len()..].split('"').next().unwrap_or_default();
            self.take_id(id, place);
        }
    }
}
