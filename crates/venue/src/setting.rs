//! A set-up as it was given: texts by field, read with all their errors at once.

use std::collections::BTreeMap;
use std::str::FromStr;

use film::Gauge;
use units::read::ReadError;
use units::{Amperes, Celsius, Decibels, Degrees, Lumens, Lux, Metres, Seconds, Times, Volts, Watts};

use crate::answer::Missing;
use crate::estimate::{Estimate, Quantity};
use crate::fields::{Field, FieldError, FieldProblem, Kind, field};
use crate::lens::{self, LensAnswer};
use crate::light::{self, LightAnswer};
use crate::picture::{Format, formats};
use crate::power::{self, Conductor, LampSupply, PowerAnswer};
use crate::screen::{PortGlass, ScreenSurface, Shutter};
use crate::sight::{self, Aisles, SightAnswer};
use crate::sound::{self, SoundAnswer};

/// Film, lens, screen and where the machine stands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PictureGiven {
    /// Gauge and format.
    pub format: Format,
    /// From lens to screen.
    pub throw: Option<Estimate<Metres>>,
    /// Focal length.
    pub focal: Option<Estimate<Metres>>,
    /// Usable width of the screen.
    pub screen_width: Option<Estimate<Metres>>,
    /// Usable height of the screen.
    pub screen_height: Option<Estimate<Metres>>,
    /// The lens above the floor of the first row.
    pub lens_height: Option<Estimate<Metres>>,
    /// The picture's lower edge above the same floor.
    pub screen_bottom: Option<Estimate<Metres>>,
    /// The lens beside the screen's middle line.
    pub side_offset: Option<Estimate<Metres>>,
    /// How far the screen's top leans back from the machine's side: it takes away from the beam's downward angle.
    pub screen_tilt: Option<Estimate<Degrees>>,
    /// From the screen to the back wall.
    pub hall_length: Option<Estimate<Metres>>,
}

/// Lamp, lens, shutter, port, screen, and readings of light.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LightGiven {
    /// The light that leaves the lens, shutter running.
    pub machine_light: Option<Estimate<Lumens>>,
    /// The lamp's own light.
    pub lamp_light: Option<Estimate<Lumens>>,
    /// The lens's f-number.
    pub f_number: Option<Estimate<Times>>,
    /// The shutter.
    pub shutter: Option<Shutter>,
    /// The glass of the port.
    pub port: PortGlass,
    /// What the screen is.
    pub surface: Option<ScreenSurface>,
    /// The screen's gain, where it is known better.
    pub gain: Option<Estimate<Times>>,
    /// A reading at the screen's centre.
    pub screen_lux: Option<Estimate<Lux>>,
    /// A reading at its darkest edge.
    pub edge_lux: Option<Estimate<Lux>>,
    /// A reading with the lens covered.
    pub stray_lux: Option<Estimate<Lux>>,
}

/// The seats.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SeatsGiven {
    /// From the screen to the first row's eyes.
    pub first_row: Option<Estimate<Metres>>,
    /// Rows.
    pub rows: Option<u32>,
    /// From one row to the next.
    pub row_spacing: Option<Estimate<Metres>>,
    /// How much each row stands above the one in front.
    pub riser: Option<Estimate<Metres>>,
    /// Seated eyes above the floor.
    pub eye_height: Option<Estimate<Metres>>,
    /// Seats in a row.
    pub seats_across: Option<u32>,
    /// The width of one seat's place.
    pub seat_width: Option<Estimate<Metres>>,
    /// Where people walk.
    pub aisles: Aisles,
    /// How wide each aisle is.
    pub aisle_width: Option<Estimate<Metres>>,
    /// Each row is shifted by half a seat.
    pub staggered: bool,
    /// From wall to wall.
    pub hall_width: Option<Estimate<Metres>>,
    /// From floor to ceiling.
    pub hall_height: Option<Estimate<Metres>>,
}

/// Amplifier, loudspeaker and room.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SoundGiven {
    /// What the amplifier gives.
    pub amplifier: Option<Estimate<Watts>>,
    /// The loudspeaker's level at 1 m for 1 W.
    pub sensitivity: Option<Estimate<Decibels>>,
    /// Its directivity Q.
    pub directivity: Option<Estimate<Times>>,
    /// The room's reverberation time.
    pub reverberation: Option<Estimate<Seconds>>,
    /// What loud passages should reach at the last row.
    pub wanted_level: Option<Estimate<Decibels>>,
    /// The air.
    pub temperature: Option<Estimate<Celsius>>,
}

