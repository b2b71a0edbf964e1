//! From lines in the spectrum to the rotating parts that may have made them.

use serde::Serialize;
use units::{Hertz, Probability};

/// A rotating part as the tracing needs to know it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Candidate {
    /// The part's id in its machine type.
    pub part: String,
    /// Its name in plain words.
    pub name: String,
    /// How often it turns, at the nominal speed of the film.
    pub rate: RateBand,
    /// True if its rate follows the film's speed; false if it follows the mains.
    pub film_locked: bool,
    /// True if it can slip, so that it may turn a little slower than its rate says.
    pub slips: bool,
    /// Multiples of its rate that may show; 1 need not be named.
    pub harmonics: Vec<u32>,
}

/// A rate, or the range through which a rate drifts in the course of a reel.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct RateBand {
    /// Lowest.
    pub low: Hertz,
    /// Highest; the same as the lowest for a steady rate.
    pub high: Hertz,
}

impl RateBand {
    /// A rate that does not change.
    pub const fn steady(rate: Hertz) -> Self {
        Self { low: rate, high: rate }
    }
}

/// A part that may have made a line.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Suspect {
    /// The candidate's id.
    pub part: String,
    /// Its name in plain words.
    pub name: String,
    /// Which multiple of its rate the line is.
    pub harmonic: u32,
    /// How likely, given all lines and all candidates.
    pub probability: Probability,
    /// Where this part's line should lie.
    pub expected_hz: Hertz,
}

/// A line as the tracing sees it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SeenLine {
    /// Its rate.
    pub rate: Hertz,
    /// Standard deviation of the rate.
    pub deviation: Hertz,
    /// Peak depth, as a fraction of speed.
    pub depth: f64,
}

/// What the tracing says about one line.
#[derive(Debug, Clone, PartialEq)]
pub struct Traced {
    /// The likeliest parts, best first. What is missing to 1 is the chance that none of the candidates made the line.
    pub suspects: Vec<Suspect>,
    /// True if the best suspect is not clearly ahead.
    pub ambiguous: bool,
    /// What would separate the suspects of an ambiguous line.
    pub to_separate: Option<String>,
}

/// The conditions of the measurement.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TraceConditions {
    /// Measured speed over nominal speed.
    pub speed_ratio: f64,
    /// Standard deviation of that ratio.
    pub speed_ratio_deviation: f64,
    /// Lines closer than this cannot be told apart.
    pub resolution: Hertz,
}

/// A part that slips may turn slower by up to this fraction (rollers and belts; common practice, no source).
const MOST_SLIP: f64 = 0.02;
/// What a diameter, a belt's length or a film's thickness leave open in a rate (common practice, no source).
const MAKING: f64 = 0.003;
/// Chance before looking that a line comes from something that is not among the candidates.
const UNKNOWN: f64 = 0.05;
/// The unknown may lie anywhere in these Hz, evenly over the logarithm.
const UNKNOWN_SPAN_HZ: (f64, f64) = (0.1, 250.0);
/// The best suspect must have at least this probability, or the line is ambiguous.
const CLEAR: f64 = 0.8;
/// Suspects less likely than this are not named.
const FAINT: f64 = 0.01;
/// A harmonic whose fundamental is not seen: so much less likely.
const WITHOUT_FUNDAMENTAL: f64 = 0.15;
/// A fundamental whose harmonic is seen where it should be: so much likelier.
const WITH_HARMONIC: f64 = 1.5;

/// Ranks the candidates for every line.
///
/// # Method
/// For each candidate and each of its harmonics the density of seeing the line where it is: normal about the expected
/// rate, with the line's own uncertainty, that of the film's speed and what the making of the part leaves open; evenly
/// spread over the slip of a part that slips, and over the band of one that drifts. Lines closer than the resolution
/// of the recording count as the same place, because two of them would have melted into one. Each candidate is as
/// likely as every other beforehand; higher harmonics are less likely (1/h); a harmonic without its fundamental counts
/// for little and a fundamental with its harmonics for more. The unknown takes its share.
pub fn trace(lines: &[SeenLine], candidates: &[Candidate], conditions: TraceConditions) -> Vec<Traced> {
    lines.iter().map(|line| trace_one(*line, lines, candidates, conditions)).collect()
}

