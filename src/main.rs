//! The `headwater` program.
fn main() {}
