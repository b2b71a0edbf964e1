//! Many questions of one kind, asked on several threads.

use std::{ops::Range, panic::resume_unwind};

/// Asks from 0 up to `count`, each thread with room of its own; the answers do not depend on how many threads there are.
pub(crate) fn ask_all<T: Send, S>(
    count: usize,
    threads: usize,
    room: impl Fn() -> S + Sync,
    ask: impl Fn(usize, &mut S) -> T + Sync,
) -> Vec<T> {
    let answers = |of: Range<usize>| -> Vec<T> {
        let mut room = room();
        of.map(|at| ask(at, &mut room)).collect()
    };
    if threads <= 1 {
        return answers(0..count);
    }
    let share = count.div_ceil(threads).max(1);
    std::thread::scope(|scope| {
        let part = |from: usize| {
            scope.spawn({
                let answers = &answers;
                move || answers(from..(from + share).min(count))
            })
        };
        let parts: Vec<_> = (0..count).step_by(share).map(part).collect();
        // A panic in a thread is this one's, too.
        parts.into_iter().flat_map(|part| part.join().unwrap_or_else(|told| resume_unwind(told))).collect()
    })
}
