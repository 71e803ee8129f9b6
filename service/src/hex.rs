//! Bytes in hexadecimal.

/// Two lower-case digits for each byte.
pub fn digits(bytes: impl IntoIterator<Item = u8>) -> String {
    let bytes = bytes.into_iter();
    bytes.map(|byte| format!("{byte:02x}")).collect()
}
