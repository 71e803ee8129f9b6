//! The `sashwright` program: parses its arguments and hands them to the library.

use std::io::{stderr, stdout};
use std::process::ExitCode;

use clap::Parser;
use sashwright::arguments::Arguments;
use sashwright::command;

fn main() -> ExitCode {
    command::run(Arguments::parse(), &mut stdout(), &mut stderr()).into()
}
