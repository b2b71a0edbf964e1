//! Light on the screen, beside what the standard aims at.

use std::f64::consts::PI;

use film::Gauge;
use serde::Serialize;
use units::{Lumens, Luminance, Lux, Percent, SquareMetres, Times};

use crate::answer::{Judgement, Missing, Working};
use crate::estimate::{Estimate, reach};
use crate::lens::LensAnswer;
use crate::remedy::{Remedy, Situation};
use crate::screen::{PortGlass, ScreenSurface, Shutter};
use crate::setting::LightGiven;

/// What the screen's luminance should be: machine running, no film in the gate, at the centre.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct LightAim {
    /// The least.
    #[serde(rename = "low_cd_per_m2")]
    pub low: Luminance,
    /// What is aimed at.
    #[serde(rename = "aim_cd_per_m2")]
    pub aim: Luminance,
    /// The most.
    #[serde(rename = "high_cd_per_m2")]
    pub high: Luminance,
    /// Where it stands.
    pub source: &'static str,
}

impl LightAim {
    /// The aim for a gauge.
    pub fn for_gauge(gauge: Gauge) -> Self {
        let in_foot_lamberts = |low, aim, high, source| Self {
            low: Luminance::from_foot_lamberts(low),
            aim: Luminance::from_foot_lamberts(aim),
            high: Luminance::from_foot_lamberts(high),
            source,
        };
        match gauge {
            Gauge::Mm16 => in_foot_lamberts(
                8.0,
                12.0,
                16.0,
                "BS 2954:1958 and ISO 2910, as a trade journal gives them: 8 to 16 fL (27 to 55 cd/m²) for 16 mm",
            ),
            Gauge::Mm35 => in_foot_lamberts(
                12.0,
                16.0,
                22.0,
                "ANSI/SMPTE 196M, as a trade article gives it: 16 fL (55 cd/m²), 12 to 22 fL in theatres",
            ),
            Gauge::Super8 | Gauge::Standard8 => {
                in_foot_lamberts(14.0, 16.0, 18.0, "SMPTE RP 51-1995: 16 ± 2 fL (55 ± 7 cd/m²) for 8 mm")
            }
        }
    }
}

/// Below this a picture is too dim to excuse even in a dark room: about 4 fL; common practice, no source.
pub(crate) const FLOOR: Luminance = Luminance::new(14.0);

/// What was measured at the screen, and what it makes.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct MeasuredLight {
    /// Light on the screen's centre, machine running without film.
    #[serde(rename = "screen_lux")]
    pub illuminance: Estimate<Lux>,
    /// The luminance that it makes.
    #[serde(rename = "luminance_cd_per_m2")]
    pub luminance: Estimate<Luminance>,
}

/// Evenness: the darkest edge beside the centre.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Evenness {
    /// Edge to centre, as measured.
    #[serde(rename = "edge_percent")]
    pub edge: Estimate<Percent>,
    /// The least that is asked.
    #[serde(rename = "least_percent")]
    pub least: Percent,
    /// Against the least.
    pub judgement: Judgement,
}

/// Light that is not the picture's.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct StrayLight {
    /// Beside the picture's brightest.
    #[serde(rename = "stray_percent")]
    pub stray: Estimate<Percent>,
    /// The most contrast that the room leaves: brightest to darkest.
    pub contrast: Estimate<Times>,
    /// Against the most that is borne.
    pub judgement: Judgement,
}

