//! Speed, wow and flutter of a recorded tone.

mod down;
mod floor;
mod gate;
mod joins;
mod lines;
mod meter;
mod noise;
mod plan;
mod report;
mod run_up;
mod speed;
mod summary;
mod weighted;

pub use report::{
    CurvePoint, Family, FlutterLine, FlutterReport, LeftOut, LeftOutWhy, NotMeasured, RunUp, SpectrumPoint,
};

use crate::recording::{Recording, Source, pick_channel};
use crate::{FlutterRequest, SoundError, tone};
use down::{Block, Discriminator, First, Pairs, Second};
use gate::Gate;
use meter::{Gathered, Meter};
use plan::Plan;
use std::sync::mpsc::{Receiver, sync_channel};

/// Cells that are read at a time.
const BLOCK_CELLS: usize = 48;
/// Blocks that may wait between the two threads.
const BLOCKS_WAITING: usize = 8;
/// Samples at or beyond this stand at the limit.
const FULL_SCALE: f32 = 0.9995;

/// What the whole of a recording gave, before it is put into words.
struct Measured {
    plan: Plan,
    gathered: Gathered,
    clipped: u64,
    frames: u64,
    oddities: Vec<String>,
}

/// Measures speed, wow and flutter of the steady tone in a recording.
///
/// # Method
/// The tone is found from looks all over the recording, mixed down with an oscillator of exactly known frequency,
/// filtered and decimated; the steps of its phase are the speed. Its level is not used, so amplitude modulation does
/// not read as flutter. Cells of 20 ms that are no steady tone are left out. Memory does not grow with length.
///
/// # Errors
/// Says in plain words why there is no reading: damaged file, too quiet, no steady tone, another tone, too short, too
/// many breaks.
pub fn measure_flutter(
    source: &mut dyn Source,
    request: &FlutterRequest,
) -> Result<FlutterReport, SoundError> {
    let measured = measure(source, request)?;
    summary::report(measured, request)
}

fn measure(source: &mut dyn Source, request: &FlutterRequest) -> Result<Measured, SoundError> {
    let tone = tone::find(source, request.tone)?;
    let mut recording = Recording::open(source)?;
    let plan = Plan::new(recording.rate_hz, &tone)?;
    let (sender, receiver) = sync_channel(BLOCKS_WAITING);
    let (read, gathered) = std::thread::scope(|scope| {
        let plan = &plan;
        let tail = scope.spawn(move || gather(plan, &receiver));
        let read = read_all(&mut recording, plan, tone.channel, |block| sender.send(block).is_ok());
        drop(sender);
        (read, tail.join())
    });
    let (frames, clipped) = read?;
    // A panic of the other thread is this one's too.
    let gathered = gathered.unwrap_or_else(|panic| std::panic::resume_unwind(panic));
    Ok(Measured { oddities: recording.oddities(), plan, gathered, clipped, frames })
}

/// Reads the recording to its end and sends on what the first stage makes of it.
fn read_all(
    recording: &mut Recording<'_>,
    plan: &Plan,
    channel: usize,
    mut send: impl FnMut(Block) -> bool,
) -> Result<(u64, u64), SoundError> {
    let mut first = First::new(plan);
    let (mut frames, mut mono) = (Vec::new(), Vec::new());
    let (mut read, mut clipped) = (0, 0);
    loop {
        let got = recording.read(BLOCK_CELLS * plan.cell_frames(), &mut frames)?;
        if got == 0 {
            return Ok((read, clipped));
        }
        read += got as u64;
        let samples = if recording.channels == 1 {
            &frames
        } else {
            mono.clear();
            pick_channel(&frames, recording.channels, channel, &mut mono);
            &mono
        };
        clipped += count_clipped(samples);
        if !send(first.feed(samples)) {
            return Ok((read, clipped));
        }
    }
}

/// Samples in runs of three and more at the limit: one or two may be a peak that just reaches it.
fn count_clipped(samples: &[f32]) -> u64 {
    let loudest = pulp::Arch::new().dispatch(
        #[inline(always)]
        || down::loudest(samples),
    );
    if loudest < FULL_SCALE {
        return 0;
    }
    let runs = samples.chunk_by(|a, b| (a.abs() >= FULL_SCALE) == (b.abs() >= FULL_SCALE));
    let clipped = runs.filter(|run| run.len() >= 3 && run.first().is_some_and(|x| x.abs() >= FULL_SCALE));
    clipped.map(|run| run.len() as u64).sum()
}

/// The second thread: everything after the first stage.
fn gather(plan: &Plan, blocks: &Receiver<Block>) -> Gathered {
    let mut second = Second::new(plan);
    let mut discriminator = Discriminator::default();
    let mut gate = Gate::new(plan);
    let mut meter = Meter::new(plan);
    let (mut pairs, mut steps, mut sizes) = (Pairs::default(), Vec::new(), Vec::new());
    for block in blocks {
        second.feed(&block.pairs, &mut pairs);
        discriminator.feed(&pairs, &mut steps, &mut sizes);
        gate.feed(&steps, &sizes, &block.powers, |cell| meter.cell(cell));
    }
    gate.finish(|cell| meter.cell(cell));
    meter.finish()
}
