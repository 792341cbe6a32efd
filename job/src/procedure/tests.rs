use super::*;
use proptest::prelude::*;

fn text(text: &str) -> Raw {
    Raw::Text(text.to_owned())
}

fn list(texts: &[&str]) -> Raw {
    Raw::List(texts.iter().map(|one| text(one)).collect())
}

/// A block of these texts.
fn block(keys: &[(&str, Raw)]) -> Block {
    keys.iter().map(|(key, raw)| ((*key).to_owned(), raw.clone())).collect()
}

/// A reading that is right, with these keys as well or instead.
fn reading(keys: &[(&str, Raw)]) -> Result<ReadingSpec, Vec<Fault>> {
    let mut whole = block(&[
        ("quantity", text("Bias at the grids")),
        ("probes", text("red on the grid tag, black on chassis")),
        ("expect", text("−41 to −51 V")),
        ("stop", text("Less negative than −41 V: mains off")),
        ("unit", text("V")),
        ("plausible", list(&["-200 V", "200 V"])),
    ]);
    whole.extend(block(keys));
    if whole["unit"] == text("seen") {
        whole.remove("plausible");
    }
    ReadingSpec::from_block(&whole, "step-5")
}

/// A fault as press will say it.
fn said(faults: &[Fault]) -> Vec<String> {
    let line =
        |fault: &Fault| format!("{} “{}” {}; right: {}", fault.key, fault.found, fault.wrong, fault.right);
    faults.iter().map(line).collect()
}

#[test]
fn a_reading_as_it_was_before_jobs_is_still_one() {
    let spec = reading(&[]).unwrap();
    assert_eq!((spec.id.as_str(), spec.gate, spec.blanks.printed()), ("step-5", None, vec![""]));
}

#[test]
fn every_key_is_read() {
    let spec = reading(&[
        ("id", text("bias-a")),
        ("blanks", list(&["A", "B"])),
        ("high", text("0.95 × job.bias-expected")),
        ("stop", text("Less negative than {−43 V}: mains off")),
        ("note-low", text("-55 V")),
        ("alike", text("10 %")),
        ("gate", text("hard")),
        ("means", text("The feed is open.")),
        ("go", text("#step-4")),
        ("feeds", text("bias-voltage")),
        ("purpose", text("live")),
        ("after", text("ten")),
        ("when", text("standby.none")),
        ("alike-gate", text("hard")),
        ("alike-means", text("One valve is weak.")),
        ("rise", text("one to ten")),
    ])
    .unwrap();
    assert_eq!((spec.id.as_str(), spec.gate, spec.purpose), ("bias-a", Some(Gate::Hard), Purpose::Live));
    assert_eq!(
        (spec.feeds("A"), spec.feeds("B"), spec.feeds("C")),
        (Some("bias-voltage"), Some("bias-voltage"), None)
    );
    assert_eq!(spec.stop_parts(), ("Less negative than ", Some("−43 V"), ": mains off"));
    assert_eq!(
        (&spec.go, spec.alike, spec.alike_gate),
        (&Some(Go::Step("step-4".into())), Some(Alike::Share(0.1)), Gate::Hard)
    );
    assert_eq!(spec.high, bound("0.95 × job.bias-expected"));
    assert_eq!(spec.plausible, Some(Plausible { low: -200.0, high: 200.0 }));
    // What press writes the browser reads.
    let json = serde_json::to_string(&Item::Reading(spec.clone())).unwrap();
    assert_eq!(serde_json::from_str::<Item>(&json).unwrap(), Item::Reading(spec));
}

