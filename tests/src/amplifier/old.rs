//! Amplifiers on the bench, and what their meters show. Common practice, no source, where nothing else stands beside it.

/// An amplifier, and what its meters show.
#[derive(Clone, Copy)]
pub struct Amplifier {
    /// The options that are chosen where they are offered.
    pub ways: &'static [&'static str],
    /// What the survey found.
    pub known: &'static [(&'static str, &'static str)],
    /// Readings by the beginning of their id; the longest that fits counts.
    pub shows: &'static [(&'static str, &'static str)],
}

/// What every amplifier on the bench shows.
const EVERYWHERE: [(&str, &str); 11] = [
    ("earth", "0.06"),
    ("insulation", "60"),
    ("meter-", "9.2"),
    ("load-rating", "150"),
    ("load-legs", "0.2"),
    ("lamp-earth", "0.05"),
    ("lamp-live", "35"),
    ("lamp-neutral", "0.2"),
    ("output-open", "1.05"),
    ("output-connected", "0.52"),
    ("anodes", "440"),
];

/// A head of 50 W with two EL34: −37 V and 38 mA are an ordinary pair of readings. 25 W of anode (Philips, 1969) by the
/// 480 V that the HT may reach are 52 mA.
pub const FIFTY_WATTS: Amplifier = Amplifier {
    ways: &["held-back", "yes"],
    known: &[
        ("mains-marked", "230 V"),
        ("bias-expected", "-37 V"),
        ("idle-stop", "52 mA"),
        ("idle-expected", "38 mA"),
        ("load", "16"),
        ("rated-power", "50"),
        ("idle-watts", "90"),
        ("lamp-power", "100"),
        ("lamp-voltage", "230"),
    ],
    shows: &[
        ("a-mains-in", "203"),
        ("a-mains", "222"),
        ("mains", "229"),
        ("a-held", "1.2"),
        ("a-heaters", "6.2"),
        ("heaters", "6.3"),
        ("a-bias-out", "-35.5"),
        ("a-bias-in", "-32.4"),
        ("full-a-bias", "-37"),
        ("load", "14.1"),
        ("ht-lamp-cathodes", "21"),
        ("off-on", "22"),
        ("idle-watts", "92"),
        ("idle", "38"),
        ("knob", "38"),
        ("warm", "38"),
        ("soak", "38"),
        ("drive", "28"),
    ],
};

impl Amplifier {
    /// What its meters show at a reading.
    ///
    /// # Panics
    /// When nothing is known of it.
    #[must_use]
    pub fn shown(&self, id: &str) -> &'static str {
        if has_word(id, "left") {
            return "2.5";
        }
        if has_word(id, "source") {
            return "9.2";
        }
        if has_word(id, "ohms") {
            return "180";
        }
        if has_word(id, "rise") {
            return "1";
        }
        of_longest_start(self.shows.iter().chain(&EVERYWHERE), id)
            .unwrap_or_else(|| panic!("no ordinary reading for {id}"))
    }
}

/// What stands beside the longest text that `id` begins with; the first of several.
pub fn of_longest_start<'t, T: Copy + 't>(
    table: impl Iterator<Item = &'t (&'t str, T)>,
    id: &str,
) -> Option<T> {
    let fits = table.filter(|(start, _)| id.starts_with(start));
    fits.fold(None, |best: Option<&(&str, T)>, row| {
        best.filter(|best| best.0.len() >= row.0.len()).or(Some(row))
    })
    .map(|row| row.1)
}

/// Whether an id has this word.
#[must_use]
pub fn has_word(id: &str, word: &str) -> bool {
    id.split('-').any(|other| other == word)
}
