//! `[[part]]`: the parts in film-path order.

use super::form::Form;
use super::names::Names;
use crate::care::MachineState;
use crate::part::{
    Caution, DRAWING_HEIGHT, DRAWING_WIDTH, Danger, DrawnPlace, FilmSide, Hand, Part, PartGroup, Shape,
    WhenBad, Who,
};

pub(super) fn parts(top: &Form<'_, '_>, names: &Names<'_>) -> Vec<Part> {
    if !top.has("part") {
        top.note(
            "part",
            "the file has no parts",
            "add [[part]] for each part, in the order in which film meets them",
        );
    }
    let mut parts: Vec<Part> = Vec::new();
    for mut form in top.forms("part") {
        let faults = top.desk.count();
        let part = part(&mut form, names);
        // A stand-in for a misread word would only give echoes of the first fault.
        if top.desk.count() == faults {
            check_order(&form, parts.last(), &part);
            check_edges(&form, &part.place);
        }
        form.finish();
        parts.push(part);
    }
    parts
}

fn part(form: &mut Form<'_, '_>, names: &Names<'_>) -> Part {
    let id = form.named("part");
    let dangers: Vec<Danger> = {
        let right = "add dangers = [\"hot\", …], or dangers = [] if nothing here is hot, live or moving";
        form.list_needed("dangers", right);
        form.words("dangers")
    };
    let cautions = cautions(form);
    check_cautions(form, &dangers, &cautions);
    Part {
        name: form.text("name"),
        group: form.word("group"),
        does: form.text("does"),
        wears: form.text("wears"),
        when_bad: when_bad(form),
        clean: form.maybe_text("clean").unwrap_or_default(),
        oil: form.text("oil"),
        look_for: form.text("look_for"),
        dangers,
        cautions,
        who: who(form),
        carry: form.maybe_text("carry"),
        place: place(form),
        source: form.source(names),
        id,
    }
}

/// `cautions = { hot = "…", moving = "…" }`, each key a danger.
pub(super) fn cautions(form: &Form<'_, '_>) -> Vec<Caution> {
    let Some(table) = form.maybe_form("cautions", format!("`cautions` of {}", form.what)) else {
        return Vec::new();
    };
    let words = Danger::ALL.iter().filter_map(|danger| {
        table.maybe_text(danger.as_str()).map(|words| Caution { danger: *danger, words })
    });
    let cautions = words.collect();
    table.finish();
    cautions
}

/// A step's own cautions, then one for each further danger of its parts that is still there in its state.
pub(super) fn with_cautions_of<'p>(
    own: &[Caution],
    parts: impl Iterator<Item = &'p Part>,
    state: MachineState,
) -> Vec<Caution> {
    let mut cautions = own.to_vec();
    for caution in parts.flat_map(|part| &part.cautions) {
        if state.leaves(caution.danger) && !cautions.iter().any(|c| c.danger == caution.danger) {
            cautions.push(caution.clone());
        }
    }
    cautions
}

/// Every danger has its caution, and every caution belongs to a danger that is declared.
fn check_cautions(form: &Form<'_, '_>, dangers: &[Danger], cautions: &[Caution]) {
    for danger in dangers {
        if !cautions.iter().any(|caution| caution.danger == *danger) {
            let right = format!("add cautions = {{ {danger} = \"what to do about it\" }}");
            form.note("dangers", format!("{} is {danger} but has no caution for it", form.what), right);
        }
    }
    for caution in cautions.iter().filter(|caution| !dangers.contains(&caution.danger)) {
        let danger = caution.danger;
        let what = format!("{} has a caution for `{danger}`, which is not among its dangers", form.what);
        form.note("cautions", what, format!("add \"{danger}\" to dangers"));
    }
}

fn when_bad(form: &Form<'_, '_>) -> WhenBad {
    let right = "add when_bad = { film = \"…\", picture = \"…\", sound = \"…\" }, each where it shows";
    let Some(table) = form.form("when_bad", format!("`when_bad` of {}", form.what), right) else {
        return WhenBad::default();
    };
    let said = WhenBad {
        film: table.maybe_text("film").unwrap_or_default(),
        picture: table.maybe_text("picture").unwrap_or_default(),
        sound: table.maybe_text("sound").unwrap_or_default(),
    };
    if said == WhenBad::default() {
        form.note("when_bad", format!("`when_bad` of {} says nothing", form.what), right);
    }
    table.finish();
    said
}

fn who(form: &Form<'_, '_>) -> Who {
    let right = "add who = { look = \"operator\", adjust = \"technician\", replace = \"technician\" }";
    let Some(table) = form.form("who", format!("`who` of {}", form.what), right) else {
        return Who { look: Hand::Technician, adjust: Hand::Technician, replace: Hand::Technician };
    };
    let who = Who { look: table.word("look"), adjust: table.word("adjust"), replace: table.word("replace") };
    table.finish();
    who
}

fn place(form: &Form<'_, '_>) -> DrawnPlace {
    let right = "add drawn = { x = 500, y = 350, shape = \"roller\", size = 30, film = \"over\" }; \
        leave film out where film does not go";
    let mut place =
        DrawnPlace { x: 0, y: 0, shape: Shape::Box, size: 0, on_film: false, side: FilmSide::Through };
    let Some(table) = form.form("drawn", format!("`drawn` of {}", form.what), right) else { return place };
    place.x = table.whole("x", 0, u32::from(DRAWING_WIDTH)) as u16;
    place.y = table.whole("y", 0, u32::from(DRAWING_HEIGHT)) as u16;
    place.shape = table.word("shape");
    place.size = table.whole("size", 1, u32::from(DRAWING_WIDTH)) as u16;
    if let Some(side) = table.maybe_word("film") {
        place.on_film = true;
        place.side = side;
    }
    table.finish();
    place
}

/// A part lies wholly inside the drawing.
fn check_edges(form: &Form<'_, '_>, place: &DrawnPlace) {
    let half = place.size / 2;
    let inside = |middle: u16, most: u16| middle >= half && middle.saturating_add(half) <= most;
    if !inside(place.x, DRAWING_WIDTH) || !inside(place.y, DRAWING_HEIGHT) {
        let right =
            format!("keep it inside {DRAWING_WIDTH} by {DRAWING_HEIGHT}, half its size from each edge");
        form.note("drawn", format!("{} is drawn over the edge", form.what), right);
    }
}

/// Groups follow each other as in the list of groups, and film runs only through the first four of them.
fn check_order(form: &Form<'_, '_>, before: Option<&Part>, part: &Part) {
    if let Some(before) = before
        && part.group < before.group
    {
        let what = format!(
            "{} of group `{}` stands after `{}` of group `{}`",
            form.what, part.group, before.id, before.group
        );
        let order = PartGroup::ALL.iter().map(|group| group.as_str()).collect::<Vec<_>>().join(", ");
        form.note("group", what, format!("keep the order {order}"));
    }
    if part.place.on_film && part.group > PartGroup::TakeUp {
        let what = format!("{} of group `{}` is drawn on the film", form.what, part.group);
        form.note("drawn", what, "leave film out of drawn, or move the part to the film path");
    }
}
