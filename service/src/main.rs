//! The `sashwright` program: parses its arguments and hands them to the library.

use std::io::{stderr, stdout};
use std::process::ExitCode;

use clap::Parser;
use mimalloc::MiMalloc;
use sashwright::arguments::Arguments;
use sashwright::command;

/// Plans are made of many small lists: with the system's allocator they take a fifth longer.
#[global_allocator]
static ALLOCATOR: MiMalloc = MiMalloc;

fn main() -> ExitCode {
    command::run(Arguments::parse(), &mut stdout(), &mut stderr()).into()
}
