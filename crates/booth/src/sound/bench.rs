//! One way of measuring a recording, whoever asks: what is known of the machine goes into the request.

use super::parts;
use ::sound::{
    BuzzReport, BuzzRequest, FlutterReport, FlutterRequest, FocusReport, FocusRequest, NoiseReport,
    NoiseRequest, ResponseReport, ResponseRequest, SoundError, Source,
};
use machine::{MachineType, Mains};
use units::{Decibels, FramesPerSecond, Hertz};

/// Sound speed (ISO 2939 and the gauges' standards, from memory).
const SOUND_SPEED: FramesPerSecond = FramesPerSecond::new(24.0);

/// What is known before a recording is measured.
#[derive(Clone, Copy, Debug)]
pub struct Bench<'a> {
    /// The machine type, if it is known; without it lines have no names.
    pub kind: Option<&'a MachineType>,
    /// The speed at which the film carries its tone.
    pub speed: FramesPerSecond,
    /// The tone that is named, if one is.
    pub tone: Option<Hertz>,
    /// The mains, where they are others than the type is built for.
    pub mains: Option<Mains>,
}

impl<'a> Bench<'a> {
    /// Any tone at sound speed.
    pub const fn new(kind: Option<&'a MachineType>) -> Self {
        Self { kind, speed: SOUND_SPEED, tone: None, mains: None }
    }

    /// Measures speed, wow and flutter, and traces the lines to the parts of the type.
    pub fn flutter(&self, source: &mut dyn Source) -> Result<FlutterReport, SoundError> {
        let candidates = self
            .kind
            .map(|kind| parts::candidates(kind, parts::running(kind, self.speed, self.mains)))
            .unwrap_or_default();
        let request = FlutterRequest { tone: self.tone, nominal_speed: self.speed, candidates };
        let mut report = ::sound::measure_flutter(source, &request)?;
        parts::say_how_to_separate(&mut report);
        Ok(report)
    }

    /// Measures the response of a multi-frequency film; the named tone is the one at 0 dB.
    pub fn response(&self, source: &mut dyn Source) -> Result<ResponseReport, SoundError> {
        ::sound::measure_response(source, &ResponseRequest { reference: self.tone })
    }

    /// Measures noise, hum and distortion; `reference` is the level of the reference tone at the same settings.
    pub fn noise(
        &self,
        source: &mut dyn Source,
        reference: Option<Decibels>,
    ) -> Result<NoiseReport, SoundError> {
        let usual = NoiseRequest::default();
        let mains = self.mains.map(|mains| match mains {
            Mains::Fifty => Hertz::new(50.0),
            Mains::Sixty => Hertz::new(60.0),
        });
        let request = NoiseRequest {
            reference_dbfs: reference,
            mains,
            speed: self.speed,
            perforations_per_frame: self
                .kind
                .map_or(usual.perforations_per_frame, |kind| kind.gauge.perforations_per_frame()),
        };
        ::sound::measure_noise(source, &request)
    }

    /// Follows the level of a high tone.
    pub fn focus(&self, source: &mut dyn Source) -> Result<FocusReport, SoundError> {
        let usual = FocusRequest { tone: self.tone, ..FocusRequest::default() };
        let request =
            self.kind.map_or(usual, |kind| FocusRequest { film_speed: kind.film_speed(self.speed), ..usual });
        ::sound::measure_focus(source, &request)
    }

    /// Says which side of a buzz track is heard.
    pub fn buzz_track(
        &self,
        source: &mut dyn Source,
        request: &BuzzRequest,
    ) -> Result<BuzzReport, SoundError> {
        ::sound::measure_buzz_track(source, request)
    }
}
