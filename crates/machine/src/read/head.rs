//! The head of a file: what it is, where its figures come from, what the machine can do.

use super::form::{Allowed, Form, cut};
use super::names::Names;
use crate::id::{SourceTag, TypeId, is_well_formed};
use crate::machine_type::{
    Features, Intermittent, LampKind, MotorKind, RoomCurve, Source, SourceKind, TeethEdges, Threading,
};
use crate::vocabulary::Vocabulary;
use film::{Gauge, SoundKind};
use indexmap::IndexMap;
use units::{FramesPerSecond, Hertz, Metres, Volts};

/// What stands before the lists.
pub(super) struct Head {
    pub id: TypeId,
    pub name: String,
    pub edition: u32,
    pub gauge: Gauge,
    pub words: String,
    pub features: Features,
    pub sources: IndexMap<SourceTag, Source>,
}

impl Vocabulary for Gauge {
    const ALL: &'static [Self] = &Gauge::ALL;
    fn word(self) -> &'static str {
        self.id()
    }
}

impl Vocabulary for SoundKind {
    const ALL: &'static [Self] = &[Self::Optical, Self::Magnetic];
    fn word(self) -> &'static str {
        self.id()
    }
}

pub(super) fn head(top: &Form<'_, '_>, names: &Names<'_>, file_name: &str) -> Head {
    let head = Head {
        id: top.id("id"),
        name: top.text("name"),
        edition: top.whole("edition", 1, 9999),
        gauge: top.word("gauge"),
        words: top.text("words"),
        sources: sources(top),
        features: features(top, names),
    };
    check_stem(top, &head.id, file_name);
    head
}

/// A booth finds a type by its file; so the stem of the file is the id.
fn check_stem(top: &Form<'_, '_>, id: &str, file_name: &str) {
    let name = file_name.rsplit(['/', '\\']).next().unwrap_or(file_name);
    if let Some(stem) = name.strip_suffix(".toml")
        && !id.is_empty()
        && stem != id
    {
        let right = format!("write id = \"{}\", or call the file {id}.toml", cut(stem));
        top.note("id", format!("the id `{id}` is not the name of the file"), right);
    }
}

fn sources(top: &Form<'_, '_>) -> IndexMap<SourceTag, Source> {
    let right = "add a table [sources] that says what each tag stands for";
    let Some(form) = top.form("sources", "[sources]", right) else { return IndexMap::new() };
    let mut sources = IndexMap::new();
    for (tag, value) in form.entries() {
        if !is_well_formed(tag.get_ref()) {
            let what = format!("`{}` cannot be a source tag", cut(tag.get_ref()));
            form.desk.note(&tag.span(), what, "use small letters, digits and single hyphens, such as cp");
        }
        let words = value.get_ref().as_str().unwrap_or_default().trim();
        let kind = source_kind(words).unwrap_or_else(|| {
            let what = format!("source `{}` does not say what sort of source it is", cut(tag.get_ref()));
            form.desk.note(&value.span(), what, SOURCE_FORMS);
            SourceKind::FromMemory
        });
        sources.insert(SourceTag::new(tag.get_ref()), Source { kind, words: words.to_owned() });
    }
    sources
}

/// The ways in which a source may be given.
const SOURCE_FORMS: &str = "write \"standard: …\", \"handbook: …\", \"common practice, no source\", \
    \"from memory\", \"invented for the demo\" or \"computed: …\"";

/// Tells the sort of a source from how its words begin; a standard, a handbook and a sum must also say which.
fn source_kind(words: &str) -> Option<SourceKind> {
    SourceKind::ALL.iter().copied().find(|kind| {
        let Some(rest) = words.strip_prefix(kind.as_str()) else { return false };
        let said = rest.strip_prefix(':').is_some_and(|said| !said.trim().is_empty());
        match kind {
            SourceKind::Standard | SourceKind::Handbook | SourceKind::Computed => said,
            SourceKind::CommonPractice | SourceKind::FromMemory | SourceKind::Invented => {
                said || rest.is_empty()
            }
        }
    })
}

fn features(top: &Form<'_, '_>, names: &Names<'_>) -> Features {
    let right = "add a table [features] that says what the machine can do";
    let empty = toml::de::DeTable::new();
    let form = top.form("features", "[features]", right);
    let given = form.is_some();
    // With no table every getter would only echo that it is missing; an empty one is read and dropped.
    let quiet = super::desk::Desk::new("");
    let form = form.unwrap_or_else(|| Form::new(&quiet, "[features]", 0..0, &empty));
    let faults = form.desk.count();
    let features = Features {
        threading: form.word::<Threading>("threading"),
        intermittent: form.word::<Intermittent>("intermittent"),
        claw_teeth: form.maybe_whole("claw_teeth", 1, 8),
        sound: form.words("sound"),
        room_curve: form.maybe_word::<RoomCurve>("room_curve"),
        teeth: form.word::<TeethEdges>("teeth"),
        motor: form.word::<MotorKind>("motor"),
        lamp: form.word::<LampKind>("lamp"),
        shutter_blades: form.whole("shutter_blades", 1, 8),
        speeds: speeds(&form),
        still_frame: form.yes_or_no("still_frame"),
        reverse: form.yes_or_no("reverse"),
        changeover: form.yes_or_no("changeover"),
        max_spool: Metres::from_feet(form.number("max_spool_ft", Allowed::Positive { most: 20_000.0 })),
        mains: Volts::new(form.number("mains_volts", Allowed::Positive { most: 1000.0 })),
        mains_frequency: Hertz::new(form.number("mains_hz", Allowed::Between { least: 50.0, most: 60.0 })),
        source: form.source(names),
    };
    if given {
        if form.desk.count() == faults {
            check_claw(&form, &features);
        }
        form.finish();
    }
    features
}

fn speeds(form: &Form<'_, '_>) -> Vec<FramesPerSecond> {
    let mut speeds = Vec::new();
    for value in form.list_needed("speeds_fps", "add speeds_fps = [24]") {
        if let Some(speed) = form.number_in("speeds_fps", value, Allowed::Between { least: 1.0, most: 60.0 })
        {
            speeds.push(FramesPerSecond::new(speed));
        }
    }
    if speeds.is_empty() && form.has("speeds_fps") {
        form.note("speeds_fps", "no speed is given", "write at least one, such as speeds_fps = [24]");
    }
    speeds
}

fn check_claw(form: &Form<'_, '_>, features: &Features) {
    let claw = features.intermittent == Intermittent::Claw;
    if claw && !form.has("claw_teeth") {
        form.note("intermittent", "a claw without `claw_teeth`", "add claw_teeth = how many teeth it has");
    }
    if !claw && form.has("claw_teeth") {
        form.note("claw_teeth", "`claw_teeth` without a claw", "leave it out");
    }
}
