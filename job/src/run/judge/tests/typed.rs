//! What is typed counts as the calculators' reader has it, or is asked back (A1 to A3 of the surface review).

use super::*;
use crate::procedure::Plausible;
use crate::unit::OVER_RANGE;
use calc_core::quantity::notation;

/// A reading in a unit, in range between two limits.
fn between(unit: &str, low: Option<&str>, high: Option<&str>, plausible: [f64; 2]) -> ReadingSpec {
    ReadingSpec {
        id: "r".into(),
        quantity: "The reading".into(),
        unit: unit.into(),
        low: low.and_then(bound),
        high: high.and_then(bound),
        plausible: Some(Plausible { low: plausible[0], high: plausible[1] }),
        ..ReadingSpec::default()
    }
}

/// Takes a text into a job of its own: what came of it, and what is kept.
fn taken(spec: &ReadingSpec, text: &str) -> (Judgement, Option<String>) {
    let mut job = job();
    let judgement = job.record_reading(NewReading::typed(&page(spec), "r", "", text, NOW));
    (judgement, job.readings.pop().map(|taken| taken.text))
}

#[test]
fn a1_a_bias_of_four_volts_is_four_volts_and_stops() {
    let spec = between("V", None, Some("-42.6 V"), [-200.0, 200.0]);
    let (judgement, kept) = taken(&spec, "-4 V");
    assert!(matches!(judgement, Judgement::Stop(_)), "{judgement:?}");
    assert_eq!(kept.as_deref(), Some("-4 V"));
    assert_eq!(read_as(&spec, "-4 V").unwrap(), "−4\u{a0}V");
}

#[test]
fn a1_texts_with_spaces_and_units_keep_their_value() {
    for (unit, text, si) in [
        ("V", "438 V", 438.0),
        ("V", "222 V", 222.0),
        ("MΩ", "60 M", 60e6),
        ("Ω", "0.3 R", 0.3),
        ("Ω", "0.3 Ω", 0.3),
    ] {
        let spec = between(unit, None, None, [-1e9, 1e9]);
        let (judgement, kept) = taken(&spec, text);
        assert_eq!(judgement, Judgement::Recorded, "{text}");
        let kept = measure(unit).unwrap().parse("", &kept.unwrap()).unwrap();
        assert_eq!(kept.si, si, "{text}");
    }
    let spec = between("V", None, None, [-1e9, 1e9]);
    assert!(matches!(taken(&spec, "3 4").0, Judgement::Unread(_)));
}

#[test]
fn a3_letters_are_read_or_asked_back_and_never_dropped() {
    let ohms = between("Ω", None, Some("0.5 Ω"), [0.0, 1e9]);
    for (text, kept) in
        [("0R3", Some("0R3")), ("1e3", Some("1e3 Ω")), ("1/2", Some("1/2 Ω")), ("0.3ohm", Some("0.3ohm"))]
    {
        assert_eq!(taken(&ohms, text).1.as_deref(), kept, "{text}");
    }
    assert!(matches!(taken(&ohms, "1e3").0, Judgement::Stop(_)));
    for text in ["<0.1", "0.1 or less", "0.05A", "0.1V", "1,000", "46O", "--3", "²", "3m3m"] {
        let (judgement, kept) = taken(&ohms, text);
        assert!(matches!(judgement, Judgement::Unread(_)) && kept.is_none(), "{text}: {judgement:?}");
    }
    // Less than nothing is no resistance that an ohmmeter shows.
    assert!(matches!(taken(&ohms, "-0.05").0, Judgement::Doubted(_)));
}

#[test]
fn a2_what_is_hard_to_believe_counts_only_by_its_own_confirmation() {
    let spec = between("V", Some("100 V"), None, [0.0, 800.0]);
    let procedure = page(&spec);
    let mut job = job();
    let before = job.clone();
    let typed = NewReading::typed(&procedure, "r", "", "2222", NOW);
    let Judgement::Doubted(doubt) = job.record_reading(typed) else { panic!("2222 V was taken") };
    assert_eq!(doubt.text, "2222 V");
    assert!(
        doubt.message.starts_with(
            "The reading: is it 2222 V, that is 2.222\u{a0}kV? What a meter shows there is between"
        ),
        "{}",
        doubt.message
    );
    // The same again, as a doubled Enter has it, or the offer typed by hand: asked again.
    for text in ["2222", "2222 V", &doubt.text] {
        assert!(matches!(job.record_reading(NewReading { text, ..typed }), Judgement::Doubted(_)), "{text}");
        assert_eq!(job, before);
    }
    let confirmed = NewReading { text: &doubt.text, confirmed: true, ..typed };
    assert_eq!(job.record_reading(confirmed), Judgement::InRange);
    assert_eq!(job.readings.last().unwrap().text, "2222 V");
    // Confirmed is what was read, not that it is in range; and a text that is none is none.
    assert!(matches!(job.record_reading(NewReading { text: "-5", ..confirmed }), Judgement::Stop(_)));
    assert!(matches!(job.record_reading(NewReading { text: "x", ..confirmed }), Judgement::Unread(_)));
}

