//! Runs the program as a person would.

use std::io::Write;
use std::process::{Command, Output, Stdio};

/// How a command ended: exit status, standard output, standard error.
pub type Ended = (i32, String, String);

/// The program, to be started.
pub fn program() -> Command {
    Command::new(env!("CARGO_BIN_EXE_sashwright"))
}

/// Runs the program with a document as its standard input.
pub fn output(arguments: &[&str], document: &str) -> Output {
    let mut child = program()
        .args(arguments)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program");
    let mut stdin = child.stdin.take().expect("its input");
    // The program may end before it has read everything, which is its right.
    let _ = stdin.write_all(document.as_bytes());
    drop(stdin);
    child.wait_with_output().expect("its output")
}

/// The same, told as text.
pub fn run(arguments: &[&str], document: &str) -> Ended {
    let output = output(arguments, document);
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).expect("text");
    let code = output.status.code().expect("an exit status");
    (code, text(output.stdout), text(output.stderr))
}