/// Mains, load and cable.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PowerGiven {
    /// What the mains should be, and the machine is set to.
    pub mains_volts: Option<Estimate<Volts>>,
    /// What a meter shows at the socket.
    pub socket_volts: Option<Estimate<Volts>>,
    /// What the machine takes.
    pub load: Option<Estimate<Watts>>,
    /// Its power factor.
    pub power_factor: Option<Estimate<Times>>,
    /// From socket to machine.
    pub cable_length: Option<Estimate<Metres>>,
    /// The cable's copper.
    pub cable_size: Option<&'static Conductor>,
    /// What else hangs on the circuit.
    pub other_load: Option<Estimate<Watts>>,
    /// What the circuit is fused for.
    pub circuit: Option<Estimate<Amperes>>,
    /// How the lamp is fed.
    pub lamp_supply: Option<LampSupply>,
}

/// A set-up: what is known of a hall and of the machine in it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Setting {
    /// Film, lens and screen.
    pub picture: PictureGiven,
    /// Light.
    pub light: LightGiven,
    /// Seats.
    pub seats: SeatsGiven,
    /// Sound.
    pub sound: SoundGiven,
    /// Power.
    pub power: PowerGiven,
}

/// Reads fields one by one and gathers what is wrong.
struct Reader<'a> {
    texts: &'a BTreeMap<String, String>,
    errors: Vec<FieldError>,
}

impl<'a> Reader<'a> {
    /// What stands in a field; none when it is empty.
    fn text(&self, key: &str) -> Option<&'a str> {
        self.texts.get(key).map(|text| text.trim()).filter(|text| !text.is_empty())
    }

    fn refuse(&mut self, field: &'static Field, problem: FieldProblem) {
        self.errors.push(FieldError { field: field.key, label: field.label, problem });
    }

    fn quantity<Q>(&mut self, key: &'static str) -> Option<Estimate<Q>>
    where
        Q: Quantity + FromStr<Err = ReadError>,
    {
        let field = field(key);
        let Kind::Quantity { customary, limits } = field.kind else { return None };
        let text = self.text(key)?;
        let text = if key == "lens-aperture" {
            text.trim_start_matches("f/").trim_start_matches("F/")
        } else {
            text
        };
        match crate::read::estimate::<Q>(text, customary) {
            Err(refusal) => {
                self.refuse(field, FieldProblem::Unreadable(refusal));
                None
            }
            Ok(estimate) if !limits.hold(estimate.low().bare(), estimate.high().bare()) => {
                let problem = FieldProblem::OutOfRange { given: text.to_owned(), right: limits.right };
                self.refuse(field, problem);
                None
            }
            Ok(estimate) => Some(estimate),
        }
    }

    fn count(&mut self, key: &'static str) -> Option<u32> {
        let field = field(key);
        let Kind::Count { most } = field.kind else { return None };
        let text = self.text(key)?;
        match text.parse::<u32>() {
            Ok(count) if (1..=most).contains(&count) => Some(count),
            _ => {
                self.refuse(field, FieldProblem::NotACount { given: text.to_owned(), most });
                None
            }
        }
    }

    /// One of a list of words, by id.
    fn choice<T>(&mut self, key: &'static str, by_id: impl Fn(&str) -> Option<T>) -> Option<T> {
        let field = field(key);
        let text = self.text(key)?;
        let chosen = by_id(text);
        if chosen.is_none() {
            self.refuse(
                field,
                FieldProblem::UnknownWord { given: text.to_owned(), choices: field.choices() },
            );
        }
        chosen
    }

    fn format(&mut self) -> Format {
        let gauge = self.choice("gauge", |id| id.parse::<Gauge>().ok()).unwrap_or(Gauge::Mm16);
        let all = formats(gauge);
        let usual = all.first().copied().expect("every gauge has a projector aperture");
        let Some(text) = self.text("format") else { return usual };
        let named = all.iter().find(|format| format.format == text);
        named.copied().unwrap_or_else(|| {
            let known = all.iter().map(|format| format.format).collect::<Vec<_>>().join(", ");
            let problem = FieldProblem::NoSuchFormat { given: text.to_owned(), gauge, known };
            self.refuse(field("format"), problem);
            usual
        })
    }

    fn picture(&mut self) -> PictureGiven {
        PictureGiven {
            format: self.format(),
            throw: self.quantity("throw"),
            focal: self.quantity("lens"),
            screen_width: self.quantity("screen-width"),
            screen_height: self.quantity("screen-height"),
            lens_height: self.quantity("lens-height"),
            screen_bottom: self.quantity("screen-bottom"),
            side_offset: self.quantity("side-offset"),
            screen_tilt: self.quantity("screen-tilt"),
            hall_length: self.quantity("hall-length"),
        }
    }

    fn light(&mut self) -> LightGiven {
        LightGiven {
            machine_light: self.quantity("machine-light"),
            lamp_light: self.quantity("lamp-light"),
            f_number: self.quantity("lens-aperture"),
            shutter: self.choice("shutter", Shutter::by_id),
            port: self.choice("port-glass", PortGlass::by_id).unwrap_or(PortGlass::None),
            surface: self.choice("screen", ScreenSurface::by_id),
            gain: self.quantity("gain"),
            screen_lux: self.quantity("screen-lux"),
            edge_lux: self.quantity("edge-lux"),
            stray_lux: self.quantity("stray-lux"),
        }
    }

    fn seats(&mut self) -> SeatsGiven {
        SeatsGiven {
            first_row: self.quantity("first-row"),
            rows: self.count("rows"),
            row_spacing: self.quantity("row-spacing"),
            riser: self.quantity("riser"),
            eye_height: self.quantity("eye-height"),
            seats_across: self.count("seats-across"),
            seat_width: self.quantity("seat-width"),
            aisles: self.choice("aisles", Aisles::by_id).unwrap_or(Aisles::Centre),
            aisle_width: self.quantity("aisle-width"),
            staggered: self.choice("staggered", yes_or_no).unwrap_or(false),
            hall_width: self.quantity("hall-width"),
            hall_height: self.quantity("hall-height"),
        }
    }

    fn sound(&mut self) -> SoundGiven {
        SoundGiven {
            amplifier: self.quantity("amplifier"),
            sensitivity: self.quantity("sensitivity"),
            directivity: self.quantity("directivity"),
            reverberation: self.quantity("reverberation"),
            wanted_level: self.quantity("wanted-level"),
            temperature: self.quantity("temperature"),
        }
    }

    fn power(&mut self) -> PowerGiven {
        PowerGiven {
            mains_volts: self.quantity("mains-volts"),
            socket_volts: self.quantity("socket-volts"),
            load: self.quantity("load"),
            power_factor: self.quantity("power-factor"),
            cable_length: self.quantity("cable-length"),
            cable_size: self.choice("cable-size", Conductor::by_id),
            other_load: self.quantity("other-load"),
            circuit: self.quantity("circuit"),
            lamp_supply: self.choice("lamp-supply", LampSupply::by_id),
        }
    }

    /// What two fields say together that cannot be.
    fn together(&mut self, setting: &Setting) {
        let wider = |part: Option<Estimate<Metres>>, whole: Option<Estimate<Metres>>| {
            let (part, whole) = (part?, whole?);
            (part.low() > whole.high()).then_some((part.likely(), whole.likely()))
        };
        let (picture, seats) = (&setting.picture, &setting.seats);
        let checks = [
            ("screen-width", picture.screen_width, seats.hall_width, "wide", "the hall's width"),
            ("screen-height", picture.screen_height, seats.hall_height, "high", "the hall's height"),
            ("lens-height", picture.lens_height, seats.hall_height, "above the floor", "the hall's height"),
            (
                "screen-bottom",
                picture.screen_bottom,
                seats.hall_height,
                "above the floor",
                "the hall's height",
            ),
            ("first-row", seats.first_row, picture.hall_length, "from the screen", "the hall's length"),
        ];
        for (key, part, whole, how, other) in checks {
            if let Some((given, limit)) = wider(part, whole) {
                self.refuse(field(key), FieldProblem::LargerThan { given, how, other, limit });
            }
        }
        if let Some((lux, edge)) = setting.light.screen_lux.zip(setting.light.edge_lux)
            && edge.low().bare() > 2.0 * lux.high().bare()
        {
            self.refuse(field("edge-lux"), FieldProblem::EdgeBrighter);
        }
    }
}