/// Light on the screen.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LightAnswer {
    /// The light that leaves the lens, shutter running.
    #[serde(rename = "machine_light_lm")]
    pub machine: Estimate<Lumens>,
    /// The picture's area.
    #[serde(rename = "picture_area_m2")]
    pub area: Estimate<SquareMetres>,
    /// The screen's gain.
    pub gain: Estimate<Times>,
    /// Light on the screen.
    #[serde(rename = "expected_lux")]
    pub illuminance: Estimate<Lux>,
    /// Luminance that is expected.
    #[serde(rename = "expected_cd_per_m2")]
    pub expected: Estimate<Luminance>,
    /// What was measured, if anything was.
    pub measured: Option<MeasuredLight>,
    /// The luminance that counts: measured, else expected.
    #[serde(rename = "luminance_cd_per_m2")]
    pub luminance: Estimate<Luminance>,
    /// The same in foot-lamberts.
    #[serde(rename = "luminance_fl")]
    pub foot_lamberts: Estimate<Times>,
    /// What it should be.
    pub aim: LightAim,
    /// How it stands to the aim.
    pub judgement: Judgement,
    /// What would help when it is too dark, the simplest first.
    pub remedies: Vec<Remedy>,
    /// The corner's light by the lens alone: the fourth power of the cosine.
    #[serde(rename = "corner_by_lens_percent")]
    pub corner_by_lens: Estimate<Percent>,
    /// Evenness as measured.
    pub evenness: Option<Evenness>,
    /// Stray light as measured.
    pub stray: Option<StrayLight>,
    /// The sums.
    pub workings: Vec<Working>,
    /// What to beware of.
    pub caveats: Vec<String>,
}

/// The luminance of a screen: lumens x gain / (pi x area), so that 1 lm on 1 ft² at gain 1 is 1 fL.
pub fn luminance_of(
    light: Estimate<Lumens>,
    gain: Estimate<Times>,
    area: Estimate<SquareMetres>,
) -> Estimate<Luminance> {
    let [luminance] =
        reach([light.bare(), gain.bare(), area.bare()], |[light, gain, area]| [light * gain / (PI * area)]);
    luminance.of()
}

/// The share of a lamp's light that reaches the screen, by a two-blade shutter and a lens of f/1.6.
///
/// # Reference
///
/// 2.43 %: JSMPE 29 (1937), abstract. 1.0 %: 275 lm from a lamp of 1000 W, Theatre Catalog 1947, at 28 lm/W from memory.
/// 4.5 %: 400 lm from a halogen lamp of 250 W, common practice, no source.
fn lamp_to_screen() -> Estimate<Percent> {
    Estimate::between(Percent::new(1.0), Percent::new(2.43), Percent::new(4.5))
}

/// The f-number for which [`lamp_to_screen`] holds: usual for portable machines, common practice, no source.
const USUAL_F_NUMBER: f64 = 1.6;

/// How the light that leaves the lens is known.
enum Route {
    /// Measured or known for the machine.
    Machine,
    /// By the lamp's own light.
    Lamp,
    /// Only by what was measured on the screen.
    Screen,
}

/// The light that leaves the lens, and how it was found.
fn machine_light(
    given: &LightGiven,
    area: Estimate<SquareMetres>,
) -> Result<(Estimate<Lumens>, Route), Missing> {
    if let Some(light) = given.machine_light {
        return Ok((light, Route::Machine));
    }
    if let Some(lamp) = given.lamp_light {
        let shutter = given.shutter.unwrap_or(Shutter::TwoBlade).lets_through();
        let two_blade = Shutter::TwoBlade.lets_through().likely().percent();
        let f_number = given.f_number.unwrap_or(Times::new(USUAL_F_NUMBER).into());
        let inputs = [lamp.bare(), lamp_to_screen().bare(), shutter.bare(), f_number.bare()];
        let [light] = reach(inputs, |[lamp, part, shutter, f_number]| {
            [lamp * part / 100.0 * (shutter / two_blade) * (USUAL_F_NUMBER / f_number).powi(2)]
        });
        return Ok((light.of(), Route::Lamp));
    }
    let measured = given.screen_lux.ok_or(NEEDED)?;
    let port = given.port.lets_through();
    let [light] =
        reach([measured.bare(), area.bare(), port.bare()], |[lux, area, port]| [lux * area / (port / 100.0)]);
    Ok((light.of(), Route::Screen))
}

