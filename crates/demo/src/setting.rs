//! The Haldoray Islands touring cinema: people, halls and machines. All invented.

use logbook::fact::Role;

pub(crate) const KEEPER: &str = "isa";
pub(crate) const RELIEF: [&str; 2] = ["bren", "una"];
pub(crate) const TECHNICIAN: &str = "orrin";

/// Short name, full name, role.
pub(crate) const PEOPLE: [(&str, &str, Role); 4] = [
    (KEEPER, "Isa Tarrowby", Role::Keeper),
    (RELIEF[0], "Bren Caldervane", Role::Operator),
    (RELIEF[1], "Una Skerrick", Role::Operator),
    (TECHNICIAN, "Orrin Vessell", Role::Technician),
];

/// A hall of the tour.
#[derive(Debug, PartialEq)]
pub(crate) struct Hall {
    pub(crate) id: &'static str,
    pub(crate) name: &'static str,
    pub(crate) notes: &'static str,
    pub(crate) seats: u32,
    /// Light at the middle of the screen with no film, machine in order and mains at 230 V.
    pub(crate) lux: f64,
    pub(crate) volts: f64,
    /// How far the mains wanders.
    pub(crate) volts_sd: f64,
    /// Across open water from Port Nessary.
    pub(crate) by_boat: bool,
}

pub(crate) const NESSARY: usize = 0;
pub(crate) const ORVANE: usize = 1;
pub(crate) const TOLVAY: usize = 2;
pub(crate) const BRANNICK: usize = 3;
pub(crate) const URED: usize = 4;
pub(crate) const BARN: usize = 5;
pub(crate) const FERRY: usize = 6;

pub(crate) const HALLS: [Hall; 7] = [
    Hall {
        id: "nessary-institute",
        name: "Nessary Institute",
        notes: "Throw 15 m, screen 3.0 m, 140 seats, blackout good, 232 V 16 A. Table on the balcony, keystone 9 degrees.",
        seats: 140,
        lux: 118.0,
        volts: 232.0,
        volts_sd: 1.2,
        by_boat: false,
    },
    Hall {
        id: "orvane-pier-store",
        name: "Orvane Pier Store",
        notes: "Throw 8 m, screen 2.0 m, 60 seats, blackout fair. 221 V, shared with the fish fridge. The floor shakes.",
        seats: 60,
        lux: 140.0,
        volts: 221.0,
        volts_sd: 2.4,
        by_boat: true,
    },
    Hall {
        id: "tolvay-school",
        name: "Tolvay School",
        notes: "Throw 9 m, screen 2.2 m, 70 seats, no blackout before 19:30 in May. 229 V. Echo 1.9 s: stand the loudspeaker low.",
        seats: 70,
        lux: 125.0,
        volts: 229.0,
        volts_sd: 1.0,
        by_boat: true,
    },
    Hall {
        id: "brannick-hall",
        name: "Brannick Hall",
        notes: "Throw 12 m, screen 2.4 m, 95 seats, blackout good. 234 V. Nothing to fear here.",
        seats: 95,
        lux: 120.0,
        volts: 234.0,
        volts_sd: 0.9,
        by_boat: false,
    },
    Hall {
        id: "ured-chapel",
        name: "Ured Chapel",
        notes: "Throw 11 m, screen 2.0 m, 80 seats, blackout fair. 217 V at the end of a long line. Narrow aisle: tape the cable.",
        seats: 80,
        lux: 145.0,
        volts: 217.5,
        volts_sd: 1.6,
        by_boat: true,
    },
    Hall {
        id: "lighthouse-barn",
        name: "Lighthouse Barn",
        notes: "Throw 7 m, screen 1.8 m, 40 seats, poor blackout in summer. Generator, 48.6 to 51.1 Hz. Dew after sunset.",
        seats: 40,
        lux: 165.0,
        volts: 228.0,
        volts_sd: 4.5,
        by_boat: true,
    },
    Hall {
        id: "ferry-saloon",
        name: "Ferry saloon",
        notes: "Throw 6 m, screen 1.5 m, 45 seats, blackout fair. Ship's supply 225 V 50 Hz. Motion and vibration: strap the table.",
        seats: 45,
        lux: 190.0,
        volts: 225.0,
        volts_sd: 1.5,
        by_boat: true,
    },
];

