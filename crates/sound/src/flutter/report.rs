//! What a flutter measurement tells.

use serde::Serialize;
use units::{FramesPerSecond, Hertz, Percent, Probability, Seconds};

/// Speed, wow and flutter of one recording. Figures that the recording was too short for are missing, and
/// `not_measured` says why.
#[derive(Debug, Clone, Serialize)]
pub struct FlutterReport {
    /// Mean frequency of the tone.
    pub tone_hz: Hertz,
    /// What the tone should be.
    pub nominal_tone_hz: Option<Hertz>,
    /// True if the nominal tone was not named but taken as the nearest customary one.
    pub nominal_tone_assumed: bool,
    /// Peak level of the tone below full scale.
    pub level_dbfs: f64,
    /// Mean speed error; missing if it is not known what the tone should be.
    pub speed_error_percent: Option<Percent>,
    /// Half-width of the interval that holds the mean speed with 95 % chance, as far as the recording tells. The
    /// recorder's own clock comes on top.
    pub speed_uncertainty_percent: Percent,
    /// Mean speed of the film.
    pub fps: Option<FramesPerSecond>,
    /// Half-width of the 95 % interval of `fps`.
    pub fps_uncertainty: Option<FramesPerSecond>,
    /// Slope of a straight line through speed against time.
    pub drift_percent_per_minute: Percent,
    /// Half-width of the 95 % interval of the drift.
    pub drift_uncertainty_percent_per_minute: Option<Percent>,
    /// How long the machine took to come up to speed, if the recording holds the start.
    pub run_up: Option<RunUp>,
    /// Highest reading of the weighted quasi-peak meter (IEC 60386 / DIN 45507).
    pub weighted_quasi_peak_percent: Option<Percent>,
    /// Weighted deviation that is exceeded for 4.55 % of the time (AES6).
    pub weighted_two_sigma_percent: Option<Percent>,
    /// Weighted root mean square.
    pub weighted_rms_percent: Option<Percent>,
    /// Largest deviation from 0.2 to 200 Hz.
    pub unweighted_peak_percent: Option<Percent>,
    /// Root mean square from 0.2 to 200 Hz.
    pub unweighted_rms_percent: Option<Percent>,
    /// Root mean square from 0.1 to 6 Hz.
    pub wow_rms_percent: Option<Percent>,
    /// Root mean square from 6 to 100 Hz.
    pub flutter_rms_percent: Option<Percent>,
    /// Root mean square from 100 Hz to where the tone allows (`band_hz`).
    pub scrape_rms_percent: Option<Percent>,
    /// The rates up to which this tone shows flutter.
    pub band_hz: Hertz,
    /// What the recording's noise alone would read, two-sigma weighted: less than this could not have been seen. It
    /// has been taken off the readings in power.
    pub noise_floor_percent: Percent,
    /// What the noise alone would read unweighted, root mean square.
    pub unweighted_noise_floor_percent: Percent,
    /// Length of the recording.
    pub recorded_seconds: Seconds,
    /// When the tone begins and ends.
    pub tone_from_seconds: Seconds,
    /// When the tone ends.
    pub tone_to_seconds: Seconds,
    /// Tone that the readings rest on.
    pub used_seconds: Seconds,
    /// Time between the beginning and the end of the tone that was left out.
    pub left_out_seconds: Seconds,
    /// What was left out, at most 200 stretches.
    pub left_out: Vec<LeftOut>,
    /// Steady lines, slowest first.
    pub lines: Vec<FlutterLine>,
    /// Lines that belong together.
    pub families: Vec<Family>,
    /// Lines closer together than this cannot be told apart in this recording.
    pub resolution_hz: Hertz,
    /// Chance that a recording without any line shows one.
    pub false_alarm: Probability,
    /// Speed against time.
    pub curve: Vec<CurvePoint>,
    /// Spectrum of the speed deviation, for a picture.
    pub spectrum: Vec<SpectrumPoint>,
    /// What could not be measured, and why.
    pub not_measured: Vec<NotMeasured>,
    /// What the reader must know about these figures.
    pub caveats: Vec<String>,
    /// How the figures were got.
    pub methods: Vec<&'static str>,
}

/// From standing still to running.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct RunUp {
    /// When the first sound of the film was heard.
    pub begins_at_seconds: Seconds,
    /// Time from there until the speed stays within 1 % of its final value.
    pub within_1_percent_seconds: Seconds,
    /// Time from there until the speed stays within 0.3 %.
    pub within_0_3_percent_seconds: Option<Seconds>,
}

/// Why a stretch was left out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum LeftOutWhy {
    /// The level fell away for less than a second, and the wave went on as if it had not.
    DropOut,
    /// The level fell away for longer.
    Silence,
    /// Something else was heard.
    NoTone,
    /// The wave went on somewhere else, with or without a loss of level: two pieces of film are joined.
    Splice,
    /// A drop-out, a click or a splice: the speed wanders too much, or too little lies on either side, to tell.
    DropOutOrSplice,
    /// Something covered the tone for a moment, and the wave went on as if it had not.
    Click,
    /// The machine was starting, stopping or far off its speed.
    OffSpeed,
}

/// A stretch that was left out.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct LeftOut {
    /// Beginning.
    pub from_seconds: Seconds,
    /// End.
    pub to_seconds: Seconds,
    /// Why.
    pub why: LeftOutWhy,
}

/// A steady line in the spectrum of speed deviation.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FlutterLine {
    /// Rate.
    pub hz: Hertz,
    /// Half-width of the 95 % interval of the rate.
    pub hz_uncertainty: Hertz,
    /// Peak deviation of speed.
    pub depth_peak_percent: Percent,
    /// Half-width of the 95 % interval of the depth.
    pub depth_uncertainty_percent: Percent,
    /// Parts that may have made it, likeliest first.
    pub parts: Vec<crate::trace::Suspect>,
    /// True if the likeliest part is not clearly ahead.
    pub ambiguous: bool,
    /// What would separate the parts.
    pub to_separate: Option<String>,
}

/// Lines at whole multiples of one rate.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Family {
    /// The rate that the others are multiples of.
    pub fundamental_hz: Hertz,
    /// Which multiples were seen, 1 included.
    pub harmonics: Vec<u32>,
}

/// One point of speed against time.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct CurvePoint {
    /// Middle of the stretch that the point stands for.
    pub at_seconds: Seconds,
    /// Mean deviation from the mean speed.
    pub deviation_percent: Percent,
    /// Lowest in the stretch (means over 20 ms).
    pub low_percent: Percent,
    /// Highest in the stretch.
    pub high_percent: Percent,
    /// Highest reading of the weighted quasi-peak meter in the stretch.
    pub quasi_peak_percent: Percent,
}

/// One point of the spectrum.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct SpectrumPoint {
    /// Rate.
    pub hz: Hertz,
    /// Peak deviation that a steady line here would have.
    pub peak_percent: Percent,
}

/// A figure that is missing.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct NotMeasured {
    /// Which.
    pub what: &'static str,
    /// Why, and what would be right.
    pub why: String,
}