const NEEDED: Missing = Missing {
    question: "the light on the screen",
    needs: "the machine's light in lumens, the lamp's, or a reading in lux at the screen",
    fields: &["machine-light", "lamp-light", "screen-lux"],
};

/// The light on the screen. Missing when nothing is known of the light.
pub(crate) fn answer(given: &LightGiven, lens: &LensAnswer) -> Result<LightAnswer, Missing> {
    // The height follows from the width by the plate, so that only one of them is unsure.
    let ratio = lens.format.screen_ratio();
    let area = lens.width.map(|width| width * (width / ratio));
    let (machine, route) = machine_light(given, area)?;
    let gain =
        given.gain.or(given.surface.map(ScreenSurface::gain)).unwrap_or_else(ScreenSurface::gain_unknown);
    let port = given.port.lets_through();
    let inputs = [machine.bare(), port.bare(), area.bare()];
    let [illuminance] = reach(inputs, |[light, port, area]| [light * port / 100.0 / area]);
    let [expected] =
        reach([machine.bare(), port.bare(), area.bare(), gain.bare()], |[light, port, area, gain]| {
            [light * port / 100.0 * gain / (PI * area)]
        });
    let measured = given.screen_lux.map(|lux| measured(lux, gain));
    let luminance = measured.map_or_else(|| expected.of(), |measured| measured.luminance);
    let aim = LightAim::for_gauge(lens.format.gauge);
    let judgement = Judgement::of(luminance, aim.low, aim.high);
    let situation = Situation { given, lens, luminance, aim, gain, machine };
    Ok(LightAnswer {
        machine,
        area,
        gain,
        illuminance: illuminance.of(),
        expected: expected.of(),
        measured,
        luminance,
        foot_lamberts: luminance.map(|light| Times::new(light.as_foot_lamberts())),
        aim,
        judgement,
        remedies: situation.remedies(),
        corner_by_lens: corner_by_lens(lens),
        evenness: evenness(given, lens.format.gauge),
        stray: stray(given, illuminance.of()),
        workings: workings(&route, aim),
        caveats: caveats(given, &route, measured, expected.of()),
    })
}

fn measured(illuminance: Estimate<Lux>, gain: Estimate<Times>) -> MeasuredLight {
    let [luminance] = reach([illuminance.bare(), gain.bare()], |[lux, gain]| [lux * gain / PI]);
    MeasuredLight { illuminance, luminance: luminance.of() }
}

/// What the lens alone leaves in the corner: `cos⁴` of the angle to it.
fn corner_by_lens(lens: &LensAnswer) -> Estimate<Percent> {
    let inputs = [lens.width.bare(), lens.throw.bare()];
    let ratio = lens.format.screen_ratio();
    let [corner] = reach(inputs, |[width, throw]| {
        let to_corner = (width / 2.0).hypot(width / ratio / 2.0);
        [(to_corner / throw).atan().cos().powi(4) * 100.0]
    });
    corner.of()
}

/// The least light at the edge, beside the centre's.
///
/// # Reference
///
/// 35 mm: edges within 75 %, SMPTE EG 3-1994, clause 3. Smaller gauges: 60 %, common practice, no source.
const fn least_at_edge(gauge: Gauge) -> Percent {
    match gauge {
        Gauge::Mm35 => Percent::new(75.0),
        Gauge::Mm16 | Gauge::Super8 | Gauge::Standard8 => Percent::new(60.0),
    }
}

fn evenness(given: &LightGiven, gauge: Gauge) -> Option<Evenness> {
    let (centre, edge) = (given.screen_lux?, given.edge_lux?);
    let [part] = reach([edge.bare(), centre.bare()], |[edge, centre]| [edge / centre * 100.0]);
    let (edge, least) = (part.of(), least_at_edge(gauge));
    let judgement = match Judgement::of(edge, least, Percent::new(f64::MAX)) {
        Judgement::Within if edge.low() > Percent::new(100.0) => Judgement::Above,
        judgement => judgement,
    };
    Some(Evenness { edge, least, judgement })
}