/// Depot and bench, beside the halls.
pub(crate) const BENCH: (&str, &str, &str) =
    ("port-nessary-bench", "Port Nessary bench", "Ferry base: bench, stores, rewind table.");
pub(crate) const DEPOT: (&str, &str, &str) =
    ("mainland-depot", "Mainland depot", "Eighteen days there and back. The technician works here.");

/// The four machines, in the order of the fleet list.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(crate) enum Bird {
    Turnstone,
    Dunlin,
    Phalarope,
    Whimbrel,
}

impl Bird {
    pub(crate) const ALL: [Self; 4] = [Self::Turnstone, Self::Dunlin, Self::Phalarope, Self::Whimbrel];

    pub(crate) fn character(self) -> &'static Character {
        &CHARACTERS[self as usize]
    }

    pub(crate) fn id(self) -> &'static str {
        self.character().id
    }
}

/// What one machine is like when the log begins.
pub(crate) struct Character {
    pub(crate) id: &'static str,
    pub(crate) name: &'static str,
    pub(crate) machine_type: &'static str,
    pub(crate) serial: &'static str,
    pub(crate) age_years: i16,
    pub(crate) hours_before: f64,
    pub(crate) meter_hours: Option<f64>,
    pub(crate) settings: &'static [(&'static str, &'static str)],
    /// Its share of the running hours that the diary aims at.
    pub(crate) share: f64,
}

const PORTABLE: &str = "portable-16mm-halogen";

const CHARACTERS: [Character; 4] = [
    Character {
        id: "turnstone",
        name: "Turnstone",
        machine_type: PORTABLE,
        serial: "HI-16-01",
        age_years: 41,
        hours_before: 3120.0,
        meter_hours: Some(3120.0),
        settings: &[
            ("lens", "50 mm"),
            ("threading", "by hand"),
            ("sprockets", "2 of 16 teeth"),
            ("sound drum", "30 mm"),
            ("shutter", "2 blades"),
            ("lamp", "24 V 250 W halogen"),
            ("motor", "induction"),
        ],
        share: 0.34,
    },
    Character {
        id: "dunlin",
        name: "Dunlin",
        machine_type: PORTABLE,
        serial: "HI-16-02",
        age_years: 36,
        hours_before: 1890.0,
        meter_hours: None,
        settings: &[
            ("lens", "38 mm"),
            ("threading", "self-threading"),
            ("claw", "3 teeth"),
            ("sprockets", "1 combined of 18 teeth"),
            ("sound drum", "25 mm"),
            ("shutter", "3 blades"),
            ("lamp", "24 V 250 W halogen"),
        ],
        share: 0.36,
    },
    Character {
        id: "phalarope",
        name: "Phalarope",
        machine_type: PORTABLE,
        serial: "HI-16-03",
        age_years: 62,
        hours_before: 5210.0,
        meter_hours: None,
        settings: &[
            ("lens", "65 mm"),
            ("threading", "by hand"),
            ("sprockets", "3 of 12 teeth"),
            ("sound drum", "40 mm"),
            ("lamp", "230 V 750 W tungsten, no longer made"),
            ("amplifier", "valves: high voltage, technician only"),
        ],
        share: 0.12,
    },
    Character {
        id: "whimbrel",
        name: "Whimbrel",
        machine_type: PORTABLE,
        serial: "HI-16-04",
        age_years: 33,
        hours_before: 7400.0,
        // A second-hand meter of three figures, which goes from 999.9 to 000.0.
        meter_hours: Some(958.0),
        settings: &[
            ("lens", "75 mm and 50 mm"),
            ("mounting", "on a pedestal at the Nessary Institute"),
            ("sound drum", "35 mm"),
            ("lamp", "24 V 250 W halogen"),
            ("motor", "synchronous, 24 frames per second only"),
        ],
        share: 0.18,
    },
];
