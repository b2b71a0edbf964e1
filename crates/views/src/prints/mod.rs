//! Prints laid out: the list, one print with its reels drawn as strips, its condition report, and what a showing must
//! know of them.

mod json;
mod strip;
mod warned;
mod words;

pub use json::{print as print_json, rows as rows_json, warnings as warnings_json};
pub use strip::strip;
pub use warned::{barred_line, warnings};
pub use words::{decision, deed_in_words, flaw, found_in_short, grade_in_words, place, reels, wound};

use crate::{
    Block, Mark, Place, Sheet, Table, Words, common,
    wording::{self, counted},
};
use booth::prints::{Appeared, Change, Gravity, OnMachine, PrintRow, PrintSheet, ReelSheet, gravity};
use film::{
    Gauge,
    print::{Decision, PrintSort, Puller, Verdict},
};
use jiff::civil::Date;
use logbook::{
    Booth,
    booth::{Handling, Inspection},
    fact::{EdgePrint, Fade},
};
use units::{Frames, Metres, show};

/// The cautions at a rewind bench.
pub const CAUTIONS: [&str; 2] = [
    "If its edge says NITRATE, or 35 mm film of before 1952 does not say SAFETY, or film is sticky, bubbled or turning to brown powder: stop. Do not wind, show or ship it. No flame, no lamp near it. Set it apart in a cool, ventilated place and call an archive or the fire authority; local codes come first.",
    "Film edges cut: wear cotton gloves, wind slowly, and let film run between two fingers at its edges only. Vinegar film: air the room, wash hands, keep it apart from other film.",
];