/// The most stray light beside the picture's brightest: common practice, no source (0.25 to 0.5 % is asked of theatres,
/// from memory).
const MOST_STRAY: Percent = Percent::new(2.0);
/// What a good hall stays under: common practice, no source.
const GOOD_STRAY: Percent = Percent::new(1.0);

fn stray(given: &LightGiven, expected: Estimate<Lux>) -> Option<StrayLight> {
    let stray = given.stray_lux?;
    let picture = given.screen_lux.unwrap_or(expected);
    let [part, contrast] = reach([stray.bare(), picture.bare()], |[stray, picture]| {
        [stray / picture * 100.0, (picture + stray) / stray.max(1.0e-6)]
    });
    let part: Estimate<Percent> = part.of();
    let judgement = if part.low() > GOOD_STRAY && part.high() < MOST_STRAY {
        Judgement::CannotTell
    } else {
        Judgement::of(part, Percent::ZERO, MOST_STRAY)
    };
    Some(StrayLight { stray: part, contrast, judgement })
}

fn workings(route: &Route, aim: LightAim) -> Vec<Working> {
    let mut workings = vec![
        Working {
            gives: "luminance",
            formula: "cd/m² = lumens x port glass x gain / (pi x picture area); fL = lumens x port glass x gain / square feet",
            source: "photometry; a glossary's rule for the foot-lambert",
        },
        Working {
            gives: "aim",
            formula: "centre of the screen, machine running, no film",
            source: aim.source,
        },
        Working {
            gives: "corner by the lens alone",
            formula: "cos⁴ of the angle from the lens to the corner",
            source: "geometrical optics",
        },
    ];
    match route {
        Route::Machine => {}
        Route::Lamp => workings.push(Working {
            gives: "machine's light",
            formula: "lamp lumens x 1.0 to 4.5 % x (shutter / 50 %) x (1.6 / f-number)²",
            source: "2.43 %: JSMPE 29 (1937), abstract; 1.0 %: Theatre Catalog 1947 (275 lm from 1000 W); 4.5 %: common practice, no source",
        }),
        Route::Screen => workings.push(Working {
            gives: "machine's light",
            formula: "lux at the screen x picture area / port glass",
            source: "photometry",
        }),
    }
    workings
}

fn caveats(
    given: &LightGiven,
    route: &Route,
    measured: Option<MeasuredLight>,
    expected: Estimate<Luminance>,
) -> Vec<String> {
    let mut caveats = Vec::new();
    if given.gain.is_none() {
        match given.surface {
            None => caveats
                .push("the screen is not given: a gain of 0.7 (a sheet) to 2.5 (beaded) is taken".to_owned()),
            Some(ScreenSurface::Beaded | ScreenSurface::Silver) => caveats
                .push("the gain holds on the axis; to the side this screen soon gets darker".to_owned()),
            Some(_) => {}
        }
    }
    match route {
        Route::Lamp => caveats.push("worked out from the lamp's own light, which may be out by half either way; a meter at the screen tells".to_owned()),
        Route::Screen => {
            caveats.push("the machine's light is worked back from the one reading at the centre, as if the edges had as much".to_owned());
        }
        Route::Machine => {}
    }
    let counts = measured.map_or(expected, |measured| measured.luminance);
    if counts.high() < FLOOR {
        caveats.push(
            "under 14 cd/m² (4 fL) even a dark room does not help: do not promise this picture".to_owned(),
        );
    }
    if given.port == PortGlass::Dirty {
        caveats.push("clean the port glass on both sides before anything else".to_owned());
    }
    if let (Some(measured), Route::Machine | Route::Lamp) = (measured, route) {
        let part = measured.luminance.high().candelas_per_square_metre()
            / expected.low().candelas_per_square_metre();
        if part < 0.75 {
            caveats.push(format!(
                "the reading is at most {:.0} % of what the machine should give: lamp, mirror, lens or port glass want a look",
                part * 100.0
            ));
        }
    }
    caveats
}
