//! The table of all fields.

use super::{Field, Group, Kind, Limits};
use crate::{
    power::LampSupply,
    screen::{PortGlass, ScreenSurface, Shutter},
    sight::Aisles,
};

const fn quantity(
    group: Group,
    key: &'static str,
    label: &'static str,
    hint: &'static str,
    customary: Option<&'static str>,
    limits: Limits,
) -> Field {
    Field { key, label, hint, group, kind: Kind::Quantity { customary, limits } }
}

const fn chosen(
    group: Group,
    key: &'static str,
    label: &'static str,
    hint: &'static str,
    kind: Kind,
) -> Field {
    Field { key, label, hint, group, kind }
}

const fn more_than(least: f64, most: f64, right: &'static str) -> Limits {
    Limits { least, above: true, most, right }
}

const fn at_least(least: f64, most: f64, right: &'static str) -> Limits {
    Limits { least, above: false, most, right }
}

const ROOM: Limits = more_than(0.0, 300.0, "more than 0 and at most 300 m, for example 12 m or 40 ft");
const SMALL_ROOM: Limits = more_than(0.0, 100.0, "more than 0 and at most 100 m, for example 3 m or 10 ft");
const HEIGHT: Limits = at_least(0.0, 50.0, "0 to 50 m, for example 1.2 m or 4 ft");
const NEVER_ZERO_LUX: Limits =
    more_than(0.0, 100_000.0, "more than 0 and at most 100000 lx, for example 120 lx");

