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
    pub(crate) const ROLLER_SHAFTS: &str = "roller-shafts";
}

#[cfg(test)]
mod tests {
    use super::{quantity, slot, task};

    #[test]
    fn every_name_is_one_of_the_portable_types() {
        let library = machine::shipped();
        let kind = library.get("portable-16mm-halogen").expect("it is shipped");
        let slots = [
            slot::LAMP,
            slot::HOLDER,
            slot::EXCITER,
            slot::TAKE_UP_BELT,
            slot::MAIN_BELT,
            slot::FELT,
            slot::CLAW,
            slot::LOWER_LOOP,
            slot::GATE,
            slot::DRUM,
            slot::CABLE,
            slot::AMPLIFIER,
            slot::GEARS,
            slot::LEAD,
            slot::FUSES,
            slot::PRESSURE_ROLLER,
        ];
        for name in slots {
            assert!(kind.part(name).is_some(), "slot {name}");
        }
        let quantities = [
            quantity::FLUTTER,
            quantity::SPIN_DOWN,
            quantity::TENSION_EMPTY,
            quantity::GATE_FRICTION,
            quantity::HUM,
            quantity::CLAW_NOTCH,
            quantity::SOUND_LEVEL,
            quantity::VOLTS,
            quantity::FREQUENCY,
            quantity::SCREEN_LIGHT,
            quantity::LUMINANCE,
            quantity::LAMP_VOLTS,
            quantity::SPEED,
            quantity::VIBRATION,
        ];
        for name in quantities {
            assert!(kind.limit(name).is_some(), "quantity {name}");
        }
        let tasks = [
            task::LAMP_CHANGE,
            task::EXCITER_CHANGE,
            task::MAIN_BELT_RENEW,
            task::TAKE_UP_BELT_RENEW,
            task::ROLLER_SHAFTS,
        ];
        for name in tasks {
            assert!(kind.task(name).is_some(), "task {name}");
        }
    }

    #[test]
    fn every_stock_item_but_the_odd_lamp_is_a_spare_of_the_portable_type() {
        let library = machine::shipped();
        let kind = library.get("portable-16mm-halogen").expect("it is shipped");
        for id in crate::stores::ids().filter(|id| *id != "lamp-230v-750w") {
            assert!(kind.spare(id).is_some(), "{id}");
        }
        for id in crate::stores::used_up() {
            assert!(kind.consumable(id).is_some(), "{id}");
        }
    }
}
