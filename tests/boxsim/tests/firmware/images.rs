//! The kept images: built again from two different folders they are the same bytes, and small enough.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

/// Flash and static RAM at most, in bytes, as in the Makefile: 12 KiB, and what leaves the stack 820 bytes.
const FLASH_MOST: usize = 12 * 1_024;
const RAM_MOST: usize = 1_228;

fn kept() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../assets/firmware")
}

fn copy(from: &Path, to: &Path) {
    fs::create_dir_all(to).expect("a folder");
    for entry in fs::read_dir(from).expect("a folder").flatten() {
        let (path, name) = (entry.path(), entry.file_name());
        if path.is_dir() {
            if name != "build" {
                copy(&path, &to.join(name));
            }
        } else if path.extension().is_none_or(|ending| ending != "hex") {
            fs::copy(&path, to.join(name)).expect("a copy");
        }
    }
}

fn run(program: &str, arguments: &[&str], folder: &Path) -> String {
    let done = Command::new(program).args(arguments).current_dir(folder).output();
    let done = done.unwrap_or_else(|error| panic!("{program}: {error}. Install gcc-avr, avr-libc and make."));
    assert!(done.status.success(), "{program}: {}", String::from_utf8_lossy(&done.stderr));
    String::from_utf8_lossy(&done.stdout).into_owned()
}

#[test]
fn the_images_come_out_the_same_from_any_folder_and_fit() {
    let root = PathBuf::from(env!("CARGO_TARGET_TMPDIR"));
    for name in ["one", "another/and a longer one"] {
        let folder = root.join("rebuilt").join(name);
        drop(fs::remove_dir_all(&folder));
        copy(&kept(), &folder);
        // Everything: it prints the sizes, and fails where there is too much of either.
        println!("{}", run("make", &[], &folder).lines().last().unwrap_or_default());
        for image in ["box.hex", "probe/probe.hex"] {
            let built = fs::read(folder.join(image)).expect("built");
            let kept = fs::read(kept().join(image)).expect("kept");
            assert!(
                built == kept,
                "{image}: the kept one is not what its sources make. Run make in assets/firmware."
            );
        }
        // Sections and their sizes, by name.
        let sizes = run("avr-size", &["-A", "build/box.elf"], &folder);
        let of = |names: &[&str]| -> usize {
            let lines = sizes.lines().map(|line| line.split_whitespace().collect::<Vec<_>>());
            let wanted = lines.filter(|parts| parts.len() == 3 && names.contains(&parts[0]));
            wanted.filter_map(|parts| parts[1].parse::<usize>().ok()).sum()
        };
        let (flash, ram) = (of(&[".text", ".data"]), of(&[".data", ".bss", ".noinit"]));
        println!("flash {flash} of {FLASH_MOST} bytes, static RAM {ram} of {RAM_MOST} bytes");
        assert!(flash > 1_000 && flash <= FLASH_MOST, "flash {flash} bytes");
        assert!(ram > 100 && ram <= RAM_MOST, "static RAM {ram} bytes");
    }
}
