//! The names of slots, tasks, quantities and spares that the stories use; a test holds them against the types.

pub(crate) mod slot {
    pub(crate) const LAMP: &str = "lamp";
    pub(crate) const HOLDER: &str = "lamp-holder";
    pub(crate) const EXCITER: &str = "exciter-lamp";
    pub(crate) const TAKE_UP_BELT: &str = "take-up-belt";
    pub(crate) const MAIN_BELT: &str = "main-belt";
    pub(crate) const FELT: &str = "take-up-clutch";
    pub(crate) const CLAW: &str = "claw";
    pub(crate) const LOWER_LOOP: &str = "lower-loop";
    pub(crate) const GATE: &str = "gate-channel";
    pub(crate) const DRUM: &str = "sound-drum";
    pub(crate) const CABLE: &str = "loudspeaker";
    pub(crate) const AMPLIFIER: &str = "amplifier";
    pub(crate) const GEARS: &str = "gear-train";
    pub(crate) const LEAD: &str = "mains-lead";
    pub(crate) const FUSES: &str = "fuses";
    pub(crate) const PRESSURE_ROLLER: &str = "pressure-roller";
}

pub(crate) mod quantity {
    pub(crate) const FLUTTER: &str = "flutter-weighted";
    pub(crate) const SPIN_DOWN: &str = "drum-spin-down";
    pub(crate) const TENSION_EMPTY: &str = "take-up-tension-empty";
    pub(crate) const GATE_FRICTION: &str = "gate-friction";
    pub(crate) const HUM: &str = "hum-and-noise";
    pub(crate) const CLAW_NOTCH: &str = "claw-notch";
    pub(crate) const SOUND_LEVEL: &str = "sound-level";
    pub(crate) const VOLTS: &str = "mains-volts";
    pub(crate) const FREQUENCY: &str = "mains-frequency";
    pub(crate) const SCREEN_LIGHT: &str = "screen-light";
    pub(crate) const LUMINANCE: &str = "screen-luminance";
    pub(crate) const LAMP_VOLTS: &str = "lamp-volts";
    pub(crate) const SPEED: &str = "speed-error";
    pub(crate) const VIBRATION: &str = "vibration";
}

pub(crate) mod task {
    pub(crate) const LAMP_CHANGE: &str = "lamp-change";
    pub(crate) const EXCITER_CHANGE: &str = "exciter-change";
    pub(crate) const MAIN_BELT_RENEW: &str = "main-belt-renew";
    pub(crate) const TAKE_UP_BELT_RENEW: &str = "take-up-belt-renew";
    pub(crate) const RUBBER_RENEW: &str = "rubber-renew";
    pub(crate) const ROLLER_SHAFTS: &str = "roller-shafts";
}
