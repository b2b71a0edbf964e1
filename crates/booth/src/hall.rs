//! Halls: how each was last set up, and what a set-up says of lens, light, seats, sound and power.

use logbook::{Booth, PlaceId, booth::Setup};
use serde::Serialize;
use std::collections::BTreeMap;
use venue::{FieldError, LensAnswer, LightAnswer, Missing, PowerAnswer, Setting, SightAnswer, SoundAnswer};

/// One hall, and how it was last set up.
#[derive(Clone, Copy, Debug)]
pub struct HallRow<'a> {
    /// Its id.
    pub place: &'a PlaceId,
    /// What people call it.
    pub name: &'a str,
    /// What to know before going there.
    pub notes: &'a str,
    /// How it was last set up.
    pub setup: Option<&'a Setup>,
}

/// The halls, those that were set up first.
pub fn halls(booth: &Booth) -> Vec<HallRow<'_>> {
    let row = |place| hall(booth, place);
    let mut rows: Vec<_> = booth.places.keys().filter_map(row).collect();
    rows.sort_by_key(|row| row.setup.is_none());
    rows
}

/// One hall; none when nobody ever added it.
pub fn hall<'a>(booth: &'a Booth, place: &PlaceId) -> Option<HallRow<'a>> {
    let (place, known) = booth.places.get_key_value(place)?;
    Some(HallRow { place, name: &known.name, notes: &known.notes, setup: booth.setups.get(place) })
}

/// What a set-up says.
#[derive(Clone, Debug)]
pub struct HallAnswers {
    /// What was read.
    pub setting: Setting,
    /// What cannot be read, beside its field.
    pub errors: Vec<FieldError>,
    /// Lens, throw, picture, keystone, focus.
    pub lens: Result<LensAnswer, Missing>,
    /// Light on the screen.
    pub light: Result<LightAnswer, Missing>,
    /// Seats and the light path over them.
    pub sight: Result<SightAnswer, Missing>,
    /// The loudspeaker in the room.
    pub sound: Result<SoundAnswer, Missing>,
    /// Mains, cable, lamp, fuse.
    pub power: Result<PowerAnswer, Missing>,
}

/// Reads a set-up by its fields and answers every question that it can. What cannot be read is left out and told.
pub fn hall_answers(values: &BTreeMap<String, String>) -> HallAnswers {
    let (setting, errors) = Setting::read(values);
    let lens = setting.lens();
    let light = lens.as_ref().map_err(Clone::clone).and_then(|lens| setting.light(lens));
    let sight = lens.as_ref().map_err(Clone::clone).and_then(|lens| setting.sight(lens));
    let sound = setting.sound(sight.as_ref().ok());
    let power = setting.power();
    HallAnswers { setting, errors, lens, light, sight, sound, power }
}

/// An answer, or what it needs, for scripts.
#[derive(Serialize)]
#[serde(untagged)]
pub enum AnswerOrMissing<'a, T> {
    /// The answer.
    Answer(&'a T),
    /// What it needs.
    Missing {
        /// The question that cannot be answered yet.
        missing: &'a Missing,
    },
}

impl<'a, T> From<&'a Result<T, Missing>> for AnswerOrMissing<'a, T> {
    fn from(answer: &'a Result<T, Missing>) -> Self {
        match answer {
            Ok(answer) => Self::Answer(answer),
            Err(missing) => Self::Missing { missing },
        }
    }
}