/// The list of all prints.
pub fn list(rows: &[PrintRow<'_>], today: Date) -> Sheet {
    let mut sheet = Sheet::new("Prints");
    let heads = ["Print", "State", "Next showing", "#Reels", "#Passes"];
    let mut table =
        Table::new("The prints, those that are wanted next first", &heads, "No print is in the booth.")
            .tight();
    for row in rows {
        let state = match (row.gravity, row.barred.as_slice()) {
            (Gravity::Fine, _) => Words::new().plain("may be shown"),
            (Gravity::Conditions, _) if row.not_inspected == row.print.reels.len() => {
                Words::new().mark_as(Mark::NoRecord, "not inspected")
            }
            (Gravity::Conditions, _) => Words::new().mark_as(Mark::Attention, "on conditions"),
            (_, []) => Words::new().mark_as(Mark::NotForUse, "on no machine here"),
            (_, barred) => Words::new().mark_as(Mark::NotForUse, format!("do not show {}", reels(barred))),
        };
        let next = row.next.map_or_else(Words::new, |(id, showing)| {
            let day = wording::date(showing.starts.date(), today);
            Words::new().link(Place::Showing(id.clone()), day)
        });
        let cells = vec![
            Words::new().link(Place::Print(row.id.clone()), row.print.title.clone()),
            state,
            next,
            row.print.reels.len().to_string().into(),
            row.print.passes.to_string().into(),
        ];
        table.push(cells, vec![("print", row.id.to_string())]);
    }
    sheet.push(Block::Table(table));
    sheet
}

/// One print with its reels.
pub fn sheet(print: &PrintSheet<'_>, booth: &Booth, today: Date) -> Sheet {
    let mut sheet = Sheet::new(print.print.title.clone());
    sheet.lead(lead(print));
    sheet.push(Block::Facts(particulars(print, today)));
    for reel in &print.reels {
        reel_blocks(&mut sheet, print, reel, booth, today);
    }
    if !print.print.handled.is_empty() {
        sheet.push(Block::Folded(
            "Where it has been".to_owned(),
            Box::new(Block::Table(journeys(print, booth, today))),
        ));
    }
    if print.reels.iter().any(|reel| reel.last.is_some()) {
        sheet.say(Words::new().quiet(strip::KEY));
    }
    sheet.caveats(print.caveats.iter().cloned());
    sheet.push(Block::Cautions(CAUTIONS.map(str::to_owned).to_vec()));
    sheet
}

fn lead(print: &PrintSheet<'_>) -> Words {
    let graver = |least: Gravity| -> Vec<u32> {
        let grave =
            |reel: &&ReelSheet<'_>| reel.at_best.as_ref().is_some_and(|verdict| gravity(verdict) >= least);
        print.reels.iter().filter(grave).map(|reel| reel.reel.reel).collect()
    };
    let (apart, barred) = (graver(Gravity::SetApart), graver(Gravity::NotHere));
    if !apart.is_empty() {
        return Words::new().mark_as(Mark::NotForUse, format!("Set {} apart, and stop here", reels(&apart)));
    }
    if !barred.is_empty() {
        return Words::new().mark_as(Mark::NotForUse, format!("Do not show {}", reels(&barred)));
    }
    if print.reels.iter().all(|reel| reel.last.is_none()) {
        return Words::new().mark_as(Mark::NoRecord, "Nobody has inspected it in this booth");
    }
    let conditions = graver(Gravity::Conditions);
    if conditions.is_empty() {
        return "Nothing that was found speaks against showing it.".into();
    }
    Words::new().mark_as(Mark::Attention, format!("Show {} on conditions", reels(&conditions)))
}

fn particulars(print: &PrintSheet<'_>, today: Date) -> Vec<(String, Words)> {
    let sort = match print.sort {
        PrintSort::Replaceable => "a copy that can be had again",
        PrintSort::Lent => "lent",
        PrintSort::Unique => "the only one",
    };
    let mut facts: Vec<(&str, Words)> = vec![
        ("Gauge", print.print.gauge.clone().into()),
        (
            "Length",
            format!(
                "{}, {}",
                counted(print.print.reels.len(), "reel"),
                show::film_length(print.print.length())
            )
            .into(),
        ),
        ("It is", sort.into()),
    ];
    if !print.print.lender.is_empty() {
        facts.push(("Whose", print.print.lender.clone().into()));
    }
    facts.extend(print.print.made_year.map(|year| ("Made", Words::from(year.to_string()))));
    facts.push(("Passes", format!("{}, {}", print.print.passes, wording::hours(print.print.hours)).into()));
    if let Some(deed) = booth::prints::journey(print.print) {
        let at = wording::moment(deed.at, today);
        facts.push(("Journey", format!("{}, {at}", deed_in_words(deed.deed, &deed.whom)).into()));
    }
    for (id, showing) in print.coming.iter().take(3) {
        let day = wording::date(showing.starts.date(), today);
        facts.push((
            "Wanted",
            Words::new().link(Place::Showing((*id).clone()), format!("{day}, {}", showing.title)),
        ));
    }
    if !print.print.note.is_empty() {
        facts.push(("Note", print.print.note.clone().into()));
    }
    facts.into_iter().map(|(name, words)| (name.to_owned(), words)).collect()
}

fn reel_blocks(sheet: &mut Sheet, print: &PrintSheet<'_>, reel: &ReelSheet<'_>, booth: &Booth, today: Date) {
    sheet.heading(format!("Reel {}", reel.reel.reel));
    if let Some(verdict) = &reel.at_best {
        sheet.say(decision(verdict));
        let reasons = verdict.reasons.iter().map(|reason| {
            let at = reason.at.zip(print.gauge).map(|(at, gauge)| format!(", at {}", place(at, gauge)));
            Words::new()
                .plain(format!("{}{}", words::capital(&reason.words), at.unwrap_or_default()))
                .quiet(format!(" ({})", reason.source))
        });
        let reasons: Vec<Words> = reasons.collect();
        if !reasons.is_empty() {
            sheet.push(Block::List(reasons));
        }
        if let Some(conditions) = conditions(verdict) {
            sheet.say(conditions);
        }
    }
    if let (Some(last), Some(gauge)) = (reel.last, print.gauge) {
        sheet.push(Block::Picture(Box::new(strip(reel, last, gauge))));
    }
    sheet.push(Block::Facts(reel_facts(reel, booth, today)));
    if !reel.on.is_empty() {
        sheet.push(Block::Folded("On which machine".to_owned(), Box::new(Block::Table(machines(&reel.on)))));
    }
    for change in &reel.changes {
        sheet.push(Block::Table(appeared(change, print.gauge, today)));
        sheet.say(change.words.clone());
        if !change.runs.is_empty() {
            let runs = Block::List(change.runs.iter().map(|run| run_in_words(run, booth, today)).collect());
            sheet.push(Block::Folded("The runs between".to_owned(), Box::new(runs)));
        }
    }
    sheet.caveats(reel.caveats.iter().cloned());
}

fn run_in_words(run: &logbook::booth::PrintRun, booth: &Booth, today: Date) -> Words {
    let words = format!("{}: {}", wording::moment(run.at, today), booth.machine_name(&run.machine));
    match run.showing.as_ref().and_then(|id| booth.showings.get_key_value(id)) {
        Some((id, showing)) => {
            Words::new().plain(format!("{words}, ")).link(Place::Showing(id.clone()), showing.title.clone())
        }
        None => Words::new().link(Place::Entry(run.entry), words),
    }
}

/// The conditions on which it may be shown, if there are any.
fn conditions(verdict: &Verdict) -> Option<Words> {
    match &verdict.decision {
        Decision::ShowIf(safeguards) | Decision::OtherMachine(safeguards) if !safeguards.is_empty() => {
            let words: Vec<&str> = safeguards.iter().map(|safeguard| safeguard.words()).collect();
            Some(Words::new().strong("Conditions: ").plain(format!("{}.", words.join("; "))))
        }
        _ => None,
    }
}

fn machines(on: &[OnMachine<'_>]) -> Table {
    let heads = ["Machine", "Pulled by", "Decision", "Speed", "A stop in one pass"];
    let mut table = Table::new("On which machine, and how fast", &heads, "").tight();
    for on in on {
        let puller = match on.puller {
            Puller::Claw { teeth: 1 } => "a claw of one tooth".to_owned(),
            Puller::Claw { teeth } => format!("a claw of {teeth} teeth"),
            Puller::Sprocket => "a stepping sprocket".to_owned(),
        };
        let speed = on.speed.as_ref().map_or_else(String::new, |speed| match speed.fps {
            Some(fps) => format!("{} frames a second. {}", wording::tenths(fps.fps()), speed.words),
            None => speed.words.to_owned(),
        });
        let cells = vec![
            Words::new().link(Place::Machine(on.machine.clone()), on.name),
            puller.into(),
            decision(&on.verdict),
            speed.into(),
            on.stops.to_string().into(),
        ];
        table.push(cells, vec![("machine", on.machine.to_string())]);
    }
    table
}

fn appeared(change: &Change<'_>, gauge: Option<Gauge>, today: Date) -> Table {
    let caption = format!(
        "Found on {} and not on {}",
        wording::moment(change.after.at, today),
        wording::moment(change.before.at, today)
    );
    let mut table = Table::new(caption, &["At", "What"], "");
    for Appeared { found, grade_before } in &change.appeared {
        let at = gauge.map_or_else(String::new, |gauge| place(found.from_frame, gauge));
        let before = grade_before.map(|grade| format!(", before: {}", grade_in_words(grade)));
        table.push(
            vec![at.into(), format!("{}{}", flaw(found), before.unwrap_or_default()).into()],
            Vec::new(),
        );
    }
    table
}

fn reel_facts(reel: &ReelSheet<'_>, booth: &Booth, today: Date) -> Vec<(String, Words)> {
    let mut facts: Vec<(&str, Words)> = Vec::new();
    let length = reel.last.and_then(|last| last.length);
    let words = length.map_or_else(
        || show::film_length(reel.reel.length_m),
        |length| format!("{}, measured", show::film_length(length)),
    );
    facts.push(("Length", words.into()));
    if let Some((end, since)) = reel.wound {
        facts.push(("Wound", format!("{}, {}", wound(end), wording::moment(since, today)).into()));
    }
    if let Some(last) = reel.last {
        let by = common::person_name(booth, &last.by);
        let words = format!("{} by {by}", wording::moment(last.at, today));
        facts.push(("Inspected", Words::new().link(Place::Entry(last.entry), words)));
        facts.extend(looked_at(last).into_iter().map(|(name, words)| (name, words.into())));
    }
    facts.push(("Passes", format!("{}, {} of them since", reel.passes, reel.passes_since).into()));
    if let Some(shrinkage) = reel.inspected.as_ref().and_then(|it| it.shrinkage) {
        facts.push((
            "Shrinkage",
            format!("{:.2} %, the worst of what was measured", shrinkage.percent()).into(),
        ));
    }
    if let Some(level) = reel.inspected.as_ref().and_then(|it| it.acid_level) {
        facts.push(("Acid paper", format!("level {level} of 3").into()));
    }
    facts.into_iter().map(|(name, words)| (name.to_owned(), words)).collect()
}

/// What an inspection says beside its findings and measures.
fn looked_at(last: &Inspection) -> Vec<(&'static str, String)> {
    let base = last.base.map(|base| format!("{base:?}").to_lowercase());
    let edge = last.edge.map(|edge| match edge {
        EdgePrint::Safety => "it says SAFETY",
        EdgePrint::Nitrate => "it says NITRATE",
        EdgePrint::NothingToRead => "nothing to read",
    });
    let fade = last.fade.map(|fade| match fade {
        Fade::None => "none",
        Fade::Slight => "slight",
        Fade::Strong => "strong",
    });
    let smell = last.vinegar.map(|vinegar| if vinegar { "of vinegar" } else { "none" });
    let leader = last.leader.map(|leader| if leader { "there" } else { "missing" });
    let spool = (!last.spool.is_empty()).then(|| last.spool.clone());
    let note = (!last.note.is_empty()).then(|| last.note.clone());
    [
        ("Base", base),
        ("Edge", edge.map(str::to_owned)),
        ("Colour gone", fade.map(str::to_owned)),
        ("Smell", smell.map(str::to_owned)),
        ("Leader", leader.map(str::to_owned)),
        ("On", spool),
        ("Said", note),
    ]
    .into_iter()
    .filter_map(|(name, words)| Some((name, words?)))
    .collect()
}

fn journeys(print: &PrintSheet<'_>, booth: &Booth, today: Date) -> Table {
    let mut table = Table::new("Where it has been", &["When", "What", "Wound", "State", "Who"], "").tight();
    for deed in print.print.handled.iter().rev() {
        let Handling { reels: which, condition, .. } = deed;
        let of = if which.is_empty() { String::new() } else { format!(" ({})", reels(which)) };
        let cells = vec![
            Words::new().link(Place::Entry(deed.entry), wording::moment(deed.at, today)),
            format!("{}{of}", deed_in_words(deed.deed, &deed.whom)).into(),
            deed.wound.map_or("", wound).into(),
            condition.clone().into(),
            common::person_name(booth, &deed.by).into(),
        ];
        table.push(cells, Vec::new());
    }
    table
}

/// What is decided of each reel on each machine, and why.
pub fn decisions(print: &PrintSheet<'_>) -> Sheet {
    let mut sheet = Sheet::new(format!("{}: may it be shown?", print.print.title));
    sheet.lead(lead(print));
    let mut table =
        Table::new("Reel by reel, machine by machine", &["Reel", "Machine", "Decision", "Why"], "").tight();
    for reel in &print.reels {
        let on = reel.on.iter().map(|on| (on.name, &on.verdict));
        let anywhere = reel.at_best.iter().filter(|_| reel.on.is_empty()).map(|verdict| ("any", verdict));
        for (machine, verdict) in on.chain(anywhere) {
            let why: Vec<&str> = verdict.reasons.iter().map(|reason| reason.words.as_str()).collect();
            let cells = vec![
                reel.reel.reel.to_string().into(),
                machine.into(),
                decision(verdict),
                why.join("; ").into(),
            ];
            table.push(cells, Vec::new());
        }
    }
    sheet.push(Block::Table(table));
    sheet.caveats(print.caveats.iter().cloned());
    sheet
}

/// The condition report: what a lender gets with the print.
pub fn report(print: &PrintSheet<'_>, booth: &Booth, today: Date) -> Sheet {
    let mut sheet = Sheet::new(format!("Condition report: {}", print.print.title));
    sheet.say(format!("As of {}. {}", wording::date(today, today), booth.settings.name));
    sheet.push(Block::Facts(particulars(print, today)));
    for reel in &print.reels {
        sheet.heading(format!("Reel {}", reel.reel.reel));
        if let (Some(last), Some(gauge)) = (reel.last, print.gauge) {
            sheet.push(Block::Picture(Box::new(strip(reel, last, gauge))));
            sheet.push(Block::Table(findings(last, gauge)));
        }
        sheet.push(Block::Facts(reel_facts(reel, booth, today)));
        for change in &reel.changes {
            sheet.push(Block::Table(appeared(change, print.gauge, today)));
            sheet.say(change.words.clone());
        }
        sheet.caveats(reel.caveats.iter().cloned());
    }
    sheet.say(Words::new().quiet(strip::KEY));
    sheet.caveats(print.caveats.iter().cloned());
    sheet.say("Inspected by:                                   Date:");
    sheet
}

/// Everything that one inspection found.
pub fn findings(last: &Inspection, gauge: Gauge) -> Table {
    let mut table = Table::new(
        "What was found",
        &["From the head", "To", "What", "Note"],
        "Nothing was found on this reel.",
    )
    .tight();
    for found in &last.found {
        let to = found.to_frame.map_or_else(String::new, |to| place(to, gauge));
        let cells = vec![
            place(found.from_frame, gauge).into(),
            to.into(),
            flaw(found).into(),
            found.note.clone().into(),
        ];
        table.push(cells, Vec::new());
    }
    table
}

/// A length in metres as the drawing needs it.
fn metres(frame: Frames, gauge: Gauge) -> f64 {
    let length: Metres = gauge.length_of(frame);
    length.metres()
}
