//! A calculator's state as the fragment of a link: `first-reading:dissipation.1;anode-voltage=436V;~14.9+W`.
//!
//! ```text
//! [block:]calculator.edition;field=text;…;~answer      opens with these inputs and the defaults of that edition
//! [block:]calculator;field=text;…                      puts these inputs in beside what stands there
//! …;*field=text;…                                       an input that is an example, nobody's own
//! …;!field=text;!*field=text;…                          in the state kept aside for comparison this field is otherwise
//! ```
//!
//! Only ASCII; a value is written as the bench writes it, with its unit, so that no later change of a field's unit can
//! change what it means. The same link gives the same inputs for ever: a default that changes raises the calculator's
//! edition and leaves its old text in [`WAS`]. What the first answer was stands last: a corrected rating may change it, and
//! then the page says so. Reading never fails: what is no input is handed back.

use super::line::{a_second_time, escaped, from_line, shortened, to_line, unescaped};
use super::{Field, Kind, Whose};
use crate::calculator::{Entry, Inputs, Outcome};

/// A default that a calculator once had.
struct Was {
    calculator: &'static str,
    /// The last edition that had it.
    until: u32,
    field: &'static str,
    text: &'static str,
}

/// Every default that has changed since links were first given out, in the order of the editions.
static WAS: [Was; 13] = [
    Was { calculator: "master-volume", until: 1, field: "inverter-voltage", text: "250 V" },
    Was { calculator: "lead-order", until: 1, field: "inverter-gain", text: "25" },
    Was { calculator: "lead-order", until: 1, field: "lower", text: "4k7" },
    Was { calculator: "master-volume", until: 2, field: "swing", text: "85 V" },
    Was { calculator: "bias-splitter", until: 1, field: "gm", text: "5.5 mS" },
    Was { calculator: "coupling", until: 1, field: "gm", text: "5.5 mS" },
    Was { calculator: "dissipation", until: 1, field: "screen-drop", text: "0.705 V" },
    Was { calculator: "dissipation", until: 1, field: "screen-stopper", text: "470R" },
    Was { calculator: "stop-figures", until: 1, field: "screen-stopper", text: "470R" },
    Was { calculator: "phase-inverter", until: 1, field: "anode-1", text: "82k" },
    Was { calculator: "phase-inverter", until: 1, field: "anode-2", text: "100k" },
    Was { calculator: "phase-inverter", until: 1, field: "cathode", text: "470R" },
    Was { calculator: "phase-inverter", until: 1, field: "tail", text: "10k" },
];

/// Bytes of what a link carries; the longest of ours has a tenth, and a phone reads no code of more than three thousand.
const MOST: usize = 20_000;

/// What a link says.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Link {
    /// Which block of the page; empty where the link names only the calculator.
    pub block: String,
    /// The id of the calculator.
    pub calculator: String,
    /// The edition of the defaults; `None` where the inputs go in beside what stands there.
    pub edition: Option<u32>,
    /// The inputs it carries that were the sender's own.
    pub inputs: Inputs,
    /// Those that were an example: of a page, or worked out from one.
    pub examples: Inputs,
    /// How the state that is kept aside differs.
    pub aside: Aside,
    /// What the first answer was when the link was made.
    pub answer: Option<String>,
    /// The parts that could not be read.
    pub damaged: Vec<String>,
}

/// The fields of a state kept aside that are otherwise than in the state beside it.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Aside {
    /// Those that were the sender's own.
    pub inputs: Inputs,
    /// Those that were an example, or at their defaults.
    pub examples: Inputs,
}

