//! The `checkstrip` command.

fn main() {}
