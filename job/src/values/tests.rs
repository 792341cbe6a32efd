use super::*;
use calc_core::calculator::{Inputs, Kind as Asked};

fn field_of(calculator_field: &str) -> calc_core::calculator::Field {
    let (calculator, field) = calculator_field.split_once('.').unwrap();
    let asked = |inputs: &Inputs| calc_core::calculate(calculator, inputs).unwrap().fields;
    let mut fields = asked(&Inputs::new());
    // Some are asked for only once another option is taken.
    for choice in fields.clone() {
        let Asked::Choice(options) = &choice.kind else { continue };
        for option in options {
            fields.extend(asked(&Inputs::from([(choice.id.to_owned(), option.id.clone())])));
        }
    }
    let names: Vec<&str> = fields.iter().map(|field| field.id).collect();
    fields
        .iter()
        .find(|known| known.id == field)
        .unwrap_or_else(|| panic!("{calculator} asks for no “{field}”; it asks for {names:?}"))
        .clone()
}

#[test]
fn every_calculator_field_and_answer_exists() {
    for known in KNOWN {
        for fills in known.fills {
            let field = field_of(fills);
            // What is in the field by default is of the same sort: it could be a value of this job.
            match (&field.kind, known.kind) {
                (Asked::Number { .. }, Kind::Number(_) | Kind::Negative(_)) => {
                    known.read(&field.text).unwrap_or_else(|problem| panic!("{fills}: {}", problem.message));
                }
                (Asked::Choice(_), Kind::ChoiceOf(_)) | (Asked::Words, Kind::Words) => {}
                (Asked::Choice(theirs), Kind::Choice(ours)) => {
                    let (theirs, ours) =
                        (theirs.iter().map(|one| one.id.as_str()), ours.iter().map(|one| one.0));
                    assert!(theirs.eq(ours), "{} and {fills} have other choices", known.id);
                }
                (asked, ours) => panic!("{} is {ours:?}, {fills} is {asked:?}", known.id),
            }
        }
        for answer in known.kept_from {
            let (calculator, answer) = answer.split_once('.').unwrap();
            let report = calc_core::calculate(calculator, &Inputs::new()).unwrap().report.unwrap();
            let answers: Vec<&str> = report.answers.iter().map(|answered| answered.answer.id).collect();
            assert!(answers.contains(&answer), "{calculator} answers no {answer}: {answers:?}");
        }
        if let Kind::ChoiceOf(field) = known.kind {
            assert!(matches!(field_of(field).kind, Asked::Choice(_)), "{field} is no choice");
        }
    }
}

#[test]
fn every_unit_is_one_and_no_name_comes_twice() {
    for (at, known) in KNOWN.iter().enumerate() {
        assert!(measure(known.unit()).is_ok(), "{}: “{}”", known.id, known.unit());
        assert!(
            known.id.bytes().all(|byte| byte.is_ascii_lowercase() || byte.is_ascii_digit() || byte == b'-'),
            "{}",
            known.id
        );
        assert!(KNOWN[..at].iter().all(|other| other.id != known.id), "{} stands twice", known.id);
        let earlier = KNOWN[..at].iter().flat_map(|other| other.fills);
        assert!(
            !earlier.into_iter().any(|fills| known.fills.contains(fills)),
            "{} fills what is filled",
            known.id
        );
    }
}

#[test]
fn a_text_is_kept_with_its_unit() {
    for (id, typed, kept) in [
        ("cathode-current", "38", "38 mA"),
        ("cathode-current", "0.038 A", "0.038 A"),
        ("anode-voltage", " 438 VDC ", "438 VDC"),
        ("grid-leak", "220k", "220k"),
        ("coupling", "100", "100 nF"),
        ("bias-voltage", "−46", "−46 V"),
        ("sockets", "4", "4"),
        ("sockets", "2.0", "2"),
        ("standby", "By a standby switch in the DC line", "dc"),
        ("standby", "switch", "dc"),
        ("meter-resistance", "10", "10 MΩ"),
    ] {
        assert_eq!(find(id).unwrap().read(typed).unwrap(), kept, "{id} {typed}");
    }
}

#[test]
fn what_cannot_be_used_says_why_and_what_would_be_right() {
    let problem = |id: &str, text: &str| find(id).unwrap().read(text).unwrap_err();
    assert!(problem("anode-voltage", "38 mA").message.contains("this field takes volts"));
    for above in ["46", "+46", "+46 V"] {
        assert_eq!(problem("bias-voltage", above).offers, ["-46V"]);
    }
    assert_eq!(problem("standby", "windin").offers, ["winding"]);
    assert_eq!(problem("sockets", "3").offers, ["1", "2", "4", "6", "8"]);
    assert!(problem("sockets", "3").message.contains("“3” cannot be used; it is one of 1, 2, 4, 6, 8"));
    assert!(problem("load", "").message.contains("empty"));
    assert!(problem("fuse", &"x".repeat(1_001)).message.contains("longer than 1000 characters"));
    assert_eq!(
        find("anod-voltage").unwrap_err().to_string(),
        "no value of a job is called “anod-voltage”; is it “anode-voltage”?"
    );
}

#[test]
fn a_stop_figure_that_stops_nothing_is_refused() {
    let known = find("idle-stop").unwrap();
    assert_eq!(known.read("61").unwrap(), "61 mA");
    assert_eq!(known.read("0.2 A").unwrap(), "0.2 A");
    let problem = known.read("610").unwrap_err();
    assert!(
        problem.message.contains("“610”") && problem.message.contains("the most is 200 mA"),
        "{problem:?}"
    );
    // What the lamp and the capacitors are calculated from before power cannot be measured again before it.
    assert!(!find("idle-watts").unwrap().measured && !find("ht-unloaded").unwrap().measured);
}
