//! `[[drill]]`, `[[stop_sign]]` and `[preparing]`.

use super::Known;
use crate::read::form::{Allowed, Form};
use crate::trouble::{Drill, Preparing, PrintSort, StopSign};
use units::Seconds;

/// The most lines of a drill: as many as fit on a card in large type.
const MOST_LINES: usize = 7;

pub(super) fn drill(form: &mut Form<'_, '_>, known: &Known<'_, '_>) -> Drill {
    let id = form.named("drill");
    let drill =
        Drill { name: form.text("name"), steps: form.texts("steps"), source: form.source(known.names), id };
    if drill.steps.is_empty() || drill.steps.len() > MOST_LINES {
        let what = format!("{} has {} lines", form.what, drill.steps.len());
        form.note("steps", what, format!("give it 1 to {MOST_LINES}: a card is read at a glance"));
    }
    drill
}

pub(super) fn stop_sign(form: &mut Form<'_, '_>, known: &Known<'_, '_>) -> StopSign {
    let mut prints = form.words("prints");
    if !form.has("prints") {
        prints = PrintSort::ALL.to_vec();
    }
    StopSign {
        words: form.text("words"),
        prints,
        drill: form.reference("drill", &known.names.drills),
        source: form.source(known.names),
    }
}

/// `[preparing]`, which a file with trouble tables must have.
pub(super) fn preparing(top: &Form<'_, '_>, known: &Known<'_, '_>) -> Preparing {
    let right = "add [preparing] with running_minutes, stopped_minutes, unplugged_minutes, cooled_minutes and \
        referral_minutes";
    let Some(form) = top.form("preparing", "[preparing]", right) else { return Preparing::default() };
    let minutes =
        |key| Seconds::from_minutes(form.number(key, Allowed::Between { least: 0.0, most: 100_000.0 }));
    let preparing = Preparing {
        running: minutes("running_minutes"),
        stopped: minutes("stopped_minutes"),
        unplugged: minutes("unplugged_minutes"),
        cooled: minutes("cooled_minutes"),
        referral: minutes("referral_minutes"),
        source: form.source(known.names),
    };
    if !(preparing.stopped <= preparing.unplugged && preparing.unplugged <= preparing.cooled) {
        form.note(
            "cooled_minutes",
            "a colder machine takes less time than a warmer one",
            "let stopped, unplugged and cooled take longer and longer",
        );
    }
    form.finish();
    preparing
}
