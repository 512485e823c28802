//! The `stonewear` program.

fn main() {}