/// Every field, in the order in which a hall is set up.
pub const FIELDS: &[Field] = &[
    chosen(Group::Lens, "gauge", "Gauge", "16mm, 35mm, super8, standard8", Kind::Gauge),
    chosen(Group::Lens, "format", "Format", "1.33, 1.37, 1.66, 1.85, anamorphic", Kind::Format),
    quantity(
        Group::Lens,
        "throw",
        "Throw, lens to screen",
        "12 m, 40 ft, 11 to 12 m",
        None,
        more_than(
            0.1,
            300.0,
            "more than 0.1 m and at most 300 m: the way from the lens to the screen, for example 12 m or 40 ft",
        ),
    ),
    quantity(
        Group::Lens,
        "lens",
        "Lens, focal length",
        "50 mm, 2 in",
        Some("mm"),
        more_than(0.001, 1.0, "more than 1 mm and at most 1000 mm, for example 50 mm or 2 in"),
    ),
    quantity(Group::Lens, "screen-width", "Screen width", "2.4 m, 8 ft, 2,4 m", None, SMALL_ROOM),
    quantity(Group::Lens, "screen-height", "Screen height", "1.8 m, 6 ft", None, SMALL_ROOM),
    quantity(Group::Lens, "lens-height", "Lens above the floor", "1.2 m, 4 ft", None, HEIGHT),
    quantity(
        Group::Lens,
        "screen-bottom",
        "Picture's lower edge above the floor",
        "1.2 m, 4 ft",
        None,
        HEIGHT,
    ),
    quantity(
        Group::Lens,
        "side-offset",
        "Lens off the screen's middle line",
        "0.5 m",
        None,
        at_least(0.0, 100.0, "0 to 100 m, for example 0.5 m"),
    ),
    quantity(
        Group::Lens,
        "screen-tilt",
        "Screen leaning back",
        "3°",
        Some("deg"),
        at_least(-45.0, 45.0, "-45° to 45°, for example 3°"),
    ),
    quantity(
        Group::Lens,
        "lens-aperture",
        "Lens, f-number",
        "f/1.6",
        None,
        more_than(0.5, 32.0, "more than 0.5 and at most 32, for example 1.6"),
    ),
    quantity(
        Group::Light,
        "machine-light",
        "Light from the machine, running without film",
        "400 lm, 350 to 450 lm",
        Some("lm"),
        more_than(0.0, 100_000.0, "more than 0 and at most 100000 lm, for example 400 lm"),
    ),
    quantity(
        Group::Light,
        "lamp-light",
        "Light of the lamp itself",
        "9000 lm",
        Some("lm"),
        more_than(0.0, 1.0e6, "more than 0 and at most 1000000 lm, for example 9000 lm"),
    ),
    chosen(Group::Light, "shutter", "Shutter", "two-blade, three-blade", Kind::Choice(Shutter::CHOICES)),
    chosen(
        Group::Light,
        "port-glass",
        "Port glass",
        "none, plain, coated, dirty",
        Kind::Choice(PortGlass::CHOICES),
    ),
    chosen(
        Group::Light,
        "screen",
        "Screen",
        "matt, perforated, pearl, beaded, silver, sheet",
        Kind::Choice(ScreenSurface::CHOICES),
    ),
    quantity(
        Group::Light,
        "gain",
        "Screen gain",
        "1.0, 0.9 to 1.1",
        None,
        more_than(0.0, 10.0, "more than 0 and at most 10, for example 1.0"),
    ),
    quantity(
        Group::Light,
        "screen-lux",
        "Reading at the screen's centre, no film",
        "120 lx",
        Some("lx"),
        NEVER_ZERO_LUX,
    ),
    quantity(Group::Light, "edge-lux", "Reading at the darkest edge", "90 lx", Some("lx"), NEVER_ZERO_LUX),
    quantity(
        Group::Light,
        "stray-lux",
        "Reading with the lens covered",
        "0.5 lx",
        Some("lx"),
        at_least(0.0, 100_000.0, "0 to 100000 lx, for example 0.5 lx"),
    ),
    quantity(Group::Lens, "hall-length", "Hall length, from the screen", "14 m, 46 ft", None, ROOM),
    quantity(Group::Sight, "hall-width", "Hall width", "7 m, 23 ft", None, ROOM),
    quantity(Group::Sight, "hall-height", "Hall height", "4 m, 13 ft", None, SMALL_ROOM),
    quantity(Group::Sight, "first-row", "First row from the screen", "4.5 m, 15 ft", None, ROOM),
    chosen(Group::Sight, "rows", "Rows", "9", Kind::Count { most: 100 }),
    quantity(
        Group::Sight,
        "row-spacing",
        "Row to row",
        "0.9 m, 3 ft",
        None,
        more_than(0.3, 5.0, "more than 0.3 m and at most 5 m, for example 0.9 m or 3 ft"),
    ),
    quantity(
        Group::Sight,
        "riser",
        "Each row above the one in front",
        "0 m, 15 cm, 6 in",
        None,
        at_least(0.0, 1.0, "0 to 1 m, for example 0 m or 15 cm"),
    ),
    chosen(
        Group::Sight,
        "staggered",
        "Rows shifted by half a seat",
        "yes, no",
        Kind::Choice(&[("no", "no"), ("yes", "yes")]),
    ),
    quantity(
        Group::Sight,
        "eye-height",
        "Seated eyes above the floor",
        "1.2 m",
        None,
        more_than(0.3, 2.5, "more than 0.3 m and at most 2.5 m, for example 1.2 m"),
    ),
    chosen(Group::Sight, "seats-across", "Seats in a row", "10", Kind::Count { most: 200 }),
    quantity(
        Group::Sight,
        "seat-width",
        "Width of a seat's place",
        "0.5 m, 20 in",
        None,
        more_than(0.2, 2.0, "more than 0.2 m and at most 2 m, for example 0.5 m"),
    ),
    chosen(Group::Sight, "aisles", "Aisles", "centre, sides, none", Kind::Choice(Aisles::CHOICES)),
    quantity(
        Group::Sight,
        "aisle-width",
        "Aisle width",
        "1.2 m, 4 ft",
        None,
        more_than(0.0, 10.0, "more than 0 and at most 10 m, for example 1.2 m"),
    ),
    quantity(
        Group::Sound,
        "amplifier",
        "Amplifier",
        "15 W",
        Some("W"),
        more_than(0.0, 100_000.0, "more than 0 and at most 100 kW, for example 15 W"),
    ),
    quantity(
        Group::Sound,
        "sensitivity",
        "Loudspeaker, level at 1 m for 1 W",
        "92 dB",
        Some("dB"),
        at_least(60.0, 120.0, "60 to 120 dB, for example 92 dB"),
    ),
    quantity(
        Group::Sound,
        "directivity",
        "Loudspeaker directivity Q",
        "5, 2 to 10",
        None,
        at_least(1.0, 100.0, "1 to 100, for example 5"),
    ),
    quantity(
        Group::Sound,
        "reverberation",
        "Reverberation time",
        "1.2 s, 1 to 1.5 s",
        Some("s"),
        more_than(0.1, 20.0, "more than 0.1 s and at most 20 s, for example 1.2 s"),
    ),
    quantity(
        Group::Sound,
        "wanted-level",
        "Loud passages at the last row",
        "85 dB",
        Some("dB"),
        at_least(40.0, 120.0, "40 to 120 dB, for example 85 dB"),
    ),
    quantity(
        Group::Sound,
        "temperature",
        "Air",
        "20 °C, 68 °F",
        Some("°C"),
        at_least(-30.0, 60.0, "-30 to 60 °C, for example 20 °C"),
    ),
    quantity(
        Group::Power,
        "mains-volts",
        "Mains, as the machine is set",
        "230 V, 115 V",
        Some("V"),
        more_than(0.0, 1000.0, "more than 0 and at most 1000 V, for example 230 V"),
    ),
    quantity(
        Group::Power,
        "socket-volts",
        "Measured at the socket",
        "226 V",
        Some("V"),
        more_than(0.0, 1000.0, "more than 0 and at most 1000 V, for example 226 V"),
    ),
    quantity(
        Group::Power,
        "load",
        "The machine takes",
        "450 W, 1.2 kW",
        Some("W"),
        more_than(0.0, 100_000.0, "more than 0 and at most 100 kW, for example 450 W"),
    ),
    quantity(
        Group::Power,
        "power-factor",
        "Power factor",
        "0.9",
        None,
        more_than(0.2, 1.0, "more than 0.2 and at most 1, for example 0.9"),
    ),
    quantity(
        Group::Power,
        "cable-length",
        "Cable, socket to machine",
        "25 m, 80 ft",
        None,
        at_least(0.0, 1000.0, "0 to 1000 m, for example 25 m or 80 ft"),
    ),
    chosen(Group::Power, "cable-size", "Cable size", "1.5mm2, 14awg", Kind::CableSize),
    quantity(
        Group::Power,
        "other-load",
        "Else on the circuit",
        "2 kW (urn)",
        Some("W"),
        at_least(0.0, 100_000.0, "0 to 100 kW, for example 2 kW"),
    ),
    quantity(
        Group::Power,
        "circuit",
        "The circuit is fused for",
        "16 A",
        Some("A"),
        more_than(0.0, 1000.0, "more than 0 and at most 1000 A, for example 16 A"),
    ),
    chosen(
        Group::Power,
        "lamp-supply",
        "Lamp supply",
        "transformer, regulated",
        Kind::Choice(LampSupply::CHOICES),
    ),
];
