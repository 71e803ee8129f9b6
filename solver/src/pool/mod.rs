//! Puts kits into one scenario.

use serde_json::Value;

use crate::fault::{Fault, FaultCode};

/// A kit of the pool.
pub struct PoolKit<'a> {
    /// Its id.
    pub id: &'a str,
    /// Its scenario document.
    pub scenario: &'a Value,
    /// How many are made.
    pub copies: u64,
}

/// The scenario document in which the strips of all kits meet in hoopings.
///
/// # Errors
/// Every fault.
pub fn pooled(_name: &str, kits: &[PoolKit<'_>]) -> Result<Value, Vec<Fault>> {
    let _ = kits.iter().map(|kit| (kit.id, kit.scenario, kit.copies));
    Err(vec![Fault {
        pointer: String::new(),
        code: FaultCode::Conflict,
        message: String::new(),
        mend: String::new(),
    }])
}
