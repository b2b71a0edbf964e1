//! A hall's answers laid out: lens, light, seats, sound, power, and the hall drawn to scale.

mod drawing;
mod figures;
mod light;

pub use drawing::drawing;
pub use light::light;

use crate::sheet::{Block, Sheet, Table};
use crate::words::Words;
use figures::{angle, decibels, distance, height, judged, number, one_decimal, percent, whole};
use units::{Degrees, Metres};
use venue::{
    CountBand, Fit, Judgement, Keystone, LensAnswer, Missing, PowerAnswer, SightAnswer, SightLine, SolvedFor,
    SoundAnswer, Working,
};

/// Names and what belongs to them.
fn facts(pairs: Vec<(&str, String)>) -> Block {
    Block::Facts(pairs.into_iter().map(|(name, words)| (name.to_owned(), words.into())).collect())
}

/// Formula and source of each sum.
fn workings(workings: &[Working]) -> impl Iterator<Item = Words> + '_ {
    workings.iter().map(|working| {
        Words::new()
            .strong(working.gives)
            .plain(format!(": {}", working.formula))
            .quiet(format!(" ({})", working.source))
    })
}

/// What an answer needs before it can be given.
pub fn missing(title: &str, missing: &Missing) -> Sheet {
    let mut sheet = Sheet::new(title);
    sheet.say(format!("Not told yet: {} needs {}.", missing.question, missing.needs));
    sheet
}

/// Lays out throw, lens and picture.
pub fn lens(answer: &LensAnswer) -> Sheet {
    let mut sheet = Sheet::new("Lens and picture");
    let picture = format!("{} by {}", distance(answer.width), distance(answer.height));
    let focal = millimetres(answer);
    sheet.lead(match answer.solved_for {
        SolvedFor::Lens => format!("A lens of {focal} fills the screen from {}.", distance(answer.throw)),
        SolvedFor::Throw => format!("The lens of {focal} stands {} from the screen.", distance(answer.throw)),
        SolvedFor::Picture => format!("The picture is {picture}."),
        SolvedFor::PictureWithAnyLens => format!("With the lenses of {focal} the picture is {picture}."),
    });
    let mut rows = vec![
        ("Throw", distance(answer.throw)),
        ("Lens", focal),
        ("Picture", picture),
        ("Plate", plate(&answer.format)),
        ("Angle of the beam", angle(answer.angle)),
    ];
    rows.extend(answer.fit.map(|fit| ("On the screen", fit_in_words(fit).to_owned())));
    rows.extend(answer.keystone_down.as_ref().map(|bent| {
        let upwards = bent.angle.high() < Degrees::ZERO;
        (if upwards { "Keystone, upwards" } else { "Keystone, downwards" }, bent_in_words(bent))
    }));
    rows.extend(answer.keystone_sideways.as_ref().map(|bent| ("Keystone, sideways", bent_in_words(bent))));
    rows.extend(answer.focus.map(|depth| {
        let at_gate = depth.at_gate.map(|metres| units::Times::new(metres.as_millimetres()));
        let words =
            format!("± {} mm at the gate, ± {} at the screen", number(at_gate, 3), distance(depth.at_screen));
        ("Depth of focus", words)
    }));
    sheet.push(facts(rows));
    sheet.push(Block::Folded("Other lenses and formats".to_owned(), Box::new(Block::Table(lenses(answer)))));
    sheet.push(Block::Folded("Aperture plates".to_owned(), Box::new(Block::Table(plates(answer)))));
    sheet.caveats(answer.caveats.iter().cloned());
    sheet.because(workings(&answer.workings));
    sheet
}

fn millimetres(answer: &LensAnswer) -> String {
    format!("{} mm", number(answer.focal_mm(), 0))
}

fn plate(format: &venue::Format) -> String {
    let spread = if format.spread > 1.0 { ", spread twofold" } else { "" };
    format!(
        "{} {}: {:.2} by {:.2} mm{spread}",
        format.gauge,
        format.format,
        format.plate_width.as_millimetres(),
        format.plate_height.as_millimetres()
    )
}

fn fit_in_words(fit: Fit) -> &'static str {
    match fit.judgement {
        Judgement::Above => "spills over the edge",
        Judgement::CannotTell => "may spill over the edge",
        Judgement::Within | Judgement::Below => "fits",
    }
}

fn bent_in_words(bent: &Keystone) -> String {
    let verdict = judged(bent.judgement, "within 5 %", "more than 5 %");
    let size = if bent.angle.may_be(Degrees::ZERO) { bent.angle } else { bent.angle.map(Degrees::abs) };
    let mut words = format!("{} at {}, {verdict}", percent(bent.keystone), angle(size));
    if bent.screen_tilt.likely().degrees() > 0.0 {
        words.push_str(&format!("; tilt the screen by {} for 3 %", angle(bent.screen_tilt)));
    }
    words.push_str(&format!("; 3 % is reached at {}", angle(bent.angle_at_aim)));
    words
}

