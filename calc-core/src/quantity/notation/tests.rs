//! What people type, and what is refused.

use super::*;
use crate::quantity::unit::{AMPERE, FARAD, OHM, PER_CENT, SIEMENS, VOLT, WATT};
use crate::quantity::writing::bench;
use proptest::prelude::*;

#[test]
fn what_the_bench_writes_is_read() {
    let table: &[(&str, &Unit, f64)] = &[
        ("5k6", &OHM, 5600.0),
        ("5.6k", &OHM, 5600.0),
        ("5,6 k", &OHM, 5600.0),
        ("220K", &OHM, 220e3),
        ("2M2", &OHM, 2.2e6),
        ("4n7", &FARAD, 4.7e-9),
        ("0.022u", &FARAD, 22e-9),
        ("22 µF", &FARAD, 22e-6),
        ("22 μF", &FARAD, 22e-6),
        ("22uF", &FARAD, 22e-6),
        ("µ47", &FARAD, 0.47e-6),
        ("0R47", &OHM, 0.47),
        ("R47", &OHM, 0.47),
        ("470R", &OHM, 470.0),
        ("470 ohm", &OHM, 470.0),
        ("1 kΩ", &OHM, 1e3),
        ("1 k\u{2126}", &OHM, 1e3),
        ("10 000", &OHM, 10e3),
        ("-46", &VOLT, -46.0),
        ("−46 V", &VOLT, -46.0),
        ("– 46 volts", &VOLT, -46.0),
        ("436 VDC", &VOLT, 436.0),
        ("436 V DC", &VOLT, 436.0),
        ("6V3", &VOLT, 6.3),
        ("38mA", &AMPERE, 0.038),
        ("38.5\u{a0}mA", &AMPERE, 0.0385),
        ("1/2 W", &WATT, 0.5),
        ("0,038", &AMPERE, 0.038),
        ("4,700 k", &OHM, 4.7e3),
        ("0,470", &OHM, 0.47),
        ("70 %", &PER_CENT, 0.7),
        ("70", &PER_CENT, 0.7),
        ("11 mA/V", &SIEMENS, 0.011),
        ("1e3", &OHM, 1000.0),
    ];
    for (text, unit, value) in table {
        assert_eq!(read(text, unit, 0).map(|read| read.value), Ok(*value), "{text}");
    }
}

#[test]
fn a_bare_number_takes_the_unit_shown() {
    let reading = read("38", &AMPERE, -3).unwrap();
    assert_eq!((reading.value, reading.explicit), (0.038, false));
    assert_eq!(read("38 A", &AMPERE, -3).unwrap().value, 38.0);
    assert_eq!(read("38.5", &AMPERE, -3).unwrap().resolution, 1e-4);
}

#[test]
fn a_tolerance_letter_behind_a_marking_sets_the_tolerance() {
    for (text, value, per_cent) in [
        ("5k6J", 5600.0, "5"),
        ("220KJ", 220e3, "5"),
        ("220KK", 220e3, "10"),
        ("1M5K", 1.5e6, "10"),
        ("470RG", 470.0, "2"),
    ] {
        let read = read(text, &OHM, 0).unwrap();
        assert_eq!((read.value, read.tolerance), (value, Some(per_cent)), "{text}");
    }
    assert_eq!(read("4n7F", &FARAD, 0).unwrap().tolerance, None, "F is the farad");
    assert_eq!(read("220K", &OHM, 0).unwrap().tolerance, None, "K alone is kilo");
}