#[test]
fn a_long_text_is_refused_by_name_before_it_is_read() {
    let spec = between("V", None, Some("10 V"), [0.0, 800.0]);
    for long in ["1k".repeat(50_000), "1e".repeat(500_000), "9".repeat(101), "Ω".repeat(300_000)] {
        let began = std::time::Instant::now();
        let Judgement::Unread(problem) = judged(&spec, &long, &job()) else { panic!("it was taken") };
        assert!(began.elapsed().as_millis() < 200, "it took {:?}", began.elapsed());
        assert!(
            problem.message.starts_with("The reading: ") && problem.message.len() < 200,
            "{}",
            problem.message
        );
    }
    let seen = ReadingSpec { unit: "seen".into(), ..spec.clone() };
    let Judgement::Unread(problem) = judged(&seen, &"x".repeat(300_000), &job()) else {
        panic!("it was taken")
    };
    assert!(problem.message.len() < 300, "{}", problem.message);
    assert_eq!(judged(&spec, &format!("{}3", " ".repeat(5_000)), &job()), Judgement::InRange);
}

#[test]
fn ol_is_an_open_circuit_of_ohms_and_never_in_range_of_volts() {
    let stops = |judgement: &Judgement| matches!(judgement, Judgement::Stop(_));
    // Insulation, and the HT to chassis: open is what one wants.
    let insulation = between("MΩ", Some("job.nothing"), None, [0.0, 2e9]);
    let insulation = ReadingSpec { low: Bound::read("1 MΩ", measure("MΩ").unwrap()).ok(), ..insulation };
    for text in ["OL", "ol", "O.L", "0L", "0.L", " OL ", "O L", "OL MΩ", "OLkΩ"] {
        let (judgement, kept) = taken(&insulation, text);
        assert_eq!((judgement, kept.as_deref()), (Judgement::InRange, Some(OVER_RANGE)), "{text}");
    }
    // An earth, and a winding that ends at some ohms: open is the fault.
    let earth = between("Ω", None, Some("0.1 Ω"), [0.0, 100e6]);
    let winding = between("Ω", Some("20 Ω"), None, [0.0, 20e3]);
    assert!(stops(&taken(&earth, "OL").0) && stops(&taken(&winding, "OL").0));
    for unit in ["V", "mA", "V RMS"] {
        let spec = between(unit, None, None, [-1e3, 1e3]);
        assert_eq!(taken(&spec, "OL").0, Judgement::Recorded);
        for (low, high) in [(Some(-1.0), None), (None, Some(9.0)), (Some(0.0), Some(9.0))] {
            let fixed = |si: Option<f64>| si.map(|si| Bound { factor: 1.0, of: Of::Fixed(si) });
            let spec = ReadingSpec { low: fixed(low), high: fixed(high), ..spec.clone() };
            for text in ["OL", "-OL"] {
                assert!(stops(&taken(&spec, text).0), "{unit} {low:?} {high:?}");
            }
        }
    }
    for no in ["O", "L", "LO", "OLD", "OL V", "0Lk", "OOL"] {
        assert!(matches!(taken(&insulation, no).0, Judgement::Unread(_)), "{no}");
    }
}

#[test]
fn what_lies_beyond_the_range_tells_the_job_nothing() {
    let spec = ReadingSpec {
        feeds: vec!["load-measured".into()],
        blanks: Blanks::named(&["A", "B"]),
        ..between("Ω", Some("5 Ω"), None, [0.0, 2e6])
    };
    let mut job = job();
    for (blank, text, kept) in [("A", "7", Some("7 Ω")), ("B", "OL", None), ("B", "8", Some("7 Ω"))] {
        job.record_reading(NewReading::typed(&page(&spec), "r", blank, text, NOW));
        assert_eq!(job.values.get("load-measured").map(|value| value.text.as_str()), kept, "{blank} {text}");
    }
}

proptest! {
    /// Whatever is typed: what counts is what the calculators' reader says, within what is plausible, or nothing does.
    #[test]
    fn what_counts_is_what_the_reader_says(
        text in prop_oneof!["[-+−]?[0-9]{1,4}([.,][0-9]{0,3})? ?(V|mV|k|m|M|R|Ω|OL)?", "\\PC{0,10}", "[0-9OLol.,kVm/e −-]{0,8}"],
        low in -500.0..500.0_f64, span in 0.0..900.0_f64,
    ) {
        let spec = between("V", Some("-9 V"), Some("9 V"), [low, low + span]);
        let (judgement, kept) = taken(&spec, &text);
        let measure = measure("V").unwrap();
        let read = notation::read(&text, measure.unit, 0).map(|read| read.value);
        match judgement {
            Judgement::Unread(_) => prop_assert!(kept.is_none() && read.is_err()),
            Judgement::Doubted(_) => {
                let value = read.unwrap();
                prop_assert!(kept.is_none() && !(low..=low + span).contains(&value));
            }
            judgement if crate::unit::is_over_range(&text, measure) => {
                prop_assert!(matches!(judgement, Judgement::Stop(_)) && kept.as_deref() == Some(OVER_RANGE));
            }
            judgement => {
                let value = read.unwrap();
                prop_assert!((low..=low + span).contains(&value));
                prop_assert_eq!(judgement == Judgement::InRange, (-9.0..=9.0).contains(&value));
                prop_assert_eq!(notation::read(&kept.unwrap(), measure.unit, 0).unwrap().value, value);
            }
        }
    }

    /// Nothing that is not an open circuit reads as one, and one does in every case and whatever is beside it.
    #[test]
    fn only_what_meters_show_is_over_range(text in "[oO0lL.+ −-]{0,6}(Ω|kΩ|V)?") {
        let is = crate::unit::is_over_range(&text, measure("Ω").unwrap());
        let letters: String = text.chars().filter(|letter| letter.is_alphanumeric()).collect();
        let letters = letters.trim_end_matches(['Ω', 'k']).to_ascii_uppercase();
        prop_assert!(!is || matches!(letters.as_str(), "OL" | "0L"), "{text}");
    }
}
