//! Front matter: what a page says about itself between its `+++` lines.

use crate::fault::Faults;
use crate::read::toml_text::{Located, TomlText};
use crate::source_text::SourceText;
use job::block::Keys;
use std::sync::Arc;

/// What a page is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// The start of a chapter.
    Chapter,
    /// Numbered steps at the bench.
    Procedure,
    /// One calculator and what it means.
    Calculator,
    /// Values to look up.
    Table,
    /// From a symptom to its cause.
    Fault,
    /// What stands behind the book.
    Appendix,
}

impl Kind {
    /// Each kind with its name in front matter and the word that stands over the title.
    const ALL: [(Kind, &str, &str); 6] = [
        (Kind::Chapter, "chapter", "Chapter"),
        (Kind::Procedure, "procedure", "Procedure"),
        (Kind::Calculator, "calculator", "Calculator"),
        (Kind::Table, "table", "Table"),
        (Kind::Fault, "fault", "Fault"),
        (Kind::Appendix, "appendix", "Appendix"),
    ];

    /// The name of the kind, as front matter and the stylesheet write it.
    #[must_use]
    pub fn name(self) -> &'static str {
        Self::ALL[self as usize].1
    }

    /// The word over the title.
    #[must_use]
    pub fn word(self) -> &'static str {
        Self::ALL[self as usize].2
    }
}

/// The front matter of a page.
#[derive(Debug, Clone)]
pub struct Front {
    /// Heading and name in every list.
    pub title: String,
    /// What the page is for.
    pub kind: Kind,
    /// One sentence for lists and for anyone who finds the page.
    pub summary: String,
    /// Cautions at the top, by id.
    pub cautions: Vec<Located>,
    /// Tools to lay out before beginning.
    pub needs: Vec<Located>,
    /// Sources listed at the foot, by id.
    pub sources: Vec<Located>,
    /// Whether hands go near the circuit, so that the discharge caution must stand here.
    pub hands_near_circuit: bool,
}

/// Parts a page file into its front matter and its text. `None` if there is no saying what the page is; the faults say why.
pub fn read(file: &Arc<str>, text: &str, faults: &Faults) -> Option<(Front, SourceText)> {
    let parts = text
        .strip_prefix("+++\n")
        .and_then(|rest| rest.split_once("\n+++\n").or_else(|| Some((rest.strip_suffix("\n+++")?, ""))));
    let Some((head, body)) = parts else {
        let place = SourceText::new(file.clone(), "", 1).place(0);
        faults.add(
            &place,
            "page",
            "has no front matter",
            "begin with +++, then title, kind and summary, then +++ on lines of their own",
        );
        return None;
    };
    let head = SourceText::new(file.clone(), head, 2);
    let body = SourceText::new(file.clone(), body, head.place(head.text.len()).line + 2);
    Some((front(&head, faults)?, body))
}

fn front(head: &SourceText, faults: &Faults) -> Option<Front> {
    let toml = TomlText::read(head, "front matter", faults)?;
    let mut keys = Keys::named("the front matter", &toml.block);
    let (title, summary) = (keys.required("title"), keys.required("summary"));
    let kind = keys.required_one_of("kind", &Kind::ALL.map(|(kind, name, _)| (name, kind)));
    let [cautions, needs, sources] =
        ["cautions", "needs", "sources"].map(|key| toml.all_located(key, keys.texts(key)));
    let hands = keys.truth("hands_near_circuit");
    toml.finish("", keys, faults);
    let kind = kind.filter(|_| !title.is_empty() && !summary.is_empty())?;
    let hands_near_circuit = hands.unwrap_or(matches!(kind, Kind::Procedure | Kind::Fault));
    Some(Front { title, kind, summary, cautions, needs, sources, hands_near_circuit })
}
