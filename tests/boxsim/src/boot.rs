//! A real serial bootloader (STK500v1) to flash through: its image comes with the simulator's sources.

use std::path::{Path, PathBuf};
use std::process::Command;

/// A bootloader's program and where it starts.
#[derive(Clone, Debug)]
pub struct Bootloader {
    /// The whole flash: the bootloader at its place, everything else erased.
    pub flash: Vec<u8>,
    /// Where it starts, in bytes.
    pub start: u32,
}

/// The 2 KB bootloader for this chip, as it lies in the simulator's sources.
///
/// # Panics
/// If it isn't there: a test that needs it has to fail.
#[must_use]
pub fn bootloader() -> Bootloader {
    let metadata = Command::new(env!("CARGO"))
        .args(["metadata", "--format-version", "1", "--offline", "--manifest-path"])
        .arg(Path::new(env!("CARGO_MANIFEST_DIR")).join("Cargo.toml"))
        .output()
        .expect("cargo metadata runs");
    let text = String::from_utf8_lossy(&metadata.stdout);
    // The one package of that name; its manifest's folder holds the simulator.
    let manifest = text
        .split("\"manifest_path\":\"")
        .skip(1)
        .filter_map(|rest| rest.split('"').next())
        .find(|path| path.contains("simavr-ffi-"))
        .expect("the simulator's sources are known to cargo");
    let examples = Path::new(manifest).with_file_name("vendor").join("simavr/examples");
    let mut found = Vec::new();
    look(&examples, &mut found);
    found.sort();
    for path in found {
        let flash = std::fs::read_to_string(&path).map(|text| super::parse_hex(&text)).unwrap_or_default();
        let start = flash.iter().position(|byte| *byte != 0xFF).unwrap_or(0);
        // 2 KB below the top of 32 KB, for the smaller chip's page of 128 bytes.
        if start == 0x7800 && flash.len() <= 0x8000 {
            return Bootloader { flash, start: 0x7800 };
        }
    }
    panic!("no bootloader at 0x7800 under {}", examples.display());
}

fn look(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(folder).into_iter().flatten().flatten() {
        let path = entry.path();
        if path.is_dir() {
            look(&path, found);
        } else if path.extension().is_some_and(|ending| ending == "hex" || ending == "ihex") {
            found.push(path);
        }
    }
}
