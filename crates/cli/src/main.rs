//! The binary `unladen`.
fn main() {}
