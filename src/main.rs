//! Spokewire.
fn main() {}
