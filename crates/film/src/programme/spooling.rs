//! Film on to spools: short reels joined on one, a long picture split over several.

use super::{Item, ProgrammeError};
use crate::{Gauge, SAFE_FILL};
use units::{Frames, Metres};

/// Head leader that a joined spool gets: 6 ft of 16 mm, and as long on the screen for other gauges (common practice,
/// no source).
pub const HEAD_LEADER: Frames = Frames::new(6 * FRAMES_PER_FOOT);
/// The same for a machine that draws the leader in by itself: 10 ft of 16 mm (common practice, no source).
pub const SELF_THREADING_LEADER: Frames = Frames::new(10 * FRAMES_PER_FOOT);
/// Run-out that a joined spool gets: 6 ft of 16 mm (common practice, no source).
pub const RUN_OUT: Frames = Frames::new(6 * FRAMES_PER_FOOT);
/// Black between two items on one spool: 2 ft of 16 mm (common practice, no source).
pub const BLACK_BETWEEN: Frames = Frames::new(2 * FRAMES_PER_FOOT);
/// 16 mm, in which the customs are told.
const FRAMES_PER_FOOT: i64 = Gauge::Mm16.frames_per_foot();

const fn head_leader(self_threading: bool) -> Frames {
    if self_threading { SELF_THREADING_LEADER } else { HEAD_LEADER }
}

/// What is wound on one spool.
#[derive(Debug, Clone, PartialEq)]
pub struct Spooled {
    /// The reels on it, by the places of item and reel.
    pub reels: Vec<(usize, usize)>,
    /// All that is wound on it, leaders and black included.
    pub total: Frames,
}

/// Joins the reels of a programme, in order, on as few spools as hold them safely: to [`SAFE_FILL`] of
/// `brim`, the length that fills the spool to its edge ([`crate::Spool::brim_capacity`]).
///
/// What is kept apart is never joined and keeps its own leaders; so does a reel that alone is too long for a spool,
/// which then stands alone and over-full for the caller to see. Reels of different gauges or speeds are never joined.
/// Taking as many as fit, one spool after the other, gives the fewest, since the order is fixed.
pub fn spool_up(items: &[Item], brim: Metres, self_threading: bool) -> Result<Vec<Spooled>, ProgrammeError> {
    items.iter().try_for_each(super::checked)?;
    let mut spools: Vec<Spooled> = Vec::new();
    for (at, item) in items.iter().enumerate() {
        let most = item.gauge.frames_in(brim * SAFE_FILL)?;
        for (reel, wound) in item.reels.iter().enumerate() {
            let open = spools.last_mut().filter(|spool| joins(items, spool, at));
            let with = open.as_ref().map(|spool| spool.total + BLACK_BETWEEN + wound.picture);
            match (open, with) {
                (Some(spool), Some(total)) if total <= most => {
                    spool.reels.push((at, reel));
                    spool.total = total;
                }
                _ => spools.push(alone(item, at, reel, self_threading)),
            }
        }
    }
    Ok(spools)
}

fn alone(item: &Item, at: usize, reel: usize, self_threading: bool) -> Spooled {
    let wound = &item.reels[reel];
    let total =
        if item.kept_apart { wound.total() } else { head_leader(self_threading) + wound.picture + RUN_OUT };
    Spooled { reels: vec![(at, reel)], total }
}

fn joins(items: &[Item], spool: &Spooled, next: usize) -> bool {
    let Some(&(last, _)) = spool.reels.last() else { return false };
    let (last, next) = (&items[last], &items[next]);
    !last.kept_apart && !next.kept_apart && last.gauge == next.gauge && last.speed == next.speed
}

/// Splits a picture over as few reels as hold it safely, as evenly as whole frames allow. No frame is lost or shown twice.
///
/// Fails where a spool holds no picture beside its leaders.
pub fn split(
    gauge: Gauge,
    picture: Frames,
    brim: Metres,
    self_threading: bool,
) -> Result<Vec<Frames>, ProgrammeError> {
    let leaders = head_leader(self_threading) + RUN_OUT;
    let most = gauge.frames_in(brim * SAFE_FILL)? - leaders;
    if most < Frames::new(1) {
        return Err(ProgrammeError::SpoolTooSmall { brim, leaders: gauge.length_of(leaders) });
    }
    let picture = picture.max(Frames::ZERO).count();
    let n_reels = (picture + most.count() - 1) / most.count();
    Ok((0..n_reels)
        .map(|reel| Frames::new(picture / n_reels + i64::from(reel < picture % n_reels)))
        .collect())
}