impl Link {
    /// Reads the fragment of an address, without its `#`; `None` where it is not a calculator's link but an anchor.
    #[must_use]
    pub fn read(fragment: &str) -> Option<Self> {
        // Some messengers escape what needs no escape, and with it the marks between the parts.
        let escaped = !fragment.contains(';')
            && fragment.split('%').any(|part| part.starts_with("3B") || part.starts_with("3b"));
        let plain = if escaped { unescaped(fragment) } else { None };
        let fragment = plain.as_deref().unwrap_or(fragment);
        let (head, parts) =
            fragment.split_once(';').map_or((fragment, None), |(head, rest)| (head, Some(rest)));
        let (block, named) = head.split_once(':').unwrap_or(("", head));
        let (calculator, edition) =
            named.split_once('.').map_or((named, None), |(name, edition)| (name, Some(edition)));
        let is_name = |text: &str| {
            text.bytes().all(|byte| byte.is_ascii_lowercase() || byte.is_ascii_digit() || byte == b'-')
        };
        if calculator.is_empty()
            || !is_name(calculator)
            || !is_name(block)
            || (parts.is_none() && edition.is_none())
            || head.len() > MOST
        {
            return None;
        }
        let mut link = Self { block: block.to_owned(), calculator: calculator.to_owned(), ..Self::default() };
        if let Some(edition) = edition {
            // An edition that cannot be read represents the first: the fields of the link hold all the same.
            link.edition = Some(edition.parse().unwrap_or(1));
            if edition.parse::<u32>().is_err() {
                link.damaged.push(shortened(edition));
            }
        }
        let parts = parts.unwrap_or_default();
        if parts.len() > MOST {
            link.damaged.push(format!("{} characters; no link has more than {MOST}", parts.len()));
            return Some(link);
        }
        let (answers, inputs): (Vec<&str>, Vec<&str>) =
            parts.split(';').partition(|part| part.starts_with('~'));
        link.answer = answers.first().and_then(|part| unescaped(part.get(1..)?));
        let (aside, inputs): (Vec<&str>, Vec<&str>) =
            inputs.into_iter().partition(|part| part.starts_with('!'));
        let aside: Vec<&str> = aside.into_iter().filter_map(|part| part.get(1..)).collect();
        for (parts, own, others) in [
            (inputs, &mut link.inputs, &mut link.examples),
            (aside, &mut link.aside.inputs, &mut link.aside.examples),
        ] {
            let (examples, inputs): (Vec<&str>, Vec<&str>) =
                parts.into_iter().partition(|part| part.starts_with('*'));
            let examples: Vec<&str> = examples.into_iter().filter_map(|part| part.get(1..)).collect();
            for (parts, read) in [(inputs, &mut *own), (examples, &mut *others)] {
                let (inputs, damaged) = from_line(&parts.join(";"));
                *read = inputs;
                link.damaged.extend(damaged);
            }
            let twice = others.keys().filter(|id| own.contains_key(*id));
            link.damaged.extend(twice.map(|id| a_second_time(id)));
        }
        Some(link)
    }

    /// The fragment of this link, without its `#`.
    #[must_use]
    pub fn written(&self) -> String {
        let block = if self.block.is_empty() { String::new() } else { format!("{}:", self.block) };
        let edition = self.edition.map(|edition| format!(".{edition}")).unwrap_or_default();
        let marked = |inputs: &Inputs, mark: &str| {
            let line = to_line(inputs);
            if line.is_empty() { line } else { format!("{mark}{}", line.replace(';', &format!(";{mark}"))) }
        };
        let Aside { inputs, examples } = &self.aside;
        let aside = [marked(inputs, "!"), marked(examples, "!*")];
        let [inputs, examples] = [marked(&self.inputs, ""), marked(&self.examples, "*")];
        let answer = self.answer.as_ref().map(|answer| format!("~{}", escaped(answer))).unwrap_or_default();
        let head = format!("{block}{}{edition}", self.calculator);
        let parts = [head, inputs, examples].into_iter().chain(aside).chain([answer]);
        let parts: Vec<String> = parts.filter(|part| !part.is_empty()).collect();
        // Without a part it would be an anchor.
        let end = if parts.len() == 1 && self.edition.is_none() { ";" } else { "" };
        parts.join(";") + end
    }