#[test]
fn each_fault_of_a_reading_has_its_key_and_what_would_be_right() {
    let of = |keys: &[(&str, Raw)]| said(&reading(keys).unwrap_err());
    for (keys, expected) in [
        (vec![("unit", text("volt"))], "unit “volt” is not a unit; right: one of V, A, Ω"),
        (vec![("gat", text("hard"))], "gat “” is not a key of this block; right: gate"),
        (
            vec![("gate", text("firm")), ("high", text("1 V"))],
            "gate “firm” is not a valid gate; right: one of hard, soft",
        ),
        (vec![("gate", text("hard"))], "gate “” has no limit to compare with; right: write low ="),
        (
            vec![("low", text("41 mA"))],
            "low “41 mA” is neither a figure in V nor a name; right: write it as -41 V",
        ),
        (vec![("low", text("job.lode"))], "low “job.lode” names no value of a job; right: job.load"),
        (vec![("high", text("job.load"))], "high “job.load” is in another unit; right: something in V"),
        (
            vec![("high", text("disipation.x"))],
            "high “disipation.x” names no calculator of limits “disipation”; right: dissipation.x",
        ),
        (
            vec![("high", text("dissipation.anode-powr"))],
            "high “dissipation.anode-powr” names no answer of that calculator; right: dissipation.anode-power",
        ),
        (vec![("high", text("dissipation.anode-power"))], "is in another unit; right: something in V"),
        (
            vec![("low", text("5 V")), ("high", text("-5 V"))],
            "high “−5\u{a0}V” is below `low`; right: at least 5\u{a0}V",
        ),
        (vec![("alike", text("10 %"))], "alike “” has one blank only to compare; right: write blanks ="),
        (
            vec![("alike", text("ten")), ("blanks", list(&["A", "B"]))],
            "alike “ten” is neither a share nor a span; right: write 10 %",
        ),
        (vec![("blanks", list(&["A", "A"]))], "blanks “A” occurs twice; right: a name of its own"),
        (
            vec![("blanks", Raw::Truth(true))],
            "blanks “” is not a list of texts; right: write blanks = [\"…\"]",
        ),
        (
            vec![("feeds", text("bias-volts"))],
            "feeds “bias-volts” is not a value of a job; right: bias-voltage",
        ),
        (vec![("feeds", text("load"))], "feeds “load” is in Ω; right: a value in V"),
        (vec![("feeds", text("standby"))], "feeds “standby” is in ; right: a value in V"),
        (
            vec![("feeds", list(&["anode-voltage", "screen-voltage"]))],
            "feeds “anode-voltage, screen-voltage” names 2 values; right: one value for all, or one for each of the 1",
        ),
        (
            vec![("feeds", text("bias-voltage")), ("low", text("-70 V"))],
            "low “−70\u{a0}V” would stop at more bias; right: write note-low: a more negative bias harms nothing",
        ),
        (
            vec![("unit", text("seen")), ("low", text("1 V"))],
            "low “” is a limit of something seen; right: give it a unit",
        ),
        (vec![("live", Raw::Truth(true))], "live “” is not a key of this block; right: "),
        (vec![("purpose", text("lamp"))], "purpose “lamp” is not a valid purpose; right: "),
        (vec![("purpose", text("behind-the-lampe"))], "is not a valid purpose; right: behind-the-lamp"),
        (
            vec![("plausible", text("800 V"))],
            "plausible “800 V” is not a least and a most in this unit; right: write plausible =",
        ),
        (vec![("plausible", list(&["9 V", "1 V"]))], "is not a least and a most in this unit"),
        (vec![("plausible", list(&["0 A", "1 A"]))], "is not a least and a most in this unit"),
        (
            vec![("high", text("250 V"))],
            "plausible “” does not include high, 250\u{a0}V; right: a wider range",
        ),
        (vec![("each", text("valve"))], "each “valve” is not something with a blank each; right: socket"),
        (
            vec![("each", text("socket")), ("blanks", list(&["A", "B"]))],
            "each “socket” cannot be used with `blanks`",
        ),
        (vec![("alike-gate", text("hard"))], "alike-gate “” needs an `alike`"),
        (vec![("when", text("standby"))], "when “standby” is not an answer to a choice"),
        (
            vec![("rise", text("one.A to ten"))],
            "rise “one.A to ten” is not a rise from one reading to another",
        ),
        (
            vec![("expect", text("pin {pin gird: 5} at {0.95 × job.bias-expected: −43.7 V}"))],
            "expect “{pin gird: 5}” names no pin of an output valve; right: pin grid",
        ),
        (
            vec![("means", text("a {valv: 6L6GC}"))],
            "means “{valv: 6L6GC}” is not part of an amplifier; right: valve",
        ),
        (
            vec![("probes", text("{job.bias-expect: −46 V}"))],
            "names no value of a job; right: job.bias-expected",
        ),
        (
            vec![("probes", text("pin {pin grid 5}"))],
            "has a brace without a colon; right: write {valve: 6L6GC}",
        ),
        (vec![("id", text("Bias A"))], "id “Bias A” is not an id; right: small letters"),
        (
            vec![("high", text("job.ht-unloaded"))],
            "does not mark the figure that the job sets; right: put it in braces, as Over {61 mA}",
        ),
        (
            vec![("high", text("4 V")), ("stop", text("Over {4 V}: off"))],
            "stop “Over {4 V}: off” marks a figure that no job sets; right: write it without braces",
        ),
        (vec![("probes", text(" "))], "probes “” is blank; right: write probes ="),
        (
            vec![("stop", text("one two three four five six seven eight nine ten eleven twelve thirteen"))],
            "has 13 words; right: say it in 12 words",
        ),
    ] {
        let said = of(&keys);
        assert!(said.len() == 1 && said[0].contains(expected), "{said:?} is not {expected:?}");
    }
    let empty = said(&ReadingSpec::from_block(&Block::new(), "x").unwrap_err());
    assert_eq!(empty.len(), 5, "{empty:?}");
    assert!(empty.iter().all(|fault| fault.contains("is missing; right: write")), "{empty:?}");
}

