//! The rest of the sound chain: response, noise and hum, focus, buzz track.

use super::{Known, limits};
use crate::plot;
use crate::sheet::{Block, Sheet, Table};
use crate::wording;
use crate::words::Words;
use booth::sound::{Characteristic, tones_weighed};
use sound::{BuzzReport, BuzzRequest, FocusReport, HumLine, NoiseReport, ResponseReport};
use units::{Decibels, Hertz};

fn db(value: Decibels) -> String {
    format!("{:+.1} dB", value.decibels())
}

/// Common practice, no source.
const IN_A_ROOM: &str = "Single tones stand in waves in a room and differ by several decibels from seat to seat: record \
                         at several places. A room is set with pink noise, by a technician.";

/// Lays out a response, against the characteristic if there is one.
pub fn response(report: &ResponseReport, wanted: Option<&Characteristic>, known: &Known<'_>) -> Sheet {
    let mut sheet = Sheet::new("Response");
    let tones = tones_weighed(report, wanted);
    let off: Vec<String> = tones
        .iter()
        .filter(|one| one.holds == Some(false))
        .map(|one| format!("{:.0} Hz", one.tone.hz.hertz()))
        .collect();
    let weighed = tones.iter().any(|one| one.holds.is_some());
    sheet.lead(match (wanted, off.as_slice()) {
        (None, _) => format!("{} tones against {:.0} Hz.", tones.len(), report.reference_hz.hertz()),
        (Some(_), _) if !weighed => "None of the tones lies where the characteristic speaks.".to_owned(),
        (Some(wanted), []) => {
            format!("Every tone lies within {:.0} dB of {}.", wanted.tolerance.decibels(), wanted.name)
        }
        (Some(wanted), off) => {
            format!(
                "Outside {:.0} dB of {}: {}.",
                wanted.tolerance.decibels(),
                wanted.name,
                wording::listed(off)
            )
        }
    });
    limits(&mut sheet, known);
    sheet.push(Block::Picture(Box::new(plot::response::response(&tones, wanted, report.reference_hz))));
    let reference = format!("{:.0} Hz at {}", report.reference_hz.hertz(), dbfs(report.reference_dbfs));
    sheet.push(Block::Facts(vec![("Reference tone".to_owned(), reference.into())]));
    let in_a_room = wanted.is_some_and(|wanted| wanted.in_a_room).then(|| IN_A_ROOM.to_owned());
    sheet.caveats(report.caveats.iter().cloned().chain(in_a_room));
    sheet.because(wanted.map(|wanted| format!("{} ({})", wanted.name, wanted.source).into()));
    sheet
}

fn dbfs(value: Decibels) -> String {
    format!("{:.1} dB below full scale", value.abs().decibels())
}

/// Lays out noise, hum and distortion.
pub fn noise(report: &NoiseReport, known: &Known<'_>) -> Sheet {
    let mut sheet = Sheet::new("Noise, hum and distortion");
    let hum = match (report.mains_hz, report.hum.len()) {
        (Some(mains), n) if n > 0 => {
            format!("hum of {:.0} Hz mains in {}", mains.hertz(), wording::counted(n, "line"))
        }
        _ => "no hum of the mains stands out".to_owned(),
    };
    let level = report.noise_below_reference_db.map_or_else(
        || format!("Noise {}", dbfs(report.noise_dbfs)),
        |level| format!("Noise {:.1} dB below the reference tone", -level.decibels()),
    );
    sheet.lead(format!("{level}; {hum}."));
    limits(&mut sheet, known);
    if !(report.hum.is_empty() && report.frame_lines.is_empty() && report.perforation_lines.is_empty()) {
        sheet.push(Block::Picture(Box::new(plot::levels::noise_lines(report))));
    }
    sheet.push(Block::Facts(noise_facts(report)));
    for (name, lines) in
        [("Mains", &report.hum), ("Frames", &report.frame_lines), ("Perforations", &report.perforation_lines)]
    {
        if !lines.is_empty() {
            sheet.heading(name);
            sheet.push(Block::Table(hum_lines(name, lines)));
        }
    }
    sheet.caveats(report.caveats.iter().cloned());
    sheet.because(["A-weighting: IEC 61672-1".into()]);
    sheet
}