fn lenses(answer: &LensAnswer) -> Table {
    let mut table = Table::new("At this throw", &["#Lens", "#Width", "#Height", "On the screen"], "");
    for row in &answer.lenses {
        let fit = row.fit.map_or("", fit_in_words);
        let focal = format!("{} mm", row.focal_mm);
        table.push(
            vec![focal.into(), distance(row.width).into(), distance(row.height).into(), fit.into()],
            vec![("focal", row.focal_mm.to_string())],
        );
    }
    table
}

fn plates(answer: &LensAnswer) -> Table {
    let mut table =
        Table::new("With this lens and throw", &["Format", "#Plate", "#Width", "#Height", "Source"], "");
    for row in &answer.formats {
        let plate = format!(
            "{:.2} by {:.2} mm",
            row.format.plate_width.as_millimetres(),
            row.format.plate_height.as_millimetres()
        );
        let cells = [row.format.format.to_owned(), plate, distance(row.width), distance(row.height)];
        let cells = cells.into_iter().map(Words::from).chain([row.format.source.into()]).collect();
        table.push(cells, vec![("format", row.format.format.to_owned())]);
    }
    table
}

/// Lays out seats, sight lines and the light path.
pub fn sight(answer: &SightAnswer) -> Sheet {
    let mut sheet = Sheet::new("Seats");
    let mut lead = format!("{} of {} seats are good.", count(answer.good), answer.seats);
    if answer.good_without_heads != answer.good {
        lead.push_str(&format!(" {} would be if nobody sat in front.", count(answer.good_without_heads)));
    }
    sheet.lead(lead);
    let last = answer.rows.last().map_or(0, |row| row.row);
    let mut rows = vec![
        ("Nearest", format!("row 1, {}", distance(answer.nearest))),
        ("Farthest", format!("row {last}, {}", distance(answer.farthest))),
        ("Steepest", format!("{} up to the picture's upper edge", angle(answer.steepest))),
        ("Widest", format!("{} off the screen's normal", angle(answer.widest))),
    ];
    if let Some(path) = &answer.light_path {
        if let Some(tightest) = path.tightest() {
            let over = tightest.over_seated;
            let words = if over.low() >= Metres::ZERO {
                format!("clears seated heads; least over row {}, {}", tightest.row, height(over))
            } else if over.high() < Metres::ZERO {
                format!("heads of row {} are in the picture, by {}", tightest.row, height(over.map(|by| -by)))
            } else {
                format!("may catch heads of row {}", tightest.row)
            };
            rows.push(("Light path", words));
        }
        rows.push(("Lens to clear seated heads", height(path.lens_over_seated)));
        rows.push(("Lens to clear people who walk", height(path.lens_over_standing)));
    }
    sheet.push(facts(rows));
    sheet.push(Block::Folded("Row by row".to_owned(), Box::new(Block::Table(seat_rows(answer)))));
    sheet.caveats(answer.caveats.iter().cloned());
    sheet.because(workings(&answer.workings));
    sheet
}

/// A count at the beginning of a sentence.
fn count(band: CountBand) -> String {
    if band.low == band.high {
        band.likely.to_string()
    } else {
        format!("About {} ({} to {})", band.likely, band.low, band.high)
    }
}

fn seat_rows(answer: &SightAnswer) -> Table {
    let heads = [
        "#Row",
        "#Distance",
        "#Picture widths",
        "#Up to the top",
        "#Outermost",
        "Over the head in front",
        "#Good seats",
    ];
    let mut table = Table::new("Row by row", &heads, "").tight();
    for row in &answer.rows {
        let over = row.clearance.map_or_else(
            || "nobody in front".to_owned(),
            |c| {
                format!(
                    "{} mm, {}",
                    number(c.map(|c| units::Times::new(c.as_millimetres())), 0),
                    sight_line(row.sight_line)
                )
            },
        );
        let cells = vec![
            row.row.to_string().into(),
            distance(row.distance).into(),
            number(row.picture_widths, 1).into(),
            angle(row.up_to_top).into(),
            angle(row.outermost).into(),
            over.into(),
            format!("{} of {}", row.good.likely, row.seats).into(),
        ];
        table.push(cells, vec![("row", row.row.to_string())]);
    }
    table
}

fn sight_line(class: SightLine) -> &'static str {
    match class {
        SightLine::Hidden => "hidden",
        SightLine::Least => "just enough",
        SightLine::Acceptable => "acceptable",
        SightLine::Good => "good",
        SightLine::Ideal => "ideal",
    }
}

