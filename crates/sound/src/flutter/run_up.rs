//! How long a machine takes to come up to speed, from the opening of a recording.

use super::gate::Fault;
use super::meter::Opening;
use super::report::RunUp;
use units::Seconds;

/// The speed must stay inside its limit for so long.
const STAY_SECONDS: f64 = 1.0;
/// The film is heard once the sound is so many times as strong as before (6 dB).
const HEARD: f32 = 4.0;
/// Quicker than this, the tone was printed to begin there; no machine starts so fast.
const QUICKEST_SECONDS: f64 = 0.1;

/// Times the run-up; the reason where there is none to time.
pub(crate) fn run_up(opening: &[Opening], cell_seconds: f64) -> Result<RunUp, &'static str> {
    let final_speed = final_speed(opening).ok_or("the tone is not steady within the first minute")?;
    let begins =
        begins(opening).ok_or("the recording begins with the machine running; begin it before the start")?;
    let stay = (STAY_SECONDS / cell_seconds).ceil() as usize;
    let within = |limit: f64| {
        let inside = |cell: &Opening| {
            !matches!(cell.fault, Some(Fault::Quiet | Fault::Noise))
                && (f64::from(cell.mean) - final_speed).abs() < limit
        };
        let starts = begins..opening.len().saturating_sub(stay);
        let cell = starts.into_iter().find(|&i| opening.iter().skip(i).take(stay).all(inside))?;
        Some(Seconds::new((cell - begins) as f64 * cell_seconds))
    };
    let one = within(0.01).ok_or("the speed does not settle within 1 % in the first minute")?;
    if one.seconds() < QUICKEST_SECONDS {
        return Err("the tone begins at full speed; the start of the machine is not in the recording");
    }
    Ok(RunUp {
        begins_at_seconds: Seconds::new(begins as f64 * cell_seconds),
        within_1_percent_seconds: one,
        within_0_3_percent_seconds: within(0.003),
    })
}

fn final_speed(opening: &[Opening]) -> Option<f64> {
    let mut good: Vec<f64> =
        opening.iter().filter(|c| c.fault.is_none()).map(|c| f64::from(c.mean)).collect();
    // The later half, so that the run-up itself does not pull.
    let half = good.len() / 2;
    crate::dsp::statistics::median(good.get_mut(half..).unwrap_or_default())
}

/// The first cell in which the film is heard, if something quieter went before.
fn begins(opening: &[Opening]) -> Option<usize> {
    const BEFORE: usize = 5;
    let quiet = opening.get(..BEFORE)?;
    let running = opening.iter().rev().take(BEFORE).map(|c| c.power).fold(f32::INFINITY, f32::min);
    let background = quiet.iter().map(|c| c.power).fold(0.0, f32::max);
    if background * HEARD > running {
        return None;
    }
    let heard = (background * HEARD).max(running * 0.01);
    opening.windows(2).position(|w| w.iter().all(|c| c.power > heard))
}