struct Guess<'c> {
    candidate: &'c Candidate,
    harmonic: u32,
    expected: f64,
    weight: f64,
}

fn trace_one(
    line: SeenLine,
    lines: &[SeenLine],
    candidates: &[Candidate],
    conditions: TraceConditions,
) -> Traced {
    let hz = line.rate.hertz();
    let mut guesses: Vec<Guess<'_>> = candidates
        .iter()
        .flat_map(|c| harmonics(c).map(move |h| (c, h)))
        .filter_map(|(candidate, harmonic)| guess(line, lines, candidate, harmonic, conditions))
        .collect();
    let span = (UNKNOWN_SPAN_HZ.1 / UNKNOWN_SPAN_HZ.0).ln();
    let unknown = UNKNOWN * candidates.len().max(1) as f64 / (hz * span);
    let total = unknown + guesses.iter().map(|g| g.weight).sum::<f64>();
    guesses.sort_by(|a, b| b.weight.total_cmp(&a.weight));
    let mut suspects: Vec<Suspect> = Vec::new();
    for guess in &guesses {
        let share = guess.weight / total;
        if share >= FAINT && !suspects.iter().any(|s| s.part == guess.candidate.part) {
            suspects.push(Suspect {
                part: guess.candidate.part.clone(),
                name: guess.candidate.name.clone(),
                harmonic: guess.harmonic,
                probability: Probability::clamped(share),
                expected_hz: Hertz::new(guess.expected),
            });
        }
    }
    // What turns with the best suspect makes the same lines, whichever of them are seen.
    let mate = guesses.first().and_then(|first| shaft_mate(first.candidate, candidates));
    let unclear = suspects.first().is_some_and(|s| s.probability.value() < CLEAR);
    let ambiguous = unclear || mate.is_some();
    let to_separate = match (guesses.first(), mate) {
        (Some(first), Some(mate)) if first.weight > FAINT * total => {
            Some(on_one_shaft(first.candidate, mate))
        }
        _ if ambiguous => separate(&guesses, total, candidates, conditions, hz),
        _ => None,
    };
    Traced { suspects, ambiguous, to_separate }
}

/// Another part that always turns as fast as this one.
fn shaft_mate<'c>(one: &Candidate, candidates: &'c [Candidate]) -> Option<&'c Candidate> {
    let together = |other: &&Candidate| {
        other.part != one.part
            && other.rate == one.rate
            && other.film_locked == one.film_locked
            && !(one.slips || other.slips)
    };
    candidates.iter().find(together)
}

fn on_one_shaft(one: &Candidate, mate: &Candidate) -> String {
    format!(
        "{} and {} turn at one rate, so no recording tells them apart: with the machine stopped and unplugged, feel each \
         for play and look at how it runs out; or loosen one from the other, where that can be done, and measure again",
        one.name, mate.name
    )
}

/// The fundamental and the multiples that the candidate names, each once.
fn harmonics(candidate: &Candidate) -> impl Iterator<Item = u32> + '_ {
    let named = candidate.harmonics.iter().enumerate();
    let fresh = named.filter(|(n, h)| **h > 1 && !candidate.harmonics.iter().take(*n).any(|o| o == *h));
    std::iter::once(1).chain(fresh.map(|(_, h)| *h))
}

fn guess<'c>(
    line: SeenLine,
    lines: &[SeenLine],
    candidate: &'c Candidate,
    harmonic: u32,
    conditions: TraceConditions,
) -> Option<Guess<'c>> {
    let place = Place::of(candidate, harmonic, conditions);
    let hz = line.rate.hertz();
    let density = place.density(hz, line.deviation.hertz(), conditions.resolution.hertz());
    if density < 1e-12 {
        return None;
    }
    let seen_at = |multiple: u32| {
        let wanted = hz * f64::from(multiple) / f64::from(harmonic);
        let near = |l: &SeenLine| {
            (l.rate.hertz() - wanted).abs() < 0.5 * conditions.resolution.hertz() + 3.0 * l.deviation.hertz()
        };
        lines.iter().any(near)
    };
    let mut weight = density / f64::from(harmonic);
    if harmonic > 1 && !seen_at(1) {
        weight *= WITHOUT_FUNDAMENTAL;
    }
    for _ in harmonics(candidate).filter(|&h| h != harmonic && h > 1 && seen_at(h)) {
        weight *= WITH_HARMONIC;
    }
    Some(Guess { candidate, harmonic, expected: place.middle(), weight })
}

