//! Many questions of one kind, asked on several threads.

/// Asks from 0 up to `count`, each thread with room of its own; the answers do not depend on how many threads there are.
pub(crate) fn ask_all<T: Send + Default + Clone, S>(
    count: usize,
    threads: usize,
    room: impl Fn() -> S + Sync,
    ask: impl Fn(usize, &mut S) -> T + Sync,
) -> Vec<T> {
    let mut all = vec![T::default(); count];
    let share = count.div_ceil(threads.max(1)).max(1);
    let fill = |first: usize, into: &mut [T]| {
        let mut room = room();
        for (at, answer) in into.iter_mut().enumerate() {
            *answer = ask(first + at, &mut room);
        }
    };
    if threads <= 1 {
        fill(0, &mut all);
    } else {
        std::thread::scope(|scope| {
            for (chunk, into) in all.chunks_mut(share).enumerate() {
                let fill = &fill;
                scope.spawn(move || fill(chunk * share, into));
            }
        });
    }
    all
}
