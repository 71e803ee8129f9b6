//! Runs of kits: each different question is planned once, and what comes of it is counted for all kits that ask it.

mod outcome;
mod run;
mod summary;
mod work;

pub use outcome::{Ending, Outcome};
pub use run::{Heard, work_through};
pub use summary::{CannotBeMade, MOST_LISTED, SetTotals, Summary, Totals, add_up};
pub use work::{Planned, failed, plan_question};
