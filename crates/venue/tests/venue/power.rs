//! Cable, lamp, fuse, circuits.

use crate::{assert_near, setting};
use units::{Amperes, Metres, Percent, Volts};
use venue::Judgement;
use venue::power::{CAUTION, Conductor, conductors, lamp_effect, voltage_drop};

#[test]
fn drops_agree_with_published_examples() {
    // A published table of volts lost at 10 A in 1000 ft of pair at 20 °C: 50.50 V for 14 AWG, 31.74 V for 12 AWG.
    for (id, printed, tolerance) in [("14awg", 50.50, 0.005), ("12awg", 31.74, 0.03), ("10awg", 19.90, 0.1)] {
        let size = Conductor::by_id(id).unwrap();
        let drop = voltage_drop(Metres::from_feet(1000.0), Amperes::new(10.0), size.per_metre_at_20);
        assert_near(drop.volts(), printed, tolerance);
    }
    // 50 ft of 14 AWG at 10 A and 20 °C: 2.525 V, worked out by hand from the same table.
    let size = Conductor::by_id("14awg").unwrap();
    let drop = voltage_drop(Metres::from_feet(50.0), Amperes::new(10.0), size.per_metre_at_20);
    assert_near(drop.volts(), 2.525, 0.0005);
}

#[test]
fn wire_gauge_agrees_with_the_resistance_tables() {
    // At 20 °C from a table of American wire gauge; at 75 °C from NEC chapter 9, table 8, in ohm per 1000 ft. Its copper
    // is stranded, which adds 2 %.
    for (id, at_20, at_75) in [("14awg", 2.525, 3.07), ("12awg", 1.588, 1.93), ("10awg", 0.9989, 1.21)] {
        let size = Conductor::by_id(id).unwrap();
        assert_near(size.per_metre_at_20.ohms() * 304.8, at_20, 1e-9);
        assert_near(size.per_metre().high().ohms() * 304.8 / at_75, 1.0, 0.01);
    }
}

#[test]
fn metric_sizes_agree_with_iec_60228() {
    // Flexible copper at 20 °C, ohm per km: IEC 60228, from memory.
    for (id, printed) in [
        ("0.75mm2", 26.0),
        ("1mm2", 19.5),
        ("1.5mm2", 13.3),
        ("2.5mm2", 7.98),
        ("4mm2", 4.95),
        ("6mm2", 3.30),
    ] {
        let size = Conductor::by_id(id).unwrap();
        assert_near(size.per_metre_at_20.ohms() * 1000.0, printed, 1e-9);
        // Copper has about 17.24 ohm mm²/km (from memory); stranding and tin add up to 15 %.
        let specific = size.per_metre_at_20.ohms() * 1000.0 * size.area.square_millimetres();
        assert!((17.2..20.0).contains(&specific), "{id}: {specific}");
    }
    assert_eq!(conductors().len(), 11);
}

#[test]
fn lamps_agree_with_the_lighting_handbook() {
    // Exponents 3.38 for light, 13.1 for life, 1.54 for watts: lighting handbook, from memory. +5 %: light x1.18, life
    // x0.53; -5 %: light x0.84, life x1.95 or so.
    let over = lamp_effect(Percent::new(105.0).into());
    assert_near(over.light.likely().percent(), 118.0, 0.5);
    assert_near(over.life.likely().percent(), 53.0, 0.5);
    assert_near(over.watts.likely().percent(), 107.8, 0.1);
    let under = lamp_effect(Percent::new(95.0).into());
    assert_near(under.light.likely().percent(), 84.0, 0.2);
    assert_near(under.life.likely().percent(), 195.0, 1.0);
    // The trade's own rule, life as the twelfth power and light as the 3.4th, lies inside the range.
    assert!(over.life.may_be(Percent::new(55.68)) && over.light.may_be(Percent::new(118.0)));
}

#[test]
fn fifty_metres_of_the_usual_cable_lose_six_volts_at_five_amperes() {
    // 24 milliohm a metre of loop, 50 m at 5 A: 6 V; common practice, no source (a loop resists 26.6 by IEC 60228).
    let given = setting(&[
        ("mains-volts", "115 V"),
        ("load", "575 W"),
        ("power-factor", "1"),
        ("cable-length", "50 m"),
        ("cable-size", "1.5mm2"),
    ]);
    let answer = given.power().unwrap();
    assert_near(answer.current.likely().amperes(), 5.0, 1e-9);
    assert_near(answer.drop.low().volts(), 6.0, 0.7);
    assert_eq!(answer.judgement, Judgement::Above);
    assert_eq!(answer.caution, CAUTION);
}

#[test]
fn a_measured_socket_narrows_the_lamp() {
    let base =
        [("mains-volts", "230 V"), ("load", "450 W"), ("cable-length", "10 m"), ("cable-size", "1.5mm2")];
    let guessed = setting(&base).power().unwrap();
    let mut known = base.to_vec();
    known.push(("socket-volts", "226 V"));
    let measured = setting(&known).power().unwrap();
    let width = |answer: &venue::PowerAnswer| answer.at_machine.high() - answer.at_machine.low();
    assert!(width(&measured) < width(&guessed));
    assert!(measured.at_machine.high() < Volts::new(226.0));
    known.push(("lamp-supply", "regulated"));
    assert!(setting(&known).power().unwrap().lamp.is_none());
}

#[test]
fn an_urn_on_the_same_circuit_wants_another() {
    let with = |other| {
        let given = setting(&[
            ("mains-volts", "230 V"),
            ("load", "450 W"),
            ("circuit", "16 A"),
            ("other-load", other),
        ]);
        given.power().unwrap().circuits.unwrap().judgement
    };
    assert_eq!(with("0 W"), Judgement::Within);
    assert_eq!(with("3 kW"), Judgement::Above);
}

#[test]
fn the_fuse_is_the_next_above_a_quarter_more() {
    // 125 % of the normal current: trade article on fuse selection.
    let given = setting(&[("mains-volts", "230 V"), ("load", "920 W"), ("power-factor", "1")]);
    assert_eq!(given.power().unwrap().fuse.rating, Amperes::new(5.0));
}