#[test]
fn ticks_choices_and_timers() {
    let tick = TickSpec::from_block(&block(&[("text", text("Clip off.")), ("gate", text("hard"))]), "step-2")
        .unwrap();
    assert_eq!((tick.id.as_str(), tick.gate), ("step-2", Some(Gate::Hard)));

    let option = |id: &str, go: &str| {
        Raw::Table(
            [("id", text(id)), ("text", text("…")), ("go", text(go))]
                .map(|(key, raw)| (key.to_owned(), raw))
                .into(),
        )
    };
    let choice = |options: Vec<Raw>| {
        ChoiceSpec::from_block(
            &block(&[("question", text("How?")), ("options", Raw::List(options))]),
            "step-3",
        )
    };
    assert_eq!(choice(vec![option("a", "#step-4"), option("b", "#step-7")]).unwrap().options.len(), 2);
    assert!(said(&choice(vec![option("a", "#step-4")]).unwrap_err())[0].contains("offers nothing to choose"));
    assert!(
        said(&choice(vec![option("a", "#s"), option("a", "#t")]).unwrap_err())[0]
            .starts_with("options.id “a” occurs twice")
    );
    let unknown = Raw::Table([("id".to_owned(), text("b")), ("tekst".to_owned(), text("#x"))].into());
    let faults = said(&choice(vec![option("a", "#s"), unknown]).unwrap_err());
    assert!(
        faults.contains(&"options.tekst “” is not a key of this block; right: text".to_owned()),
        "{faults:?}"
    );

    let timer = |keys: &[(&str, Raw)]| {
        let mut whole = block(&[("text", text("Warm-up")), ("start", text("Mains is on"))]);
        whole.extend(block(keys));
        TimerSpec::from_block(&whole, "step-4")
    };
    assert_eq!(timer(&[("minutes", Raw::Whole(10))]).unwrap().seconds, 600);
    assert_eq!(timer(&[("minutes", Raw::Whole(1)), ("seconds", Raw::Whole(30))]).unwrap().seconds, 90);
    for wrong in [Raw::Whole(0), Raw::Whole(-5), Raw::Number(1.5), text("10")] {
        assert!(said(&timer(&[("minutes", wrong)]).unwrap_err())[0].contains("is not a whole number"));
    }
    assert!(said(&timer(&[]).unwrap_err())[0].contains("minutes “” is missing"));
    let silent = block(&[("text", text("Warm-up")), ("minutes", Raw::Whole(1))]);
    assert!(said(&TimerSpec::from_block(&silent, "t").unwrap_err())[0].contains("start “” is missing"));
}

/// Anything that may be in a block.
fn raw() -> impl Strategy<Value = Raw> {
    let words = prop::sample::select(vec![
        "V",
        "seen",
        "hard",
        "-41 V",
        "10 %",
        "job.load",
        "dissipation.anode-power",
        "A",
        "",
    ]);
    let leaf = prop_oneof![
        words.prop_map(text),
        "\\PC{0,8}".prop_map(Raw::Text),
        any::<bool>().prop_map(Raw::Truth),
        any::<i64>().prop_map(Raw::Whole),
        any::<f64>().prop_map(Raw::Number),
    ];
    leaf.prop_recursive(2, 8, 3, |inner| {
        prop_oneof![
            prop::collection::vec(inner.clone(), 0..3).prop_map(Raw::List),
            prop::collection::btree_map("id|text|go|x", inner, 0..3).prop_map(Raw::Table),
        ]
    })
}

proptest! {
    /// Whatever is in a block, press hears what is wrong with it, with a key and with what would be right.
    #[test]
    fn any_block_is_read_or_refused_with_reasons(
        block in prop::collection::btree_map(
            "id|quantity|probes|expect|stop|unit|blanks|each|low|high|note-low|alike|alike-gate|gate|feeds|plausible|purpose|when|after|rise|start|text|question|options|meet|minutes|x",
            raw(), 0..9,
        ),
    ) {
        let refused = [
            ReadingSpec::from_block(&block, "step-1").err(),
            TickSpec::from_block(&block, "step-1").err(),
            ChoiceSpec::from_block(&block, "step-1").err(),
            TimerSpec::from_block(&block, "step-1").err(),
        ];
        for fault in refused.into_iter().flatten().flatten() {
            prop_assert!(!fault.key.is_empty() && !fault.wrong.is_empty() && !fault.right.is_empty(), "{fault:?}");
        }
    }
}
