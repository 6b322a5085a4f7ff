//! The terminal program.
fn main() {}
