//! The written reference of the format says what the reader does.
#![allow(clippy::unwrap_used)]

use machine::{
    Basis, Better, CareKind, CauseKind, Clock, Danger, FilmSide, Hand, Intermittent, LARGEST_FILE, LampKind,
    LifeClock, MOST_LINES, MachineState, MotorKind, Noticed, PartGroup, PrintSort, ReadingUnit, ReferTo,
    RemedyKind, RunOn, Shape, SourceKind, SpoolEnd, Swap, TeethEdges, Threading, Trigger,
};

fn reference() -> String {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs/machine-types.md");
    std::fs::read_to_string(path).unwrap()
}

#[test]
fn the_whole_file_of_the_reference_reads() {
    let text = reference();
    let example = text.split("```toml\n").nth(1).unwrap().split("```").next().unwrap();
    if let Err(report) = machine::read("example-16mm.toml", example) {
        panic!("{report}");
    }
}

#[test]
fn every_word_of_the_format_is_in_the_reference() {
    let text = reference();
    let mut words: Vec<String> = Vec::new();
    macro_rules! all {
        ($($list:ty),+) => { $(words.extend(<$list>::ALL.iter().map(ToString::to_string));)+ };
    }
    all!(
        Basis,
        Better,
        CareKind,
        Clock,
        Danger,
        FilmSide,
        Hand,
        Intermittent,
        LampKind,
        MachineState,
        MotorKind
    );
    all!(CauseKind, Noticed, PrintSort, ReferTo, RemedyKind, RunOn, Swap);
    all!(PartGroup, ReadingUnit, Shape, SpoolEnd, TeethEdges, Threading);
    words.extend(Trigger::PLAIN.iter().map(ToString::to_string));
    words.extend(film::Gauge::ALL.iter().map(|gauge| gauge.id().to_owned()));
    for word in words {
        assert!(text.contains(&format!("`{word}`")), "the reference does not name `{word}`");
    }
    for clock in LifeClock::ALL {
        assert!(text.contains(&format!("{{ {clock} = ")), "the reference does not show {clock}");
    }
    for kind in SourceKind::ALL {
        assert!(text.contains(&format!("`{kind}")), "the reference does not name {kind}");
    }
}

#[test]
fn the_limits_of_a_file_are_as_the_reference_says() {
    assert_eq!((LARGEST_FILE, MOST_LINES), (1024 * 1024, 50_000));
    assert!(reference().contains("at most 1 MiB and 50,000 lines"));
}

/// Every key that any shipped file uses stands in the reference.
#[test]
fn every_key_in_use_is_in_the_reference() {
    fn keys(value: &toml::Value, into: &mut std::collections::BTreeSet<String>) {
        match value {
            toml::Value::Table(table) => {
                for (key, inner) in table {
                    into.insert(key.clone());
                    keys(inner, into);
                }
            }
            toml::Value::Array(array) => array.iter().for_each(|inner| keys(inner, into)),
            _ => {}
        }
    }
    let text = reference();
    for (file, toml_text) in machine::SHIPPED {
        let mut table: toml::Table = toml_text.parse().unwrap();
        // The tags of a file are its own.
        table.remove("sources");
        let mut found = std::collections::BTreeSet::new();
        keys(&toml::Value::Table(table), &mut found);
        for key in found {
            let named = [format!("`{key}`"), format!("{key} = "), format!("[[{key}]]"), format!("[{key}]")];
            assert!(
                named.iter().any(|name| text.contains(name)),
                "{file}: the reference does not name {key}"
            );
        }
    }
}
