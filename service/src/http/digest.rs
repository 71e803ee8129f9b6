//! A short name for bytes.

use sha2::{Digest, Sha256};

use crate::hex::digits;

/// The first 128 bits of SHA-256 (FIPS 180-4), in hexadecimal: among 2⁴⁰ texts two have the same with a chance below 2⁻⁴⁸.
///
/// Each part is taken with its length, so that parts that are cut otherwise are other parts.
pub(super) fn digest(parts: &[&[u8]]) -> String {
    let mut hash = Sha256::new();
    for part in parts {
        hash.update((part.len() as u64).to_be_bytes());
        hash.update(part);
    }
    digits(hash.finalize().into_iter().take(16))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The expected value is that of Python's `hashlib.sha256(bytes(7) + b"\x03abc").hexdigest()[:32]`.
    #[test]
    fn parts_are_hashed_with_their_lengths() {
        assert_eq!(digest(&[b"abc"]), "c3494ca1a2cf8eeb8a11ded316fb55b8");
        assert_ne!(digest(&[b"ab", b"c"]), digest(&[b"a", b"bc"]));
        assert_ne!(digest(&[b"abc", b""]), digest(&[b"abc"]));
    }
}
