//! The units of the bench: how each is written, spelt and prefixed.
//!
//! This file and `notation.rs` know no other part of the crate, for `build.rs` reads the valve table with them.

/// A unit of measurement as the bench writes it.
#[derive(Debug, Eq)]
pub struct Unit {
    /// The symbol, as printed: `Ω`.
    pub symbol: &'static str,
    /// The word for it, in the plural: `ohms`.
    pub name: &'static str,
    /// What people type for it, apart from the symbol; compared without regard to case or spaces.
    pub spellings: &'static [&'static str],
    /// The prefixes that are sensible at the bench, of [`PREFIXES`]; all others are refused.
    pub prefixes: &'static str,
    /// What one of it is in SI units, as a power of ten: −2 for per cent and centimetres, 0 for all else.
    pub exponent: i32,
    /// Whether parts of this kind are marked with a letter in place of the decimal mark (IEC 60062), as `5k6`.
    pub marked: bool,
}

impl PartialEq for Unit {
    /// Each unit is there once: its place tells it apart.
    fn eq(&self, other: &Self) -> bool {
        std::ptr::eq(self, other)
    }
}

/// A decimal prefix: the letter and its power of ten.
pub const PREFIXES: &[(char, i32)] =
    &[('p', -12), ('n', -9), ('u', -6), ('m', -3), ('k', 3), ('M', 6), ('G', 9)];

/// The power of ten of a prefix letter; `K` counts as `k`, the micro signs are `u` by the time this is asked.
#[must_use]
pub fn prefix_exponent(letter: char) -> Option<i32> {
    let letter = if letter == 'K' { 'k' } else { letter };
    PREFIXES.iter().find(|(known, _)| *known == letter).map(|(_, exponent)| *exponent)
}

macro_rules! units {
    ($($(#[$doc:meta])* $id:ident: $symbol:literal, $name:literal, $spellings:expr, $prefixes:literal, $exponent:literal, $marked:literal;)*) => {
        $($(#[$doc])* pub static $id: Unit = Unit {
            symbol: $symbol, name: $name, spellings: $spellings, prefixes: $prefixes, exponent: $exponent, marked: $marked,
        };)*
        /// Every unit, so that one typed into the wrong field can be named.
        pub static UNITS: &[&Unit] = &[$(&$id),*];
    };
}

units! {
    /// Electric potential.
    VOLT: "V", "volts", &["volt", "volts", "vdc", "vac", "vrms", "vpp", "vpk"], "umk", 0, false;
    /// Electric current.
    AMPERE: "A", "amperes", &["amp", "amps", "ampere", "amperes", "adc", "aac"], "num", 0, false;
    /// Electrical resistance.
    OHM: "Ω", "ohms", &["ohm", "ohms", "r"], "kMG", 0, true;
    /// Power.
    WATT: "W", "watts", &["watt", "watts"], "umk", 0, false;
    /// Capacitance.
    FARAD: "F", "farads", &["farad", "farads"], "pnum", 0, true;
    /// Inductance.
    HENRY: "H", "henries", &["henry", "henrys", "henries"], "um", 0, false;
    /// Frequency.
    HERTZ: "Hz", "hertz", &["hertz"], "mkM", 0, false;
    /// Time.
    SECOND: "s", "seconds", &["sec", "secs", "second", "seconds"], "num", 0, false;
    /// A share, as per cent.
    PER_CENT: "%", "per cent", &["percent", "per cent", "pc"], "", -2, false;
    /// A ratio of levels, 20 lg of volts or 10 lg of watts.
    DECIBEL: "dB", "decibels", &["decibel", "decibels"], "", 0, false;
    /// A level against one volt RMS.
    DBV: "dBV", "decibels relative to one volt", &[], "", 0, false;
    /// A level against 0.7746 V RMS (the root of 0.6, one milliwatt in 600 Ω).
    DBU: "dBu", "decibels relative to 0.775 volts", &[], "", 0, false;
    /// Mutual conductance.
    SIEMENS: "S", "siemens", &["siemens", "a/v", "mho", "mhos"], "um", 0, false;
    /// How fast a control works.
    DECIBEL_PER_DEGREE: "dB/°", "decibels per degree", &["db/deg", "db/degree"], "", 0, false;
    /// A plane angle.
    DEGREE: "°", "degrees", &["deg", "degree", "degrees"], "", 0, false;
    /// How long a lead is.
    CENTIMETRE: "cm", "centimetres", &["centimetre", "centimetres", "centimeter", "centimeters"], "", -2, false;
    /// Temperature, and a difference of two.
    CELSIUS: "°C", "degrees Celsius", &["c", "degc", "celsius"], "", 0, false;
    /// A plain number.
    ONE: "", "", &[], "", 0, false;
}
/// Energy. Answers only: typed, a `J` behind a number is a tolerance of 5 %, so it is not among [`UNITS`].
pub static JOULE: Unit =
    Unit { symbol: "J", name: "joules", spellings: &[], prefixes: "um", exponent: 0, marked: false };
