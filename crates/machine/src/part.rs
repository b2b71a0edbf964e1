//! Parts of a machine, in the order in which film meets them.

use crate::id::{SlotId, SourceTag};
use crate::vocabulary::vocabulary;
use serde::Serialize;

vocabulary! {
    /// Where in the machine a part belongs; the order of a file's parts follows the order of this list.
    PartGroup {
        /// What holds, brakes and rewinds the supply spool.
        Supply = "supply",
        /// From the first roller to the lower loop: picture side of the film path.
        FilmPath = "film-path",
        /// Sound drum, rollers, lamp, optics or heads.
        Sound = "sound",
        /// What draws the film off and winds it up.
        TakeUp = "take-up",
        /// Lamp, lamphouse, optics before the gate, cooling.
        Light = "light",
        /// Motor, belts, gears, oil.
        Drive = "drive",
        /// Mains, fuses, supplies, amplifier, loudspeaker.
        Electrical = "electrical",
        /// Case, stand, meter, kit.
        Case = "case",
    }
}

impl PartGroup {
    /// The group's name on a page.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Supply => "Supply",
            Self::FilmPath => "Film path",
            Self::Sound => "Sound",
            Self::TakeUp => "Take-up",
            Self::Light => "Light",
            Self::Drive => "Drive",
            Self::Electrical => "Electrical",
            Self::Case => "Case",
        }
    }
}

vocabulary! {
    /// What at a part can hurt a hand, an eye, a print or the machine.
    Danger {
        /// Burns: lamp, lamphouse, gate after a run.
        Hot = "hot",
        /// Electric shock.
        Live = "live",
        /// Catches fingers, ties, hair.
        Moving = "moving",
        /// Cuts.
        Sharp = "sharp",
        /// Falls or strains a back.
        Heavy = "heavy",
        /// Somebody falls over it in the dark.
        Trip = "trip",
        /// Bursts: a xenon lamp is under pressure hot and cold.
        Pressure = "pressure",
        /// Hurts eyes or skin.
        Light = "light",
        /// Burns film or room.
        Fire = "fire",
        /// Fumes, ozone, liquids.
        Fumes = "fumes",
        /// Does not hurt a person: a wrong touch spoils the part or the print.
        Delicate = "delicate",
    }
}

/// One caution: what hurts, and the words that belong where the hand is.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Caution {
    /// What hurts.
    pub danger: Danger,
    /// What to do about it, in a sentence or two.
    pub words: String,
}

vocabulary! {
    /// Who may do a thing.
    Hand {
        /// Any operator who has been shown the machine.
        Operator = "operator",
        /// An operator authorised in writing for this work (xenon lamps, nitrate film).
        Authorised = "authorised",
        /// A qualified technician.
        Technician = "technician",
    }
}

/// Who may look at, adjust and replace a part.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Who {
    /// Who may look, clean and test.
    pub look: Hand,
    /// Who may set or adjust it.
    pub adjust: Hand,
    /// Who may take it out and fit another.
    pub replace: Hand,
}

/// What is seen and heard when a part is bad; empty where it shows nothing.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize)]
pub struct WhenBad {
    /// On the film itself, or with its transport.
    pub film: String,
    /// On the screen.
    pub picture: String,
    /// From the loudspeaker, or from the machine.
    pub sound: String,
}