    /// The link to what a calculator now shows: the sender's own inputs, and those of the example beside them.
    #[must_use]
    pub fn to(entry: &Entry, block: &str, own: &Inputs, example: &Inputs, outcome: &Outcome) -> Self {
        let (mut inputs, mut examples) = (Inputs::new(), Inputs::new());
        for field in outcome.fields.iter().chain(&outcome.wanted) {
            if own.contains_key(field.id) {
                inputs.insert(field.id.to_owned(), canonical_text(field));
            } else if example.contains_key(field.id) && !is_default(field) {
                examples.insert(field.id.to_owned(), canonical_text(field));
            }
            let tolerance = super::tolerance_id(field.id);
            if field.tolerance.is_none() {
                continue;
            }
            if let Some(text) = own.get(&tolerance) {
                inputs.insert(tolerance, ascii(text));
            } else if let Some(text) = example.get(&tolerance) {
                examples.insert(tolerance, ascii(text));
            }
        }
        let first = outcome.report.as_ref().and_then(|report| report.answers.first());
        Self {
            block: if block == entry.sheet.id { String::new() } else { block.to_owned() },
            calculator: entry.sheet.id.to_owned(),
            edition: Some(entry.sheet.edition),
            inputs,
            examples,
            aside: Aside::default(),
            answer: first.map(|answered| answered.value().replace('\u{a0}', " ")),
            damaged: vec![],
        }
    }

    /// The same link with the state kept aside: what is otherwise in `kept`, the link to that state, of which these are the
    /// fields.
    #[must_use]
    pub fn beside(self, kept: &Self, fields: &[Field]) -> Self {
        let other = |of: &Inputs, here: &Inputs| -> Inputs {
            let of = of.iter().filter(|(id, text)| here.get(*id) != Some(*text));
            of.map(|(id, text)| (id.clone(), text.clone())).collect()
        };
        let mut aside = Aside {
            inputs: other(&kept.inputs, &self.inputs),
            examples: other(&kept.examples, &self.examples),
        };
        // What has a value here and none there is at its default there.
        for field in fields {
            let tolerance = super::tolerance_id(field.id);
            let off = field.tolerance.as_ref().map(|off| (tolerance, ascii(&off.text)));
            for (id, text) in [(field.id.to_owned(), canonical_text(field))].into_iter().chain(off) {
                let is_in = |link: &Self| link.inputs.contains_key(&id) || link.examples.contains_key(&id);
                if is_in(&self) && !is_in(kept) {
                    aside.examples.insert(id, text);
                }
            }
        }
        Self { aside, ..self }
    }

    /// The state kept aside, if there is one: the sender's own inputs in it, and the example beside them.
    #[must_use]
    pub fn kept(&self) -> Option<(Inputs, Inputs)> {
        let Aside { inputs, examples } = &self.aside;
        if inputs.is_empty() && examples.is_empty() {
            return None;
        }
        let (mut own, mut example) = (self.inputs.clone(), self.example());
        own.retain(|id, _| !examples.contains_key(id));
        own.extend(inputs.clone());
        example.extend(examples.clone());
        Some((own, example))
    }

    /// The inputs it represents that are nobody's own: its examples, and what was the default of its edition and is no
    /// longer.
    #[must_use]
    pub fn example(&self) -> Inputs {
        let mut example = self.examples.clone();
        if let Some(edition) = self.edition {
            for was in WAS.iter().filter(|was| was.calculator == self.calculator && was.until >= edition) {
                example.entry(was.field.to_owned()).or_insert_with(|| was.text.to_owned());
            }
        }
        example
    }

    /// All inputs it represents.
    #[must_use]
    pub fn opened(&self) -> Inputs {
        let mut inputs = self.example();
        inputs.extend(self.inputs.clone());
        inputs
    }
}

/// Whether a number is at what is usual: that is the default of the edition, and needs no carrying.
fn is_default(field: &Field) -> bool {
    field.whose == Whose::Usual && matches!(field.kind, Kind::Number { slides: None, .. })
}

/// The text of a field as it will still be understood when its unit or default is another: no bare number, `.` for the
/// comma. A text that has a problem stays as it was typed.
fn canonical_text(field: &Field) -> String {
    let text = ascii(&field.text);
    match &field.kind {
        Kind::Number { unit, .. } if field.problem.is_none() => {
            let compact: String = text.split_whitespace().collect::<String>().replace(',', ".");
            let bare = compact.bytes().all(|byte| !byte.is_ascii_alphabetic() || matches!(byte, b'e' | b'E'));
            if bare && !compact.contains('%') { compact + &ascii(unit) } else { compact }
        }
        _ => text,
    }
}

