//! The keys of those who may use the service: stored as hashed, compared in constant time, each with a name and a rate.
//!
//! A key has 256 random bits, so that nobody can try all texts that may have its hash: a plain SHA-256 (FIPS 180-4) keeps it, and none of the slow
//! hashes that weak passwords need.

use std::collections::HashSet;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant};

use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use subtle::{ConditionallySelectable, ConstantTimeEq};

use crate::hex::digits;

/// The most keys of a file.
const MOST_KEYS: usize = 10_000;
/// The longest name of a key, in characters.
const LONGEST_NAME: usize = 100;
/// Requests a minute of a key for which none are told.
const USUAL_RATE: u32 = 600;

/// The keys' file (JSON).
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct KeyFile {
    keys: Vec<KeyEntry>,
}

/// A key in the file.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct KeyEntry {
    /// Whose it is, and of several keys of one client the same: what is shared out fairly is shared out among names, and batches are seen under the same name only.
    name: String,
    /// SHA-256 of the key, in hexadecimal.
    sha256: String,
    /// Requests that it may send in a minute, all at once or one by one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    requests_per_minute: Option<u32>,
}

/// Keys that have been read.
pub struct Keys(Vec<Key>);

struct Key {
    name: Arc<str>,
    hash: [u8; 32],
    rate: u32,
    bucket: Mutex<Bucket>,
}

/// How many requests are left (a token bucket): as many as a minute has, filled up evenly.
struct Bucket {
    /// In parts of a request: as many as a minute has nanoseconds.
    left: u128,
    filled: Instant,
}

/// Nanoseconds of a minute: parts of a request.
const MINUTE: u128 = 60_000_000_000;

/// What becomes of a request.
#[derive(PartialEq, Eq, Debug)]
pub enum Admitted {
    /// It is let through as that client's.
    As(Arc<str>),
    /// There is no such key.
    Unknown,
    /// The key may send another one after this time.
    After(Duration),
}

impl Keys {
    /// Reads the keys' file.
    ///
    /// # Errors
    /// A sentence that says what is wrong with it, without anything of a hash.
    pub fn read(text: &[u8]) -> Result<Keys, String> {
        let file: KeyFile = serde_json::from_slice(text).map_err(|error| {
            // What serde says names fields and places, and may repeat a value.
            format!(
                "it is no document of keys (line {}, column {}): give {{\"keys\": [{{\"name\": …, \"sha256\": …}}]}}, as the command key prints them",
                error.line(),
                error.column()
            )
        })?;
        if file.keys.is_empty() || file.keys.len() > MOST_KEYS {
            return Err(format!(
                "it has {} keys: give 1 to {MOST_KEYS}",
                file.keys.len()
            ));
        }
        let keys = file.keys.into_iter().enumerate();
        let keys = keys.map(|(place, entry)| {
            Key::of(entry).map_err(|reason| format!("/keys/{place}: {reason}"))
        });
        let keys = keys.collect::<Result<Vec<Key>, String>>()?;
        let mut hashes = HashSet::new();
        if let Some(place) = keys.iter().position(|key| !hashes.insert(key.hash)) {
            return Err(format!(
                "/keys/{place}: this key stands there already; take one of the two out"
            ));
        }
        Ok(Keys(keys))
    }

    /// Whether a request with this key is let through now. Every key is compared, and each in the same time, so that nothing shows how
    /// nearly one was met.
    pub fn admit(&self, key: &str) -> Admitted {
        let hash: [u8; 32] = Sha256::digest(key.as_bytes()).into();
        let mut found = u32::MAX;
        for (place, known) in (0_u32..).zip(&self.0) {
            found.conditional_assign(&place, known.hash.ct_eq(&hash));
        }
        let found = usize::try_from(found)
            .ok()
            .and_then(|place| self.0.get(place));
        match found {
            Some(key) => key.admit(Instant::now()),
            None => Admitted::Unknown,
        }
    }
}

impl Key {
    fn of(entry: KeyEntry) -> Result<Key, String> {
        let length = entry.name.chars().count();
        if length == 0 || length > LONGEST_NAME || entry.name.chars().any(char::is_control) {
            return Err(format!(
                "the name has {length} characters: give 1 to {LONGEST_NAME} printable ones"
            ));
        }
        let hash = bytes_of(&entry.sha256)
            .ok_or("\"sha256\" is not 64 hexadecimal digits, as the command key prints them")?;
        let rate = entry.requests_per_minute.unwrap_or(USUAL_RATE);
        if rate == 0 {
            return Err("\"requests_per_minute\" is 0: give 1 or more, or take the key out".into());
        }
        Ok(Key {
            name: entry.name.into(),
            hash,
            rate,
            bucket: Mutex::new(Bucket {
                left: u128::from(rate) * MINUTE,
                filled: Instant::now(),
            }),
        })
    }

