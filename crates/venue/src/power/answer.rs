//! The whole question of power.

use serde::Serialize;
use units::{Amperes, Metres, Ohms, Percent, Times, Volts, Watts};

use super::LampSupply;
use super::conductor::{Conductor, conductors, loop_resistance};
use super::lamp::{self, LampEffect, lamp_effect};
use crate::answer::{Judgement, Missing, Working};
use crate::estimate::{Estimate, reach};
use crate::setting::PowerGiven;

/// What stands beside every electrical answer.
pub const CAUTION: &str = "This is a sum, not a permit: local rules and a licensed electrician come first. Never open a socket, a board or a machine's mains side; test the earth with a plug-in tester before a metal case is touched, and use a residual-current device of 30 mA.";

/// Voltage drop with another size of cable.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct SizeRow {
    /// The size.
    pub size: &'static str,
    /// What it loses.
    #[serde(rename = "drop_v")]
    pub drop: Estimate<Volts>,
    /// The same beside the mains voltage.
    #[serde(rename = "drop_percent")]
    pub drop_percent: Estimate<Percent>,
    /// How long such a cable may be to lose 3 %.
    #[serde(rename = "longest_for_3_percent_m")]
    pub longest: Estimate<Metres>,
    /// Against 3 %.
    pub judgement: Judgement,
}

/// The fuse.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct FuseAdvice {
    /// 125 % of the current, rounded up to a usual rating.
    #[serde(rename = "rating_a")]
    pub rating: Amperes,
    /// What the motor and a cold lamp take for an instant.
    #[serde(rename = "inrush_a")]
    pub inrush: Estimate<Amperes>,
}

/// Whether one circuit is enough.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Circuits {
    /// Everything on the circuit.
    #[serde(rename = "total_a")]
    pub total: Estimate<Amperes>,
    /// What the circuit carries for long: 80 % of its rating.
    #[serde(rename = "carries_a")]
    pub carries: Amperes,
    /// `within`: one circuit is enough; `above`: it is not.
    pub judgement: Judgement,
}

/// A generator for the load.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Generator {
    /// Its rating: three times the load.
    #[serde(rename = "rating_w")]
    pub rating: Estimate<Watts>,
}

/// Load, cable, lamp, fuse, circuits.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PowerAnswer {
    /// What stands beside every electrical answer.
    pub caution: &'static str,
    /// The current of the machine.
    #[serde(rename = "current_a")]
    pub current: Estimate<Amperes>,
    /// The cable, out and back.
    #[serde(rename = "cable_ohm")]
    pub cable: Estimate<Ohms>,
    /// The cable's size.
    pub size: &'static str,
    /// What the cable loses.
    #[serde(rename = "drop_v")]
    pub drop: Estimate<Volts>,
    /// The same beside the mains voltage.
    #[serde(rename = "drop_percent")]
    pub drop_percent: Estimate<Percent>,
    /// Against 3 %.
    pub judgement: Judgement,
    /// What is left at the machine.
    #[serde(rename = "at_machine_v")]
    pub at_machine: Estimate<Volts>,
    /// The same beside what the machine is set to.
    #[serde(rename = "at_machine_percent")]
    pub at_machine_percent: Estimate<Percent>,
    /// What that does to a tungsten lamp; none when its supply is regulated.
    pub lamp: Option<LampEffect>,
    /// Other sizes of cable.
    pub sizes: Vec<SizeRow>,
    /// The fuse.
    pub fuse: FuseAdvice,
    /// Whether one circuit is enough; none when its rating is not known.
    pub circuits: Option<Circuits>,
    /// A generator for it.
    pub generator: Generator,
    /// The sums.
    pub workings: Vec<Working>,
    /// What to beware of.
    pub caveats: Vec<String>,
}

/// The drop that is recommended at most on a branch.
///
/// # Reference
///
/// 3 % on a branch, 5 % in all: an informational note of the NEC, as a trade article gives it.
const MOST_DROP: Percent = Percent::new(3.0);

/// Ratings of fuses and breakers in amperes; common practice, no source.
const RATINGS: [f64; 13] = [1.0, 2.0, 3.15, 4.0, 5.0, 6.3, 8.0, 10.0, 13.0, 16.0, 20.0, 25.0, 32.0];