fn yes_or_no(id: &str) -> Option<bool> {
    match id {
        "yes" => Some(true),
        "no" => Some(false),
        _ => None,
    }
}

impl Setting {
    /// Reads a set-up from texts by field key. What cannot be read is left out of the setting and told beside its
    /// field, all at once; a key that is no field is told, too.
    pub fn read(texts: &BTreeMap<String, String>) -> (Self, Vec<FieldError>) {
        let mut reader = Reader { texts, errors: Vec::new() };
        let setting = Self {
            picture: reader.picture(),
            light: reader.light(),
            seats: reader.seats(),
            sound: reader.sound(),
            power: reader.power(),
        };
        reader.together(&setting);
        (setting, reader.errors)
    }

    /// Which lens, throw and picture; keystone and depth of focus where they can be told.
    pub fn lens(&self) -> Result<LensAnswer, Missing> {
        lens::answer(&self.picture, self.light.f_number)
    }

    /// The light on the screen.
    pub fn light(&self, lens: &LensAnswer) -> Result<LightAnswer, Missing> {
        light::answer(&self.light, lens)
    }

    /// The seats and the light path over them.
    pub fn sight(&self, lens: &LensAnswer) -> Result<SightAnswer, Missing> {
        sight::answer(&self.seats, &self.picture, self.light.surface, lens)
    }

    /// The sound at each row; without rows, in the hall's front and back.
    pub fn sound(&self, sight: Option<&SightAnswer>) -> Result<SoundAnswer, Missing> {
        sound::answer(&self.sound, &self.picture, &self.seats, sight)
    }

    /// Load, cable, lamp, fuse and circuits.
    pub fn power(&self) -> Result<PowerAnswer, Missing> {
        power::answer(&self.power)
    }
}