    fn admit(&self, now: Instant) -> Admitted {
        let rate = u128::from(self.rate);
        let mut bucket = self.bucket.lock().unwrap_or_else(PoisonError::into_inner);
        let since = now.saturating_duration_since(bucket.filled).as_nanos();
        bucket.left = (bucket.left + since.saturating_mul(rate)).min(rate * MINUTE);
        bucket.filled = now;
        match bucket.left.checked_sub(MINUTE) {
            Some(left) => {
                bucket.left = left;
                Admitted::As(self.name.clone())
            }
            None => {
                let missing = (MINUTE - bucket.left).div_ceil(rate);
                Admitted::After(Duration::from_nanos(
                    u64::try_from(missing).unwrap_or(u64::MAX),
                ))
            }
        }
    }
}

/// The bytes of 64 hexadecimal digits.
fn bytes_of(digits: &str) -> Option<[u8; 32]> {
    if digits.len() != 64 || !digits.bytes().all(|digit| digit.is_ascii_hexdigit()) {
        return None;
    }
    let mut bytes = [0; 32];
    for (place, byte) in bytes.iter_mut().enumerate() {
        *byte = u8::from_str_radix(digits.get(2 * place..2 * place + 2)?, 16).ok()?;
    }
    Some(bytes)
}

/// A new key, and what stands for it in the file.
///
/// # Errors
/// The system gives no random numbers.
pub fn new_key(name: &str) -> Result<(String, KeyEntry), getrandom::Error> {
    let mut bytes = [0_u8; 32];
    getrandom::fill(&mut bytes)?;
    let key = digits(bytes);
    let entry = KeyEntry {
        name: name.into(),
        sha256: digits(Sha256::digest(key.as_bytes())),
        requests_per_minute: None,
    };
    Ok((key, entry))
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    fn keys(entries: serde_json::Value) -> Result<Keys, String> {
        Keys::read(json!({"keys": entries}).to_string().as_bytes())
    }

    #[test]
    fn a_new_key_is_known_by_its_hash_alone() {
        let (key, entry) = new_key("shop").expect("random numbers");
        let (other, _) = new_key("shop").expect("random numbers");
        assert!(key.len() == 64 && key != other);
        assert!(!json!(entry).to_string().contains(&key));
        let keys = keys(json!([entry])).expect("keys");
        assert_eq!(keys.admit(&key), Admitted::As("shop".into()));
        for unknown in [other.as_str(), "", &key[1..], &key.to_uppercase()] {
            assert_eq!(keys.admit(unknown), Admitted::Unknown);
        }
    }

    /// The hash of "abc" is that of FIPS 180-4, appendix B.1 (as published with the secure hash standard's examples).
    #[test]
    fn hashes_are_sha_256() {
        let abc = "BA7816BF8F01CFEA414140DE5DAE2223B00361A396177A9CB410FF61F20015AD";
        let keys = keys(json!([{"name": "a", "sha256": abc}])).expect("keys");
        assert_eq!(keys.admit("abc"), Admitted::As("a".into()));
    }

    #[test]
    fn a_key_sends_as_many_as_its_minute_has_and_then_one_at_a_time() {
        let (_, mut entry) = new_key("shop").expect("random numbers");
        entry.requests_per_minute = Some(6);
        let key = Key::of(entry).expect("a key");
        let begun = Instant::now();
        for _ in 0..6 {
            assert_eq!(key.admit(begun), Admitted::As("shop".into()));
        }
        // One more comes every ten seconds.
        let Admitted::After(wait) = key.admit(begun) else {
            panic!("it has sent all");
        };
        assert!(
            wait <= Duration::from_secs(10) && wait > Duration::from_secs(9),
            "{wait:?}"
        );
        let later = begun + Duration::from_secs(11);
        assert_eq!(key.admit(later), Admitted::As("shop".into()));
        assert!(matches!(key.admit(later), Admitted::After(_)));
        // However long it rests, it has no more than a minute's.
        let much_later = later + Duration::from_secs(3600);
        let admitted = (0..10).filter(|_| matches!(key.admit(much_later), Admitted::As(_)));
        assert_eq!(admitted.count(), 6);
    }

    #[test]
    fn a_faulty_file_is_told_without_its_hashes() {
        let hash = "5e1f0d3c9a7b48624f80b1c2d3e4a5965e1f0d3c9a7b48624f80b1c2d3e4a59";
        for (entries, place) in [
            (json!([]), "0 keys"),
            (json!([{"name": "", "sha256": hash}]), "/keys/0: the name"),
            (
                json!([{"name": "a", "sha256": hash}]),
                "/keys/0: \"sha256\"",
            ),
            (json!([{"name": "a", "sha256": hash, "more": 1}]), "line 1"),
            (
                json!([{"name": "a", "sha256": format!("{hash}0")}, {"name": "b", "sha256": format!("{hash}0")}]),
                "/keys/1: this key",
            ),
            (
                json!([{"name": "a", "sha256": format!("{hash}0"), "requests_per_minute": 0}]),
                "/keys/0: \"requests",
            ),
        ] {
            let reason = keys(entries).err().expect("a fault");
            assert!(reason.contains(place) && !reason.contains(hash), "{reason}");
        }
        assert!(Keys::read(b"{").is_err());
    }
}