const NEEDED: Missing = Missing {
    question: "the power",
    needs: "the machine's load in watts and the mains voltage",
    fields: &["load", "mains-volts"],
};

/// How far the mains may lie from its nominal voltage where nobody has measured it: 10 % either way by EN 50160, from
/// memory.
fn unmeasured(nominal: Estimate<Volts>) -> Estimate<Volts> {
    Estimate::between(nominal.low() * 0.9, nominal.likely(), nominal.high() * 1.1)
}

/// Power factor of a machine with motor and transformer: 0.8 to 1; common practice, no source.
fn usual_power_factor() -> Estimate<Times> {
    Estimate::between(Times::new(0.8), Times::new(0.95), Times::new(1.0))
}

/// The inputs from which current and drop follow together.
struct Circuit {
    load: Estimate<Watts>,
    nominal: Estimate<Volts>,
    power_factor: Estimate<Times>,
    length: Estimate<Metres>,
}

/// Current, drop and percent at one corner.
fn drop_at(load: f64, volts: f64, power_factor: f64, length: f64, per_metre: f64) -> [f64; 3] {
    let current = Watts::new(load / power_factor) / Volts::new(volts);
    let drop = super::voltage_drop(Metres::new(length), current, Ohms::new(per_metre));
    [current.amperes(), drop.volts(), drop.volts() / volts * 100.0]
}

impl Circuit {
    fn inputs(&self, conductor: &Conductor) -> [Estimate<Times>; 5] {
        [
            self.load.bare(),
            self.nominal.bare(),
            self.power_factor.bare(),
            self.length.bare(),
            conductor.per_metre().bare(),
        ]
    }

    fn drop(&self, conductor: &Conductor) -> [Estimate<Times>; 3] {
        reach(self.inputs(conductor), |[load, volts, factor, length, per_metre]| {
            drop_at(load, volts, factor, length, per_metre)
        })
    }

    fn at_machine(&self, conductor: &Conductor, socket: Estimate<Volts>) -> [Estimate<Times>; 2] {
        let [load, nominal, factor, length, per_metre] = self.inputs(conductor);
        let sum = |[load, nominal, factor, length, per_metre, socket]: [f64; 6]| {
            let [_, drop, _] = drop_at(load, nominal, factor, length, per_metre);
            let left = (socket - drop).max(0.0);
            [left, left / nominal * 100.0]
        };
        reach([load, nominal, factor, length, per_metre, socket.bare()], sum)
    }

    fn size_row(&self, conductor: &Conductor) -> SizeRow {
        let [_, drop, percent] = self.drop(conductor);
        let [longest] = reach(self.inputs(conductor), |[load, volts, factor, _, per_metre]| {
            let [current, ..] = drop_at(load, volts, factor, 0.0, per_metre);
            [MOST_DROP.as_fraction() * volts / (2.0 * current * per_metre)]
        });
        let drop_percent: Estimate<Percent> = percent.of();
        SizeRow {
            size: conductor.name,
            drop: drop.of(),
            drop_percent,
            longest: longest.of(),
            judgement: Judgement::of(drop_percent, Percent::ZERO, MOST_DROP),
        }
    }
}

/// Load, cable, lamp, fuse and circuits. Missing when load or mains voltage is not known.
pub(crate) fn answer(given: &PowerGiven) -> Result<PowerAnswer, Missing> {
    let (load, nominal) = (given.load.ok_or(NEEDED)?, given.mains_volts.ok_or(NEEDED)?);
    let conductor = given.cable_size.unwrap_or(&conductors()[USUAL_SIZE]);
    let length = given
        .cable_length
        .unwrap_or_else(|| Estimate::between(Metres::new(2.0), Metres::new(10.0), Metres::new(25.0)));
    let power_factor = given.power_factor.unwrap_or_else(usual_power_factor);
    let circuit = Circuit { load, nominal, power_factor, length };
    let [current, drop, drop_percent] = circuit.drop(conductor);
    let socket = given.socket_volts.unwrap_or_else(|| unmeasured(nominal));
    let [at_machine, at_machine_percent] = circuit.at_machine(conductor, socket);
    let (current, drop_percent): (Estimate<Amperes>, Estimate<Percent>) = (current.of(), drop_percent.of());
    let at_machine_percent = at_machine_percent.of();
    let tungsten = given.lamp_supply != Some(LampSupply::Regulated);
    let same_system = |other: &&Conductor| other.id.ends_with("awg") == conductor.id.ends_with("awg");
    Ok(PowerAnswer {
        caution: CAUTION,
        current,
        cable: loop_resistance(conductor, length),
        size: conductor.name,
        drop: drop.of(),
        drop_percent,
        judgement: Judgement::of(drop_percent, Percent::ZERO, MOST_DROP),
        at_machine: at_machine.of(),
        at_machine_percent,
        lamp: tungsten.then(|| lamp_effect(at_machine_percent)),
        sizes: conductors().iter().filter(same_system).map(|size| circuit.size_row(size)).collect(),
        fuse: fuse(current),
        circuits: circuits(given, current, nominal),
        generator: Generator { rating: load.map(|load| load * 3.0) },
        workings: workings(conductor),
        caveats: caveats(given, at_machine_percent, tungsten),
    })
}

