//! Small sentences that several answers share.

/// A number of things: `1 task`, `3 tasks`.
pub(crate) fn many(n: usize, thing: &str) -> String {
    if n == 1 { format!("1 {thing}") } else { format!("{n} {thing}s") }
}

/// Minutes as people say them: `35 min`, `2 h 05 min`.
pub(crate) fn minutes(minutes: i64) -> String {
    match minutes.max(0) {
        short if short < 60 => format!("{short} min"),
        long => format!("{} h {:02} min", long / 60, long % 60),
    }
}

/// Names in a row: `turnstone`, `turnstone and dunlin`, `turnstone, dunlin and whimbrel`.
pub(crate) fn listed(names: &[&str]) -> String {
    match names {
        [] => String::new(),
        [one] => (*one).to_owned(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

/// The first sentence of what somebody wrote, without its full stop; the rest is read where it stands.
pub(crate) fn first_sentence(words: &str) -> &str {
    words.split_terminator(['.', '!', '?', '\n']).next().unwrap_or(words).trim()
}
