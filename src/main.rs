//! Spokewire's program.

fn main() -> anyhow::Result<()> {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let demo = args.iter().any(|arg| arg == "--demo");
    let file = args.iter().find(|arg| !arg.starts_with('-')).map(Into::into);
    spokewire::shell::run(spokewire::shell::Options { demo, file, ..Default::default() })
}
