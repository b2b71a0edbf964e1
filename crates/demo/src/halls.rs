//! How three of the halls were set up, kept by the keeper for the next visit. All invented.

use logbook::fact::SetupKept;

/// What holds in every hall: the machine and lens that mostly travel.
const EVERYWHERE: &[(&str, &str)] = &[
    ("gauge", "16mm"),
    ("format", "1.33"),
    ("lens", "50 mm"),
    ("lens-aperture", "f/1.6"),
    ("shutter", "two-blade"),
    ("machine-light", "380 to 420 lm"),
    ("screen", "matt"),
    ("eye-height", "1.2 m"),
    ("row-spacing", "0.9 m"),
    ("amplifier", "15 W"),
    ("sensitivity", "92 dB"),
    ("mains-volts", "230 V"),
    ("load", "450 W"),
    ("cable-size", "1.5mm2"),
];

/// A hall, what was given there, and what else to know.
struct Kept {
    place: &'static str,
    values: &'static [(&'static str, &'static str)],
    note: &'static str,
}

const KEPT: [Kept; 3] = [
    Kept {
        place: "brannick-hall",
        values: &[
            ("throw", "12 m"),
            ("screen-width", "2.4 m"),
            ("lens-height", "1.6 m"),
            ("screen-bottom", "1.7 m"),
            ("hall-length", "14 m"),
            ("hall-width", "8 m"),
            ("hall-height", "4.5 m"),
            ("first-row", "4.8 m"),
            ("rows", "7"),
            ("seats-across", "13"),
            ("reverberation", "1.1 s"),
            ("socket-volts", "234 V"),
            ("cable-length", "10 m"),
            ("circuit", "16 A"),
        ],
        note: "Socket behind the door to the kitchen. The lights go out by the switch at the stage.",
    },
    Kept {
        place: "orvane-pier-store",
        values: &[
            ("throw", "8 m"),
            ("lens", "38 mm"),
            ("screen-width", "2,0 m"),
            ("lens-height", "1.5 m"),
            ("screen-bottom", "1.4 m"),
            ("hall-length", "11 m"),
            ("hall-width", "6.5 m"),
            ("first-row", "4 m"),
            ("rows", "6"),
            ("reverberation", "about 1 s"),
            ("socket-volts", "216 to 224 V"),
            ("cable-length", "25 m"),
            ("other-load", "900 W"),
            ("circuit", "16 A"),
        ],
        note: "The fish fridge hangs on the same circuit; ask at the ice house for the second one.",
    },
    Kept {
        place: "nessary-institute",
        values: &[
            ("throw", "15 m"),
            ("screen-width", "3.0 m"),
            ("lens-height", "4.9 m"),
            ("screen-bottom", "1.5 m"),
            ("hall-length", "16 m"),
            ("hall-width", "10 m"),
            ("first-row", "6 m"),
            ("rows", "10"),
            ("seats-across", "14"),
            ("socket-volts", "232 V"),
            ("cable-length", "5 m"),
            ("circuit", "16 A"),
        ],
        note: "The table stands on the balcony, between the two pillars.",
    },
];

/// The set-ups, each over what holds everywhere.
pub(crate) fn kept() -> impl Iterator<Item = SetupKept> {
    KEPT.iter().map(|hall| SetupKept {
        place: hall.place.into(),
        values: EVERYWHERE
            .iter()
            .chain(hall.values)
            .map(|&(key, value)| (key.to_owned(), value.to_owned()))
            .collect(),
        note: hall.note.to_owned(),
    })
}
