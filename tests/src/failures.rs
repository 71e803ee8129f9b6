//! How a test of many drawn cases ends.

/// So many of the failures are shown.
const SHOWN: usize = 5;

/// Asserts that nothing is wrong with any of the cases that were tried.
///
/// # Panics
/// Where something is, with the first failures in words.
pub fn assert_none(failures: &[String], tried: usize) {
    let shown: Vec<&str> = failures.iter().take(SHOWN).map(String::as_str).collect();
    assert!(
        failures.is_empty(),
        "{} of {tried} failed:\n{}",
        failures.len(),
        shown.join("\n\n")
    );
}
