//! Lives drawn from a law, watched as those that were seen.

use crate::{
    curve::{self, NotSeen, Step},
    life::Life,
    record::{Ending, LifeRecord, Lives},
};
use rand::{Rng, RngExt};

/// How the lives that were seen were watched.
pub(super) struct Watch {
    lives: Vec<Watched>,
    /// How likely a watch is to last past an age.
    lasting: Vec<Step>,
}

/// How long one life was watched.
#[derive(Clone, Copy)]
enum Watched {
    /// It was still good then: its watch would have ended there whatever happened.
    Until { entered: f64, end: f64 },
    /// It failed then: how long it would have been watched is not known.
    PastFailure { entered: f64, failed: f64 },
}

impl Watch {
    pub fn of(lives: &Lives) -> Result<Self, NotSeen> {
        let seen = lives.records().iter().flat_map(|record| {
            let entered = record.entered;
            let watched = match record.ending {
                Ending::Censored(end) => Watched::Until { entered, end },
                _ => Watched::PastFailure { entered, failed: record.last_age() },
            };
            std::iter::repeat_n(watched, record.count as usize)
        });
        let lasting = curve::kaplan_meier(&turned(lives), 0.95)?.steps;
        Ok(Self { lives: seen.collect(), lasting })
    }

    /// Draws as many lives, each watched as its model was.
    pub fn draw(&self, law: &Life, rng: &mut impl Rng) -> Lives {
        let records = self.lives.iter().map(|watched| {
            let (entered, end) = match *watched {
                Watched::Until { entered, end } => (entered, end),
                Watched::PastFailure { entered, failed } => (entered, self.end_past(failed, rng.random())),
            };
            let fails = law.fails_at(entered, rng.random());
            let record = if fails <= end { LifeRecord::failed(fails) } else { LifeRecord::censored(end) };
            record.entered_at(entered)
        });
        // A life so short that it rounds to none is no life.
        let records = records.filter(|record| record.fault().is_none());
        Lives::new(records.collect()).expect("faulty records were left out")
    }

    /// An end of watch drawn from those that come past an age; none: it is watched for ever.
    fn end_past(&self, age: f64, luck: f64) -> f64 {
        let past = self.lasting.partition_point(|step| step.age <= age);
        let now = past.checked_sub(1).map_or(1.0, |at| self.lasting[at].value);
        let reached = self.lasting[past..].iter().find(|step| step.value <= luck * now);
        reached.map_or(f64::INFINITY, |step| step.age)
    }
}

/// The same lives with ends of watch for failures, and failures for ends of watch.
fn turned(lives: &Lives) -> Lives {
    let records = lives.records().iter().map(|record| {
        let ending = match record.ending {
            Ending::Censored(age) => Ending::Failed(age),
            Ending::Failed(age) => Ending::Censored(age),
            other => other,
        };
        LifeRecord { ending, ..*record }
    });
    // A watch of no length at all tells nothing of how long watches last.
    let records = records.filter(|record| record.fault().is_none());
    Lives::new(records.collect()).expect("faulty records were left out")
}
