//! At least one reading that no hard gate may let through, whatever the amplifier. It comes from the bench, not from the pages:
//! common practice, no source, where nothing else is beside it.

use job::procedure::{NOT_AS_EXPECTED, ReadingSpec};

/// By the beginning of the id; the longest that fits counts.
const BAD: &[(&str, &[&str])] = &[
    // Rules of the bench, 14: at most 0.1 Ω, at least 1 MΩ, a transformer that isolates.
    ("earth", &["0.3", "12", "OL"]),
    ("insulation", &["400k"]),
    ("isolated", &["30k"]),
    ("lamp-earth", &["0.8", "OL"]),
    // Rule 16: the lamp in the live conductor, not bridged, and nothing in the neutral.
    ("lamp-live", &["0.1", "OL"]),
    ("lamp-neutral", &["35"]),
    // A meter that shows nothing about a battery that is known to be fresh.
    ("meter-", &["0", "0.4"]),
    // Rule 13: the resistor of 4.7 to 10 kΩ, whole and measured.
    ("resistor", &["1.2", "9000"]),
    // Rule 15: 0.65 to 1.1 times nominal, and no leg that opens.
    ("load", &["0.3", "30", "OL"]),
    ("load-legs", &["0.5", "2", "OL"]),
    // Missing, too little, or positive, after more than half of the mains was there.
    ("a-bias", &["-6", "-0.2", "+3"]),
    ("b-bias", &["-6", "-0.2", "+3"]),
    ("full-a-bias", &["-12", "-0.2", "+3"]),
    ("full-b-bias", &["-12", "-0.2", "+3"]),
    ("full-bias-ht", &["-12", "+3"]),
    ("full-grids-ht", &["+3"]),
    ("bias", &["-12", "-0.2", "+3"]),
    ("grids-standby", &["-0.2", "+3"]),
    ("set-bias", &["-12", "-0.2", "+3"]),
    ("cut-bias", &["-12", "+3"]),
    // What holds the grid with its lead off is the resistor; nothing holds it where there is none.
    ("lifted", &["-0.2", "+3"]),
    // A standby switch that is bridged, or lets some by.
    ("a-held", &["30", "430"]),
    ("held", &["30", "430"]),
    // Rule 34: half a volt.
    ("lift", &["0.9", "-0.9", "60"]),
    ("full-lift", &["0.9", "-0.9", "60"]),
    ("grids-moved", &["0.9", "60"]),
    ("mains", &["60", "290"]),
    // No output valve of the table idles at 260 mA.
    ("ht-lamp-cathodes", &["260"]),
    ("idle", &["260"]),
    ("knob", &["260"]),
    ("warm", &["260"]),
    ("soak", &["260"]),
    ("cathode", &["260"]),
    ("half", &["260"]),
    ("after", &["260"]),
    ("drive", &["260"]),
    ("driven", &["260"]),
    // A climb that is half of any idle current.
    ("rise", &["40"]),
    ("cathode-moved", &["40"]),
    // More with the feedback connected than with it open.
    ("output-connected", &["1.4"]),
    ("closed-5", &["1.4"]),
    ("c-cathode", &["0.2", "OL"]),
    ("c-leak", &["9000", "1"]),
    ("balance", &["1", "OL"]),
    ("out-halves", &["700", "-30"]),
    ("full-volts", &["1500"]),
    ("limit", &["10"]),
    // A lug that is on chassis, and one that hangs in the air.
    ("low-ends", &["0.4", "OL"]),
    ("low-ends-chassis", &["90", "OL"]),
    // A tag that hangs in the air, or is on chassis where it should not be.
    ("path-0", &["9000", "OL"]),
    ("path-10", &["20R", "9000"]),
    ("path-kept", &["20R", "9000"]),
    ("grid-tags", &["20R", "9000"]),
    ("held-ohms", &["20R", "9000"]),
    ("cut-0", &["9000"]),
    ("cut-10", &["20R", "9000"]),
    ("tags-between", &["1R"]),
    ("lugs-body", &["1"]),
    // Rule 15: bush and shaft are earthed metal.
    ("bush", &["0.8"]),
];

/// What is bad for a reading.
pub fn bad(spec: &ReadingSpec) -> &'static [&'static str] {
    let id = spec.id.trim_end_matches("-harness");
    if spec.is_seen() {
        return &[NOT_AS_EXPECTED];
    }
    // 10 V before hands go in; the resistor of 4.7 to 10 kΩ still on.
    let has = |word: &str| id.split('-').any(|other| other == word);
    match id {
        _ if has("left") => return &["10", "14", "-31", "430"],
        _ if has("source") => return &["0", "0.4"],
        _ if id.ends_with("clip-ohms") => return &["9.8"],
        _ if has("rise") => return &["40"],
        _ => {}
    }
    let fits = BAD.iter().filter(|(start, _)| id.starts_with(start));
    fits.max_by_key(|(start, _)| start.len())
        .map_or_else(|| panic!("no bad reading for {id}"), |(_, bad)| bad)
}
