//! A bar for long work, on the error stream, and only where somebody looks.

use indicatif::{ProgressBar, ProgressStyle};
use std::io::{self, IsTerminal};
use store::{Progress, Stage};

/// Does the work and shows how far it is.
pub fn shown<T>(quietly: bool, work: impl FnOnce(&mut dyn FnMut(Progress)) -> T) -> T {
    if quietly || !io::stderr().is_terminal() {
        return work(&mut |_| ());
    }
    let bar = ProgressBar::new(0);
    if let Ok(style) = ProgressStyle::with_template("{msg:<24} {bar:40} {pos}/{len}") {
        bar.set_style(style);
    }
    let done = work(&mut |progress| {
        bar.set_message(words(progress.stage));
        bar.set_length(progress.total);
        bar.set_position(progress.done);
    });
    bar.finish_and_clear();
    done
}

fn words(stage: Stage) -> &'static str {
    match stage {
        Stage::Entries => "copying entries",
        Stage::Attachments => "copying attachments",
        Stage::Check => "reading again",
    }
}
