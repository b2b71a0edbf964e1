//! Makes `CODE_KEY`: a hash over everything that decides what the fold gives, so that a snapshot of a folded booth is
//! read only by the code that wrote it.

use std::{
    env, fs, io,
    path::{Path, PathBuf},
};

/// The libraries whose values stand in a booth, and the one that writes them down.
const LIBRARIES: [&str; 6] = ["indexmap", "jiff", "postcard", "serde", "smol_str", "uuid"];

fn main() -> io::Result<()> {
    let here = PathBuf::from(env::var_os("CARGO_MANIFEST_DIR").expect("cargo names the folder"));
    let mut key = Fnv::default();
    key.take(env::var("CARGO_PKG_VERSION").expect("cargo names the version").as_bytes());
    for room in ["src", "../units/src"] {
        println!("cargo::rerun-if-changed={room}");
        let mut files = Vec::new();
        collect(&here.join(room), &mut files)?;
        files.sort();
        for file in files {
            let name = file.strip_prefix(&here).expect("every file was found below this folder");
            key.take(name.to_string_lossy().replace('\\', "/").as_bytes());
            key.take(&fs::read(&file)?);
        }
    }
    let lock = here.join("../../Cargo.lock");
    println!("cargo::rerun-if-changed=../../Cargo.lock");
    for version in versions(&fs::read_to_string(lock).unwrap_or_default()) {
        key.take(version.as_bytes());
    }
    println!("cargo::rustc-env=LOGBOOK_CODE_KEY={:016x}", key.0);
    Ok(())
}

fn collect(folder: &Path, files: &mut Vec<PathBuf>) -> io::Result<()> {
    for entry in fs::read_dir(folder)? {
        let path = entry?.path();
        if path.is_dir() {
            collect(&path, files)?;
        } else {
            files.push(path);
        }
    }
    Ok(())
}

/// Returns the locked packages of these libraries, with version and checksum.
fn versions(lock: &str) -> Vec<&str> {
    let named =
        |package: &&str| LIBRARIES.iter().any(|name| package.contains(&format!("name = \"{name}\"\n")));
    lock.split("[[package]]")
        .filter(named)
        .map(|package| package.split("dependencies").next().unwrap_or(package))
        .collect()
}

/// FNV-1a with 64 bits (Fowler, Noll and Vo): it tells versions of code apart, nobody has to be kept from forging one.
struct Fnv(u64);

impl Default for Fnv {
    fn default() -> Self {
        Self(0xcbf2_9ce4_8422_2325)
    }
}

impl Fnv {
    /// Takes in some bytes and their length, so that two pieces never pass for one.
    fn take(&mut self, bytes: &[u8]) {
        for byte in bytes.iter().chain(&(bytes.len() as u64).to_be_bytes()) {
            self.0 = (self.0 ^ u64::from(*byte)).wrapping_mul(0x0000_0100_0000_01b3);
        }
    }
}
