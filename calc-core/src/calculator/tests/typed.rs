//! Whatever is typed leads to an answer, or to a problem at its field in its very words.

use super::*;

#[test]
fn what_no_field_asks_for_is_named() {
    let inputs = Inputs::from([("anode-volts".to_owned(), "1".to_owned())]);
    assert_eq!(find("idle-current").unwrap().run(&inputs).unknown, ["anode-volts"]);
}

#[test]
fn a_bad_text_keeps_its_place_and_stops_the_answer() {
    for entry in calculators() {
        for field in entry.run(&Inputs::new()).fields {
            if matches!(field.kind, Kind::Words) {
                continue;
            }
            let outcome = entry.run(&Inputs::from([(field.id.to_owned(), "nonsense".to_owned())]));
            let bad = outcome.fields.iter().find(|bad| bad.id == field.id).unwrap();
            assert_eq!(bad.text, "nonsense");
            let problem = bad.problem.as_ref().unwrap();
            assert!(problem.message.starts_with(field.name) && problem.message.contains("nonsense"));
            assert!(outcome.report.is_none());
        }
    }
}

/// What people and machines may put into a field.
fn any_text() -> impl Strategy<Value = String> {
    let number =
        (-1e12..1e12f64, "[pnumkKMGRVAWF%Ω]{0,2}").prop_map(|(number, unit)| format!("{number}{unit}"));
    prop_oneof!["\\PC{0,12}", "[0-9kKmMRuµnp.,/ −-]{0,8}[VAΩWF%]?", number]
}

proptest! {
    #[test]
    fn whatever_is_typed_leads_to_an_answer_or_to_a_problem_at_its_field(
        calculator in 0..calculators().count(),
        texts in proptest::collection::vec((any::<prop::sample::Index>(), any::<bool>(), any_text()), 1..5),
    ) {
        let entry = calculators().nth(calculator).unwrap();
        let fields: Vec<Field> = entry.run(&Inputs::new()).fields;
        let inputs: Inputs = texts.into_iter().map(|(at, tolerance, text)| {
            let id = at.get(&fields).id;
            (if tolerance { tolerance_id(id) } else { id.to_owned() }, text)
        }).collect();
        let outcome = entry.run(&inputs);
        match outcome.report {
            Some(report) => for answered in report.answers {
                prop_assert!(answered.margin.value.is_finite(), "{}", answered.answer.id);
                prop_assert!(!answered.value().contains("NaN") && !answered.span().contains("NaN"));
            },
            None => prop_assert!(outcome.fields.iter().any(|field| field.problem.is_some()
                || field.tolerance.as_ref().is_some_and(|tolerance| tolerance.problem.is_some()))),
        }
    }
}

/// Every sentence that a reader may be told about a field, word for word.
#[test]
fn what_is_wrong_is_said_with_what_would_be_right() {
    let table: &[(&str, &str, &str, &[&str])] = &[
        ("anode-voltage", "", "Anode voltage is empty. Type it as 438 V.", &[]),
        (
            "anode-voltage",
            "volts",
            "Anode voltage: “volts” cannot be used; there is no number in it. Type it as 438 V.",
            &[],
        ),
        (
            "anode-voltage",
            "4.3.8",
            "Anode voltage: “4.3.8” cannot be used; its decimal marks or spaces do not make one number. Type it as 438 V.",
            &[],
        ),
        (
            "anode-voltage",
            "1/0",
            "Anode voltage: “1/0” cannot be used; the number below the fraction bar is zero. Type it as 438 V.",
            &[],
        ),
        (
            "anode-voltage",
            "1234567890123456",
            "Anode voltage: “1234567890123456” cannot be used; it has more digits than any meter shows. Type it as 438 V.",
            &[],
        ),
        (
            "screen-stopper",
            "1,500",
            "Screen stopper: “1,500” cannot be used; the comma can be a decimal mark (1.5) or separate thousands (1500). Which is it?",
            &["1.5", "1500"],
        ),
        (
            "cathode-current",
            "38M",
            "Cathode current, as read: “38M” cannot be used; the prefix M cannot be used here. It could mean 38 mA or 38 MA.",
            &["38 mA"],
        ),
        (
            "cathode-current",
            "38 V",
            "Cathode current, as read: “38 V” cannot be used; this field takes amperes, but that is in volts. Type it as 34 mA.",
            &[],
        ),
        (
            "cathode-current",
            "38 mA V",
            "Cathode current, as read: “38 mA V” cannot be used; it has more than one unit. Type it as 34 mA.",
            &[],
        ),
        (
            "cathode-current",
            "38 x",
            "Cathode current, as read: “38 x” cannot be used; “x” is not a prefix or unit for this field, which takes amperes. Type it as 34 mA.",
            &[],
        ),
        (
            "cathode-current",
            "0.038",
            "Cathode current, as read: “0.038” cannot be used; a bare number here is in mA. Is it 38mA, or 0.038 mA?",
            &["38mA", "0.038 mA"],
        ),
        (
            "anode-voltage",
            "-438",
            "Anode voltage: “-438” cannot be used; a bare number here is in V, and it must lie between 1 V and 1.5 kV.",
            &["438V"],
        ),
        (
            "sharing",
            "2.5",
            "Valves that share the reading: “2.5” cannot be used; it must be a whole number from 1 to 8.",
            &[],
        ),
        ("bias", "fixd", "Bias: “fixd” cannot be used; the choices are fixed or cathode.", &["fixed"]),
        (
            "anode-voltage.tolerance",
            "-1 %",
            "Anode voltage, tolerance: “-1 %” cannot be used; a tolerance must be between 0 and 100 %. Type it as 1 %, or as 0.5 % + 2 digits.",
            &[],
        ),
    ];
    let entry = crate::find("dissipation").unwrap();
    for (field, typed, message, offers) in table {
        let outcome = entry.run(&Inputs::from([((*field).to_owned(), (*typed).to_owned())]));
        let problem = outcome.problems().next().unwrap_or_else(|| panic!("{field}: {typed} was taken"));
        assert_eq!(problem.message.replace('\u{a0}', " "), *message);
        assert_eq!(problem.offers, *offers, "{field}: {typed}");
    }
}