/// Where the line of a part should lie.
struct Place {
    low: f64,
    high: f64,
    /// Standard deviation of both ends.
    deviation: f64,
}

impl Place {
    fn of(candidate: &Candidate, harmonic: u32, conditions: TraceConditions) -> Self {
        let ratio = if candidate.film_locked { conditions.speed_ratio } else { 1.0 };
        let scale = f64::from(harmonic) * ratio;
        let slip = if candidate.slips { 1.0 - MOST_SLIP } else { 1.0 };
        let (low, high) = (candidate.rate.low.hertz() * scale * slip, candidate.rate.high.hertz() * scale);
        let speed = if candidate.film_locked { conditions.speed_ratio_deviation } else { 0.0 };
        // Teeth and gears are exact; what rubs or is driven by a motor's own speed is not.
        let making = if candidate.slips || !candidate.film_locked { MAKING } else { 0.0 };
        Self { low: low.min(high), high, deviation: high * making.hypot(speed) }
    }

    fn middle(&self) -> f64 {
        f64::midpoint(self.low, self.high)
    }

    /// Density of a line at `hz`, for each hertz.
    fn density(&self, hz: f64, line_deviation: f64, resolution_hz: f64) -> f64 {
        // Within half the resolution two lines are one; beyond it the chance falls off quickly.
        let blur = resolution_hz / 2.0;
        let outside = (self.low - blur - hz).max(hz - self.high - blur).max(0.0);
        let deviation = self.deviation.hypot(line_deviation).hypot(0.1 * resolution_hz);
        let width = (self.high - self.low) + 2.0 * blur + deviation * (std::f64::consts::TAU).sqrt();
        (-0.5 * (outside / deviation).powi(2)).exp() / width
    }
}

/// Says what would tell the two likeliest suspects apart.
fn separate(
    guesses: &[Guess<'_>],
    total: f64,
    candidates: &[Candidate],
    conditions: TraceConditions,
    hz: f64,
) -> Option<String> {
    let first = guesses.first()?;
    let second =
        guesses.iter().find(|g| g.candidate.part != first.candidate.part && g.weight > FAINT * total);
    let Some(second) = second else {
        return Some(format!(
            "no part of the list turns at {hz:.2} Hz with certainty; measure again after {} has been cleaned, or give \
             the machine type the missing part",
            first.candidate.name
        ));
    };
    let (a, b) = (first.candidate, second.candidate);
    debug_assert!(candidates.len() >= 2, "two suspects come from two candidates");
    Some(how_to_separate(a, b, (first.expected - second.expected).abs(), conditions))
}

fn how_to_separate(a: &Candidate, b: &Candidate, apart_hz: f64, conditions: TraceConditions) -> String {
    let drifts = |c: &Candidate| c.rate.high.hertz() > 1.05 * c.rate.low.hertz();
    if a.film_locked != b.film_locked {
        let (film, mains) = if a.film_locked { (a, b) } else { (b, a) };
        return format!(
            "run at another speed and record again: the line moves with the film if it is {}, and stays if it is {}",
            film.name, mains.name
        );
    }
    if drifts(a) != drifts(b) {
        let (drifting, steady) = if drifts(a) { (a, b) } else { (b, a) };
        return format!(
            "record again near the other end of the reel, or with another spool: the line moves if it is {}, and \
             stays if it is {}",
            drifting.name, steady.name
        );
    }
    let resolution = conditions.resolution.hertz();
    let needed = 2.0 / apart_hz.max(1e-9);
    if !a.slips && !b.slips && apart_hz < resolution && needed < 600.0 {
        return format!(
            "record at least {:.0} s: {} and {} lie {apart_hz:.3} Hz apart",
            needed.ceil(),
            a.name,
            b.name
        );
    }
    format!(
        "with the machine stopped, mark {} and {} with chalk; film them running, without touching anything, and count \
         their turns against the line; or clean one of them and measure again",
        a.name, b.name
    )
}