vocabulary! {
    /// What a part looks like in the schematic drawing.
    Shape {
        /// A full or filling spool.
        Spool = "spool",
        /// An arm that carries something.
        Arm = "arm",
        /// A smooth roller.
        Roller = "roller",
        /// A toothed sprocket.
        Sprocket = "sprocket",
        /// A shoe or keeper beside a sprocket.
        Shoe = "shoe",
        /// A free loop of film.
        Loop = "loop",
        /// A plate, a channel or a rail that film slides along.
        Plate = "plate",
        /// A claw, lever or restorer.
        Lever = "lever",
        /// A shutter blade or disc.
        Shutter = "shutter",
        /// A lens.
        Lens = "lens",
        /// A sound drum with its flywheel.
        Drum = "drum",
        /// A lamp of any kind.
        Lamp = "lamp",
        /// A mirror or reflector.
        Mirror = "mirror",
        /// A magnetic or optical sound head.
        Head = "head",
        /// A belt, drawn as a line.
        Belt = "belt",
        /// A gear or worm.
        Gear = "gear",
        /// A motor or fan.
        Motor = "motor",
        /// A box: amplifier, supply, case, meter.
        Box = "box",
        /// A cable, plug or fuse.
        Cable = "cable",
        /// A drop of oil: wick, cup, bath.
        Oil = "oil",
    }
}

vocabulary! {
    /// On which side of a part the film passes, as drawn.
    FilmSide {
        /// Above it.
        Over = "over",
        /// Below it.
        Under = "under",
        /// To its left.
        Left = "left",
        /// To its right.
        Right = "right",
        /// Straight through it (a gate, a loop, a spool).
        Through = "through",
    }
}

/// Width of the drawing space.
pub const DRAWING_WIDTH: u16 = 1000;
/// Height of the drawing space; y grows downwards.
pub const DRAWING_HEIGHT: u16 = 700;

/// Where a part stands in the schematic drawing, in a space of 1000 by 700 with the origin at the top left.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct DrawnPlace {
    /// Middle of the part, from the left.
    pub x: u16,
    /// Middle of the part, from the top.
    pub y: u16,
    /// What it looks like.
    pub shape: Shape,
    /// Its diameter, or its longer side.
    pub size: u16,
    /// True for a part that film touches; the film is a line through these in the order of the file.
    pub on_film: bool,
    /// The side on which film passes; `Through` for a part that is not on the film.
    pub side: FilmSide,
}

impl DrawnPlace {
    /// The point where the film line touches the part.
    pub fn touch_point(&self) -> (f64, f64) {
        let (x, y, half) = (f64::from(self.x), f64::from(self.y), f64::from(self.size) / 2.0);
        match self.side {
            FilmSide::Over => (x, y - half),
            FilmSide::Under => (x, y + half),
            FilmSide::Left => (x - half, y),
            FilmSide::Right => (x + half, y),
            FilmSide::Through => (x, y),
        }
    }
}

/// One part of the machine, or a length of film that behaves like one (a loop).
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Part {
    /// Its slot: the place in the machine that a logbook names.
    pub id: SlotId,
    /// Its name in plain words.
    pub name: String,
    /// Where it belongs.
    pub group: PartGroup,
    /// What it does.
    pub does: String,
    /// How it wears or fails.
    pub wears: String,
    /// What is seen and heard when it is bad.
    pub when_bad: WhenBad,
    /// How it is cleaned; empty if it is not.
    pub clean: String,
    /// What oil or grease it gets, sparingly; "none" where none may come.
    pub oil: String,
    /// What a look is for, and how good is told from bad.
    pub look_for: String,
    /// What can hurt here; each has its caution.
    pub dangers: Vec<Danger>,
    /// The cautions, one for each danger at least.
    pub cautions: Vec<Caution>,
    /// Who may look, adjust, replace.
    pub who: Who,
    /// What of it is carried in the case, if anything.
    pub carry: Option<String>,
    /// Where it is drawn.
    pub place: DrawnPlace,
    /// Where what is said of it comes from.
    pub source: SourceTag,
}

impl Part {
    /// True where no operator may adjust or replace: then the tool writes a repair request.
    pub fn needs_technician(&self) -> bool {
        self.who.adjust == Hand::Technician && self.who.replace == Hand::Technician
    }

    /// The caution for one danger, if the part has it.
    pub fn caution(&self, danger: Danger) -> Option<&Caution> {
        self.cautions.iter().find(|caution| caution.danger == danger)
    }
}
