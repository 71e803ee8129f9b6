//! Tells the program which state of its source it is built from: what `SASHWRIGHT_BUILD` says, or else the commit.

use std::path::Path;
use std::process::Command;

fn main() {
    println!("cargo:rerun-if-env-changed=SASHWRIGHT_BUILD");
    // Where there is no repository, a path in it would have this run each time.
    let moved = "../.git/logs/HEAD";
    if Path::new(moved).exists() {
        println!("cargo:rerun-if-changed={moved}");
    }
    let told = std::env::var("SASHWRIGHT_BUILD").ok();
    let told = told.filter(|told| !told.is_empty());
    let build = told
        .or_else(commit)
        .unwrap_or_else(|| "unknown build".into());
    println!("cargo:rustc-env=SASHWRIGHT_BUILD={build}");
}

/// The commit that is checked out, in short.
fn commit() -> Option<String> {
    let asked = Command::new("git")
        .args(["rev-parse", "--short=12", "HEAD"])
        .output();
    let answer = asked.ok().filter(|answer| answer.status.success())?;
    let commit = String::from_utf8(answer.stdout).ok()?;
    Some(commit.trim().to_string()).filter(|commit| !commit.is_empty())
}