fn noise_facts(report: &NoiseReport) -> Vec<(String, Words)> {
    let mut facts = vec![
        ("Noise, 20 Hz to 20 kHz", dbfs(report.noise_dbfs)),
        ("A-weighted", dbfs(report.noise_a_weighted_dbfs)),
    ];
    facts.extend(report.noise_below_reference_db.map(|level| ("Against the reference tone", db(level))));
    facts.extend(
        report
            .noise_a_weighted_below_reference_db
            .map(|level| ("A-weighted, against the reference tone", db(level))),
    );
    facts.extend(report.hum_dbfs.map(|level| ("All mains lines together", dbfs(level))));
    if let Some(tone) = &report.tone {
        facts.push(("Tone", format!("{:.1} Hz at {}", tone.hz.hertz(), dbfs(tone.level_dbfs))));
        let distortion = tone.total_harmonic_distortion_percent.percent();
        facts.push(("Harmonic distortion", format!("{distortion:.2} %")));
    }
    facts.push(("Recorded", format!("{:.1} s", report.recorded_seconds.seconds())));
    facts.into_iter().map(|(name, words)| (name.to_owned(), words.into())).collect()
}

fn hum_lines(name: &str, lines: &[HumLine]) -> Table {
    let mut table = Table::new(name, &["#Rate", "#Multiple", "#Level", "#Above the noise", ""], "");
    for line in lines {
        let note = if line.ambiguous { "mains or film: run at another speed to tell" } else { "" };
        let cells = vec![
            format!("{:.1} Hz", line.hz.hertz()).into(),
            line.multiple.to_string().into(),
            dbfs(line.level_dbfs).into(),
            db(line.above_noise_db).into(),
            note.into(),
        ];
        table.push(cells, Vec::new());
    }
    table
}

/// Lays out sound focus and azimuth.
pub fn focus(report: &FocusReport, known: &Known<'_>) -> Sheet {
    let mut sheet = Sheet::new("Sound focus and azimuth");
    let below = report.end_below_best_db.decibels();
    sheet.lead(if below < 0.25 {
        format!("The {:.0} Hz tone ends at its best.", report.tone_hz.hertz())
    } else {
        format!(
            "The {:.0} Hz tone ends {below:.1} dB under the best of this recording.",
            report.tone_hz.hertz()
        )
    });
    limits(&mut sheet, known);
    sheet.push(Block::Picture(Box::new(plot::levels::focus(report))));
    let mut facts = vec![
        ("Tone", format!("{:.1} Hz", report.tone_hz.hertz())),
        ("Level", dbfs(report.level_dbfs)),
        ("Best", dbfs(report.best_dbfs)),
        ("End under the best", format!("{below:.1} dB")),
    ];
    facts.extend(report.against_low_tone_db.map(|level| ("Against the low tone", db(level))));
    facts.extend(
        report
            .azimuth_degrees_if_azimuth
            .map(|angle| ("If azimuth alone is off", format!("{angle:.2} degrees"))),
    );
    sheet
        .push(Block::Facts(facts.into_iter().map(|(name, words)| (name.to_owned(), words.into())).collect()));
    sheet.push(Block::Cautions(vec![
        "The exciter lamp and its holder are hot; a lens barrel is never opened. What the machine type leaves to a \
         technician goes into a repair request."
            .to_owned(),
    ]));
    sheet.caveats(report.caveats.iter().cloned());
    sheet
}

/// Lays out a buzz track.
pub fn buzz_track(report: &BuzzReport, request: &BuzzRequest, known: &Known<'_>) -> Sheet {
    let mut sheet = Sheet::new("Buzz track");
    let mut said = format!("{}.", report.what_to_do);
    if let Some(first) = said.get_mut(..1) {
        first.make_ascii_uppercase();
    }
    sheet.lead(said);
    limits(&mut sheet, known);
    sheet.push(Block::Picture(Box::new(plot::buzz::buzz_track(report, request))));
    let heard = |level: Option<Decibels>| Words::from(level.map_or_else(|| "not heard".to_owned(), dbfs));
    let tone = |hz: Hertz| format!("Tone of {:.0} Hz", hz.hertz());
    sheet.push(Block::Facts(vec![
        (tone(request.tones.0), heard(report.first_dbfs)),
        (tone(request.tones.1), heard(report.second_dbfs)),
    ]));
    sheet.caveats(report.caveats.iter().cloned());
    sheet
}
