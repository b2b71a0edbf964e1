//! Keeps the directions between the rooms: the manifests against `rooms.toml`, and the pure rooms pure.

#![allow(clippy::unwrap_used)]

use std::{
    collections::{BTreeMap, BTreeSet},
    fs,
    path::{Path, PathBuf},
};

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).ancestors().nth(2).unwrap().to_owned()
}

fn read_toml(path: &Path) -> toml::Table {
    fs::read_to_string(path).unwrap().parse().unwrap()
}

/// Returns what each room may use, by name.
fn allowed() -> BTreeMap<String, BTreeSet<String>> {
    read_toml(&root().join("rooms.toml"))
        .into_iter()
        .filter(|(name, _)| name != "effects")
        .map(|(name, room)| {
            let may_use = room["may_use"].as_array().unwrap();
            (name, may_use.iter().map(|used| used.as_str().unwrap().to_owned()).collect())
        })
        .collect()
}

fn rooms_on_disk() -> BTreeSet<String> {
    fs::read_dir(root().join("crates"))
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect()
}

#[test]
fn every_room_stands_in_the_table() {
    assert_eq!(rooms_on_disk(), allowed().into_keys().collect());
}

#[test]
fn no_room_uses_what_it_may_not() {
    let allowed = allowed();
    let rooms: BTreeSet<_> = allowed.keys().cloned().collect();
    for (room, may_use) in &allowed {
        let manifest = read_toml(&root().join("crates").join(room).join("Cargo.toml"));
        for section in ["dependencies", "build-dependencies"] {
            let Some(used) = manifest.get(section).and_then(toml::Value::as_table) else { continue };
            for name in used.keys().filter(|name| rooms.contains(*name)) {
                assert!(may_use.contains(name), "`{room}` uses `{name}`, which rooms.toml does not allow");
            }
        }
    }
}

#[test]
fn the_table_goes_strictly_downward() {
    let allowed = allowed();
    for (room, may_use) in &allowed {
        for used in may_use {
            assert!(!allowed[used].contains(room), "`{room}` and `{used}` may use each other");
            for below in &allowed[used] {
                assert!(
                    may_use.contains(below),
                    "`{room}` may use `{used}` but not `{below}`, on which `{used}` stands"
                );
            }
        }
    }
}

/// Returns the sources of a room without its tests.
fn sources(folder: &Path, into: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        if path.is_dir() {
            if name != "tests" {
                sources(&path, into);
            }
        } else if path.extension().is_some_and(|ending| ending == "rs")
            && name != "tests.rs"
            && !name.ends_with("_tests.rs")
        {
            into.push(path);
        }
    }
}

#[test]
fn pure_rooms_stay_pure() {
    let table = read_toml(&root().join("rooms.toml"));
    let effects = table["effects"].as_table().unwrap();
    let with_effects: BTreeSet<_> =
        effects["rooms"].as_array().unwrap().iter().map(|room| room.as_str().unwrap()).collect();
    let mut found = Vec::new();
    let mut read = 0;
    for room in rooms_on_disk().iter().filter(|room| !with_effects.contains(room.as_str())) {
        let mut files = Vec::new();
        sources(&root().join("crates").join(room).join("src"), &mut files);
        for file in files {
            read += 1;
            let text = fs::read_to_string(&file).unwrap();
            // A test module inside a source file stands at its end.
            let text = text.split("#[cfg(test)]").next().unwrap();
            for rule in effects["forbidden"].as_array().unwrap() {
                let (forbidden, why) = (rule["text"].as_str().unwrap(), rule["why"].as_str().unwrap());
                for (number, _) in text.lines().enumerate().filter(|(_, line)| {
                    let code = line.split("//").next().unwrap();
                    code.contains(forbidden)
                }) {
                    found.push(format!("{}:{}: `{forbidden}`: {why}", file.display(), number + 1));
                }
            }
        }
    }
    assert!(read > 20, "the walk over the sources found only {read} files");
    assert!(found.is_empty(), "{}", found.join("\n"));
}
