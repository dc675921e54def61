//! Compiles the box's own recogniser and what goes with it for the laptop: the same C files as in the
//! box, so that a replay is the box's decision.

use std::path::Path;

fn main() -> std::io::Result<()> {
    let folder = Path::new("assets/firmware/core");
    let mut files = Vec::new();
    for entry in std::fs::read_dir(folder)? {
        let path = entry?.path();
        if path.extension().is_some_and(|extension| extension == "c") {
            files.push(path);
        }
    }
    files.sort(); // the folder's own order differs from machine to machine
    println!("cargo:rerun-if-changed={}", folder.display());
    println!("cargo:rerun-if-changed=build.rs");
    let mut build = cc::Build::new();
    // A debug build replays recordings, too: at level 0 a tick takes ten times as long.
    if std::env::var("OPT_LEVEL").is_ok_and(|level| level == "0") {
        build.opt_level(2);
    }
    build.files(files).flag("-std=c99").warnings(true).extra_warnings(true).compile("spokewire_core");
    Ok(())
}