/// Lays out the loudspeaker in the room.
pub fn sound(answer: &SoundAnswer) -> Sheet {
    let mut sheet = Sheet::new("Sound");
    let enough = match answer.judgement {
        Judgement::Below => "The amplifier is too small",
        Judgement::CannotTell => "The amplifier may be too small",
        Judgement::Within | Judgement::Above => "The amplifier is large enough",
    };
    sheet.lead(format!("{enough}: {} above loud passages at the last row.", decibels(answer.headroom)));
    sheet.push(facts(vec![
        ("Loud passages", format!("{:.0} dB ({})", answer.wanted.decibels(), answer.wanted_source)),
        ("Power that this takes", format!("{} W", number(answer.power_needed, 1))),
        ("First row to last", format!("{} less", decibels(answer.front_to_back))),
        ("Direct and room are equal at", distance(answer.critical_distance)),
    ]));
    let heads = ["#Row", "#Distance", "#At full power", "#Direct over room", "#Delay", "#Frames"];
    let mut table = Table::new("Row by row", &heads, "").tight();
    for row in &answer.rows {
        let name = if row.row == 0 { String::new() } else { row.row.to_string() };
        let cells = [
            name,
            distance(row.distance),
            decibels(row.level),
            decibels(row.direct_over_room),
            format!("{} ms", number(row.delay.map(|time| units::Times::new(time.as_milliseconds())), 0)),
            number(row.delay_frames, 1),
        ];
        table.push(cells.into_iter().map(Words::from).collect(), Vec::new());
    }
    sheet.push(Block::Folded("Row by row".to_owned(), Box::new(Block::Table(table))));
    sheet.caveats(answer.caveats.iter().cloned());
    sheet.because(workings(&answer.workings));
    sheet
}

/// Lays out mains, cable, lamp and fuse.
pub fn power(answer: &PowerAnswer) -> Sheet {
    let mut sheet = Sheet::new("Power");
    let verdict =
        judged(answer.judgement, "within the 3 % that are let pass", "more than the 3 % that are let pass");
    sheet.lead(format!(
        "The cable loses {} ({}), {verdict}.",
        whole(answer.drop, 1, "V"),
        percent(answer.drop_percent)
    ));
    sheet.push(Block::Cautions(vec![answer.caution.to_owned()]));
    let mut rows = vec![
        ("Current", whole(answer.current, 1, "A")),
        ("Cable", format!("{}, {} out and back", answer.size, whole(answer.cable, 2, "Ω"))),
        (
            "At the machine",
            format!("{} ({})", whole(answer.at_machine, 0, "V"), percent(answer.at_machine_percent)),
        ),
    ];
    if let Some(lamp) = answer.lamp {
        rows.push(("A tungsten lamp's light", one_decimal(lamp.light)));
        rows.push(("A tungsten lamp's life", one_decimal(lamp.life)));
    }
    rows.push((
        "Fuse",
        format!("{}, time-lag; for an instant {}", answer.fuse.rating, whole(answer.fuse.inrush, 0, "A")),
    ));
    if let Some(circuits) = answer.circuits {
        let verdict = match circuits.judgement {
            Judgement::Above => "take a second circuit",
            Judgement::CannotTell => "one circuit may be too little: take a second",
            Judgement::Within | Judgement::Below => "one circuit is enough",
        };
        rows.push((
            "Circuit",
            format!(
                "{} of {:.1} that it carries for long: {verdict}",
                whole(circuits.total, 1, "A"),
                circuits.carries
            ),
        ));
    }
    rows.push(("Generator", whole(answer.generator.rating, 0, "W")));
    sheet.push(facts(rows));
    let mut table =
        Table::new("Other sizes of cable", &["Size", "#Loses", "#Of the voltage", "#Longest for 3 %"], "");
    for row in &answer.sizes {
        let cells = vec![
            row.size.into(),
            whole(row.drop, 1, "V").into(),
            percent(row.drop_percent).into(),
            distance(row.longest).into(),
        ];
        table.push(cells, Vec::new());
    }
    sheet.push(Block::Folded("Other sizes of cable".to_owned(), Box::new(Block::Table(table))));
    sheet.caveats(answer.caveats.iter().cloned());
    sheet.because(workings(&answer.workings));
    sheet
}

/// Every answer of a set-up, in the order in which a hall is set up.
pub fn sheets(answers: &booth::hall::HallAnswers) -> Vec<Sheet> {
    let laid = |title, answer: Result<Sheet, &Missing>| answer.unwrap_or_else(|needs| missing(title, needs));
    vec![
        laid("Lens and picture", answers.lens.as_ref().map(lens)),
        laid("Light", answers.light.as_ref().map(light)),
        laid("Seats", answers.sight.as_ref().map(sight)),
        laid("Sound", answers.sound.as_ref().map(sound)),
        laid("Power", answers.power.as_ref().map(power)),
    ]
}