/// The place of 1.5 mm² in the table: the usual extension cable where nobody has said; common practice, no source.
const USUAL_SIZE: usize = 2;

fn fuse(current: Estimate<Amperes>) -> FuseAdvice {
    let wanted = current.high() * 1.25;
    let rating = RATINGS.iter().copied().map(Amperes::new).find(|rating| *rating >= wanted);
    FuseAdvice {
        rating: rating.unwrap_or_else(|| Amperes::new((wanted.amperes() / 10.0).ceil() * 10.0)),
        inrush: Estimate::between(current.low() * 5.0, current.likely() * 10.0, current.high() * 15.0),
    }
}

fn circuits(given: &PowerGiven, current: Estimate<Amperes>, nominal: Estimate<Volts>) -> Option<Circuits> {
    let carries = given.circuit?.likely() * 0.8;
    let other = given.other_load.unwrap_or(Watts::ZERO.into());
    let [total] = reach([current.bare(), other.bare(), nominal.bare()], |[current, other, volts]| {
        [current + other / volts]
    });
    let total: Estimate<Amperes> = total.of();
    Some(Circuits { total, carries, judgement: Judgement::of(total, Amperes::ZERO, carries) })
}

fn workings(conductor: &Conductor) -> Vec<Working> {
    vec![
        Working { gives: "current", formula: "I = P / (V x power factor)", source: "Ohm's law and its kin" },
        Working {
            gives: "voltage drop",
            formula: "2 x length x current x resistance of a metre; 20 °C to 75 °C",
            source: "single-phase formula; most drop 3 %: an informational note of the NEC, as a trade article gives it",
        },
        Working { gives: "resistance of the copper", formula: "table", source: conductor.source },
        lamp::WORKING,
        Working {
            gives: "fuse and circuit",
            formula: "fuse: 125 % of the current, next usual rating, time-lag; circuit: 80 % of its rating for long loads; inrush of a motor x5, of a cold lamp x10 to x15",
            source: "trade articles on fuse selection; inrush from memory; the machine's own plate wins",
        },
        Working { gives: "generator", formula: "3 x the load", source: "common practice, no source" },
    ]
}

fn caveats(given: &PowerGiven, at_machine: Estimate<Percent>, tungsten: bool) -> Vec<String> {
    let mut caveats = Vec::new();
    let mut taken = |missing: bool, words: &str| {
        if missing {
            caveats.push(words.to_owned());
        }
    };
    taken(given.cable_length.is_none(), "the cable's length is taken as 2 to 25 m");
    taken(given.cable_size.is_none(), "the cable is taken as 1.5 mm²: read what is printed on its sheath");
    taken(given.power_factor.is_none(), "the power factor is taken as 0.8 to 1");
    taken(given.socket_volts.is_none(), "nobody has measured the socket: 10 % either way is taken");
    taken(
        given.circuit.is_none(),
        "what the circuit is fused for is not given, so whether one is enough is not told",
    );
    caveats.push("unwind a cable drum to its end: wound up it overheats".to_owned());
    caveats.push(
        "the fuse on the machine's own plate wins, in value and in speed; never a larger one, never foil"
            .to_owned(),
    );
    if tungsten && at_machine.high() > Percent::new(102.0) {
        caveats.push("over its voltage a lamp burns bright and short: set the machine's tap to the measured, loaded volts (a technician's work where it is inside)".to_owned());
    }
    caveats
}
