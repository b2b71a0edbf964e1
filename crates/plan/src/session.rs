//! One bench slot for itself: what it is best to do in it, if each piece of work brings a known gain.

use crate::problem::{Problem, gcd};
use crate::work_path::May;

/// A piece of work that could be done in a slot.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Offer {
    pub job: usize,
    /// What doing it here brings.
    pub gain: f64,
    pub may: May,
}

/// The machine and the preparation that several pieces of work share, and the pieces.
struct Shared {
    minutes: i64,
    cost: f64,
    must: bool,
    offers: Vec<usize>,
}

/// Returns the least cost of a session (opening and preparations less gains; nothing where none is held), and which
/// offers are taken. Exact. Infinite where what must be done does not fit.
pub(crate) fn best_session(problem: &Problem<'_>, bench: usize, offers: &[Offer]) -> (f64, Vec<usize>) {
    let must = offers.iter().any(|offer| offer.may == May::Must);
    let worth: Vec<usize> = (0..offers.len())
        .filter(|&at| match offers[at].may {
            May::Must => true,
            May::Either => offers[at].gain > 0.0,
            May::Not => false,
        })
        .collect();
    if worth.is_empty() {
        return (0.0, Vec::new());
    }
    let shared = share(problem, offers, &worth);
    let there = problem.benches[bench].minutes;
    let (minutes, value, taken) = without_clock(problem, offers, &shared);
    let (value, taken) =
        if minutes <= there { (value, taken) } else { against_the_clock(problem, offers, &shared, there) };
    let value = value + problem.benches[bench].opening;
    if must || value < 0.0 { (value, taken) } else { (0.0, Vec::new()) }
}

fn share(problem: &Problem<'_>, offers: &[Offer], worth: &[usize]) -> Vec<Shared> {
    let mut keys: Vec<Option<(usize, usize)>> = Vec::new();
    let mut shared: Vec<Shared> = Vec::new();
    for &at in worth {
        let job = &problem.jobs[offers[at].job];
        let key = job.preparation.map(|preparation| (job.machine, preparation));
        let must = offers[at].may == May::Must;
        if let Some(place) = keys.iter().position(|other| key.is_some() && *other == key) {
            shared[place].offers.push(at);
            shared[place].must |= must;
        } else {
            let (minutes, cost) = job.preparation.map_or((0, 0.0), |it| problem.preparations[it]);
            keys.push(key);
            shared.push(Shared { minutes, cost, must, offers: vec![at] });
        }
    }
    shared
}

/// The best session if there were all the time in the world.
fn without_clock(problem: &Problem<'_>, offers: &[Offer], shared: &[Shared]) -> (i64, f64, Vec<usize>) {
    let (mut minutes, mut value, mut taken) = (0, 0.0, Vec::new());
    for it in shared {
        let net = it.cost - it.offers.iter().map(|&at| offers[at].gain).sum::<f64>();
        if it.must || net < 0.0 {
            minutes +=
                it.minutes + it.offers.iter().map(|&at| problem.jobs[offers[at].job].minutes).sum::<i64>();
            value += net;
            taken.extend(&it.offers);
        }
    }
    (minutes, value, taken)
}

/// The best session that fits: a table over minutes used, piece by piece, each preparation paid once.
fn against_the_clock(
    problem: &Problem<'_>,
    offers: &[Offer],
    shared: &[Shared],
    there: i64,
) -> (f64, Vec<usize>) {
    let lengths = shared.iter().flat_map(|it| {
        it.offers.iter().map(|&at| problem.jobs[offers[at].job].minutes).chain(std::iter::once(it.minutes))
    });
    let unit = lengths.fold(0, gcd).max(1);
    let Ok(room) = usize::try_from(there / unit) else { return (f64::INFINITY, Vec::new()) };
    let steps = |minutes: i64| usize::try_from(minutes / unit).unwrap_or(usize::MAX);
    let mut table = vec![0.0; room + 1];
    // For each group: whether it is taken at each fill; for each of its offers: whether that one is.
    let mut taken_groups: Vec<Vec<bool>> = Vec::with_capacity(shared.len());
    let mut taken_offers: Vec<Vec<Vec<bool>>> = Vec::with_capacity(shared.len());
    for it in shared {
        let mut inside = shifted(&table, steps(it.minutes), it.cost);
        let mut marks = Vec::with_capacity(it.offers.len());
        for &at in &it.offers {
            let with = shifted(&inside, steps(problem.jobs[offers[at].job].minutes), -offers[at].gain);
            let must = offers[at].may == May::Must;
            let mark: Vec<bool> =
                inside.iter().zip(&with).map(|(without, with)| must || with < without).collect();
            inside = inside.iter().zip(&with).map(|(&a, &b)| if must { b } else { a.min(b) }).collect();
            marks.push(mark);
        }
        let mark: Vec<bool> =
            table.iter().zip(&inside).map(|(without, with)| it.must || with < without).collect();
        table = table.iter().zip(&inside).map(|(&a, &b)| if it.must { b } else { a.min(b) }).collect();
        taken_groups.push(mark);
        taken_offers.push(marks);
    }
    let value = table[room];
    let mut taken = Vec::new();
    let mut fill = room;
    if value.is_infinite() {
        return (value, taken);
    }
    for (group, it) in shared.iter().enumerate().rev() {
        if !taken_groups[group][fill] {
            continue;
        }
        for (place, &at) in it.offers.iter().enumerate().rev() {
            if taken_offers[group][place][fill] {
                taken.push(at);
                fill -= steps(problem.jobs[offers[at].job].minutes);
            }
        }
        fill -= steps(it.minutes);
    }
    (value, taken)
}

/// The table after something that takes so many steps and costs so much.
fn shifted(table: &[f64], steps: usize, cost: f64) -> Vec<f64> {
    let mut moved = vec![f64::INFINITY; table.len()];
    if steps < table.len() {
        for (to, from) in moved[steps..].iter_mut().zip(table) {
            *to = from + cost;
        }
    }
    moved
}
