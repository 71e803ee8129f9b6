//! `key`: makes a key for somebody who may use the service.

use std::io::Write;

use crate::command::{Exit, fail, say, write_result};
use crate::keys::new_key;

/// Writes a new key to `out`, and what stands for it in the keys' file to `err`. The key itself is kept nowhere.
pub(super) fn run(name: &str, out: &mut dyn Write, err: &mut dyn Write) -> Exit {
    let (key, entry) = match new_key(name) {
        Ok(made) => made,
        Err(error) => return fail(err, &format!("There are no random numbers: {error}.")),
    };
    let entry = match serde_json::to_string(&entry) {
        Ok(entry) => entry,
        Err(error) => return fail(err, &format!("Cannot write the key: {error}.")),
    };
    say(
        err,
        "Put this among the \"keys\" of the keys' file; the key itself is kept nowhere, so note it now:",
    );
    say(err, &entry);
    write_result(format!("{key}\n").as_bytes(), out, err)
}