#[test]
fn what_may_mean_two_things_or_nothing_is_refused_with_the_reason() {
    let comma = |decimal: &str, thousands: &str| Refusal::Comma {
        decimal: decimal.into(),
        thousands: thousands.into(),
    };
    let table: &[(&str, &Unit, Refusal)] = &[
        ("", &OHM, Refusal::Empty),
        ("  ", &OHM, Refusal::Empty),
        ("-", &OHM, Refusal::NoNumber),
        ("ohm", &OHM, Refusal::NoNumber),
        ("4,700", &OHM, comma("4.7", "4700")),
        ("4,700 V", &VOLT, comma("4.7", "4700")),
        ("12,000", &OHM, comma("12", "12000")),
        ("1,234,567", &OHM, Refusal::Marks),
        ("1.2.3", &OHM, Refusal::Marks),
        ("1.234,5", &OHM, Refusal::Marks),
        ("1 2", &OHM, Refusal::Marks),
        ("12345678901234567", &OHM, Refusal::Digits),
        ("1e99", &OHM, Refusal::Digits),
        ("5.1k6", &OHM, Refusal::Marks),
        ("1/0 W", &WATT, Refusal::Fraction),
        ("38 V", &AMPERE, Refusal::WrongUnit { typed: "volts" }),
        ("38 kV", &AMPERE, Refusal::WrongUnit { typed: "volts" }),
        ("38 mA V", &AMPERE, Refusal::TwoUnits),
        ("38 volts amps", &VOLT, Refusal::TwoUnits),
        ("38 bananas", &VOLT, Refusal::Unknown { text: "bananas".into() }),
        ("38q", &VOLT, Refusal::Unknown { text: "q".into() }),
        ("220m", &OHM, Refusal::Prefix { letter: 'm', offers: vec!["220 mΩ".into(), "220 MΩ".into()] }),
        ("38M", &AMPERE, Refusal::Prefix { letter: 'M', offers: vec!["38 mA".into(), "38 MA".into()] }),
        ("38M5", &AMPERE, Refusal::Prefix { letter: 'M', offers: vec!["38.5 mA".into(), "38.5 MA".into()] }),
        ("5G", &VOLT, Refusal::Prefix { letter: 'G', offers: vec!["5 V".into()] }),
    ];
    for (text, unit, refusal) in table {
        assert_eq!(read(text, unit, 0).as_ref(), Err(refusal), "{text:?}");
    }
}

/// Texts that took seconds, as a page of them pasted into a field does, are not read at all.
#[test]
fn what_is_too_long_to_be_a_number_is_not_read() {
    for long in ["1k".repeat(50_000), "1e".repeat(50_000), "Ω".repeat(300_000), "9".repeat(LONGEST + 1)] {
        assert_eq!(read(&long, &OHM, 0), Err(Refusal::Long));
    }
    let just = format!("{}4k7{}", " ".repeat(1_000), " ".repeat(1_000));
    assert_eq!(read(&just, &OHM, 0).unwrap().value, 4700.0);
    assert_ne!(read(&"9".repeat(LONGEST), &OHM, 0), Err(Refusal::Long));
}

proptest! {
    #[test]
    fn digits_are_read_as_the_full_parser_reads_them(integer in 0..999_999_999_999_999_u64, point in 0..15usize) {
        let digits = format!("{integer:015}");
        let text = format!("{}.{}", &digits[..point], &digits[point..]);
        let full: f64 = format!("0{text}").parse().unwrap();
        prop_assert_eq!(read(&text, &OHM, 0).unwrap().value, full);
    }

    #[test]
    fn any_text_is_read_or_refused(text in "\\PC{0,16}", at in 0..UNITS.len(), shown in prop::sample::select(vec![-3, 0, 3])) {
        if let Ok(read) = read(&text, UNITS[at], shown) {
            prop_assert!(read.value.is_finite());
        }
    }

    #[test]
    fn what_is_written_is_read_back(figures in 1000..9999u32, power in -12..7i32, minus: bool, at in 0..UNITS.len()) {
        let unit = UNITS[at];
        let value: f64 = format!("{}{figures}e{power}", if minus { "-" } else { "" }).parse().unwrap();
        let text = bench(value, unit);
        let read = read(&text, unit, 0).map_err(|refusal| TestCaseError::fail(format!("{text}: {refusal:?}")))?;
        prop_assert!((read.value - value).abs() <= 1e-9 * value.abs(), "{text} was {value}, is {}", read.value);
        prop_assert_eq!(bench(read.value, unit), text);
    }
}