/// The same text without the letters that a link cannot show.
fn ascii(text: &str) -> String {
    text.replace(['µ', 'μ'], "u").replace(['−', '–', '‐', '‑'], "-").replace(['Ω', '\u{2126}'], "ohm")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::calculators;
    use proptest::prelude::*;

    #[test]
    fn an_anchor_is_no_link() {
        for anchor in ["", "page-text", "dissipation", "a_b;c=d", "Upper.1", ";", ":.1"] {
            assert_eq!(Link::read(anchor), None, "{anchor}");
        }
    }

    #[test]
    fn what_is_good_is_read_and_what_is_not_is_handed_back() {
        let link = Link::read("first:dissipation.x;bias=fixed;broken;valve=%4;~14.9+W").unwrap();
        assert_eq!(
            (link.block.as_str(), link.calculator.as_str(), link.edition),
            ("first", "dissipation", Some(1))
        );
        assert_eq!(link.inputs, Inputs::from([("bias".into(), "fixed".into())]));
        assert_eq!(link.answer.as_deref(), Some("14.9 W"));
        assert_eq!(link.damaged, ["x", "broken", "valve=%4"]);
    }

    #[test]
    fn what_stands_twice_is_said() {
        let link = Link::read("dissipation.1;bias=fixed;bias=cathode;*bias=fixed;*valve=EL34").unwrap();
        assert_eq!(link.inputs, Inputs::from([("bias".into(), "fixed".into())]));
        assert_eq!(link.damaged, ["bias, a second time"; 2]);
    }

    /// A valve’s name of a megabyte kept the page for half a minute, and a number of 50,000 letters for two.
    #[test]
    fn a_long_link_is_answered_at_once_and_said_in_short() {
        let began = std::time::Instant::now();
        let longest = Link::read(&format!("dissipation.1;valve={}", "A".repeat(1_000_000))).unwrap();
        assert!(longest.inputs.is_empty());
        assert_eq!(longest.damaged, ["1000006 characters; no link has more than 20000"]);
        for long in ["A".repeat(6_000), "1k".repeat(3_000), "Ω".repeat(1_000)] {
            let link = format!("dissipation.1;valve={long};cathode-current={long};{long}=1");
            let link = Link::read(&link.replace('Ω', "%CE%A9")).unwrap();
            let outcome = crate::calculate("dissipation", &link.opened()).unwrap();
            let problems: Vec<&str> = outcome
                .fields
                .iter()
                .filter_map(|field| Some(field.problem.as_ref()?.message.as_str()))
                .collect();
            assert_eq!(problems.len(), 2, "{problems:?}");
            assert!(problems.iter().all(|problem| problem.len() < 3_000), "{problems:?}");
            assert!(link.damaged.len() == 1 && link.damaged[0].len() < 500);
        }
        // Some milliseconds; what it took once is minutes.
        assert!(began.elapsed().as_secs() < 20, "{:?}", began.elapsed());
    }

    #[test]
    fn a_link_that_was_escaped_on_its_way_is_read() {
        let link = "dissipation.1;cathode-current=38.5mA;words=a%3Bb;~14.9+W";
        let escaped = link.replace('%', "%25").replace(';', "%3b").replace('=', "%3D").replace('~', "%7E");
        assert_eq!(Link::read(&escaped), Link::read(link));
    }

    #[test]
    fn a_bare_number_is_written_with_the_unit_it_was_read_in() {
        let inputs =
            Inputs::from([("cathode-current".into(), "38,5".into()), ("bias".into(), "cathode".into())]);
        let entry = crate::find("dissipation").unwrap();
        let link = Link::to(entry, "dissipation", &inputs, &Inputs::new(), &entry.run(&inputs)).written();
        assert!(link.starts_with("dissipation.2;bias=cathode;cathode-current=38.5mA;~"), "{link}");
    }

    #[test]
    fn a_state_kept_aside_is_opened_with_its_own_values() {
        let entry = crate::find("dissipation").unwrap();
        let inputs = |line: &str| from_line(line).0;
        let link = |own: &Inputs| {
            Link::to(entry, "here", own, &Inputs::new(), &entry.run_beside(own, &Inputs::new()))
        };
        let (kept, now) = (
            inputs("valve=EL34;anode-voltage=440V"),
            inputs("valve=EL34;cathode-current=38mA;screen-how=unknown"),
        );
        let fields = entry.run(&kept).fields;
        let written = link(&now).beside(&link(&kept), &fields).written();
        assert!(written.contains("!anode-voltage=440V") && !written.contains("!valve"), "{written}");
        let read = Link::read(&written).unwrap();
        assert_eq!(read.inputs, link(&now).inputs);
        let (own, example) = read.kept().unwrap();
        let (again, was) = (entry.run_beside(&own, &example), entry.run_beside(&kept, &Inputs::new()));
        let said = |fields: &[Field]| -> Vec<_> {
            fields.iter().map(|field| (field.reading.clone(), field.whose)).collect()
        };
        assert_eq!(said(&again.fields), said(&was.fields));
        assert_eq!(Link::read("dissipation.2;bias=fixed").unwrap().kept(), None);
    }

    /// What comes from outside is tried oftener than the rest: fifty texts a case, a million in the long run.
    const FRAGMENTS: usize = 50;

    proptest! {
        #[test]
        fn any_fragment_is_read(
            fragments in proptest::collection::vec("\\PC{0,60}", FRAGMENTS),
            heads in proptest::collection::vec("[a-z:.;=~%0-9-]{0,40}", FRAGMENTS),
        ) {
            for fragment in fragments.iter().chain(&heads) {
                if let Some(link) = Link::read(fragment) {
                    let _ = link.opened();
                }
            }
        }
    }

    proptest! {
        #[test]
        fn what_is_written_is_read_back(
            block in "[a-z][a-z0-9-]{0,6}|", calculator in "[a-z][a-z0-9-]{0,6}", edition in proptest::option::of(1_u32..9),
            inputs in proptest::collection::btree_map("[a-z.-]{1,8}", "\\PC{0,8}", 0..4),
            examples in proptest::collection::btree_map("[a-z.-]{1,8}", "\\PC{0,8}", 0..3),
            aside in (
                proptest::collection::btree_map("[a-z.-]{1,8}", "\\PC{0,8}", 0..3),
                proptest::collection::btree_map("[a-z.-]{1,8}", "\\PC{0,8}", 0..3),
            ),
            answer in proptest::option::of("\\PC{0,8}"),
        ) {
            // What is the sender's own is no example.
            let others = |examples: Inputs, inputs: &Inputs| -> Inputs {
                examples.into_iter().filter(|(id, _)| !inputs.contains_key(id)).collect()
            };
            let examples = others(examples, &inputs);
            let aside = Aside { examples: others(aside.1, &aside.0), inputs: aside.0 };
            let link = Link { block, calculator, edition, inputs, examples, aside, answer, damaged: vec![] };
            let written = link.written();
            prop_assert!(written.is_ascii());
            prop_assert_eq!(Link::read(&written), Some(link));
        }

        /// Whatever was typed, anyone who opens the link sees the same fields and the same answer.
        #[test]
        fn a_link_gives_the_same_answer(
            calculator in 0..calculators().count(), at in 0_usize..64,
            text in "[0-9]{1,3}([.,][0-9]{1,2})?( ?[mkuµ]?(V|A|Ω|F|W)?)?|\\PC{0,6}",
        ) {
            let entry = calculators().nth(calculator).unwrap();
            let fields = entry.run(&Inputs::new()).fields;
            let one = |at: usize, text| Inputs::from([(fields[at % fields.len()].id.to_owned(), text)]);
            let (own, example) = (one(at, text), one(at + 1, fields[(at + 1) % fields.len()].text.clone()));
            let outcome = entry.run_beside(&own, &example);
            let link = Link::to(entry, "here", &own, &example, &outcome);
            let link = Link::read(&link.written()).unwrap();
            let again = entry.run_beside(&link.inputs, &link.example());
            let whose = |outcome: &Outcome| -> Vec<_> { outcome.fields.iter().map(|field| field.whose).collect() };
            prop_assert_eq!(whose(&again), whose(&outcome));
            let readings = |outcome: &Outcome| -> Vec<String> {
                outcome.fields.iter().map(|field| field.reading.clone()).collect()
            };
            prop_assert_eq!(readings(&again), readings(&outcome));
            prop_assert_eq!(again.report.map(|report| report.answers), outcome.report.map(|report| report.answers));
        }
    }
}
