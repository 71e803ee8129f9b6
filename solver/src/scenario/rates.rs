//! How long the work takes: stitches a minute, and the minutes of everything that hands do.

use crate::exact::Exact;
use crate::fault::FaultCode;
use crate::scenario::node::Node;
use crate::scenario::{Design, Size};
use crate::time::Time;

/// The longest that one step of the work may take, in minutes: a day.
const MOST_MINUTES: i128 = 1_440;
/// The fastest that a machine may stitch, in stitches a minute.
const MOST_STITCHES: i128 = 10_000;

/// How long each step of the work takes.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Rates {
    /// Stitches a minute, above 0.
    pub stitches_per_minute: Exact,
    /// To hoop the stabilizer, and to take it out and trim it afterwards; the first thread is put on meanwhile.
    pub hooping: Time,
    /// To lay one run: placement lines, batting, fabric, tack-down, trimming.
    pub placement: Time,
    /// To change to another thread within a run.
    pub thread_change: Time,
    /// To fetch another hoop and set the machine to it.
    pub hoop_change: Time,
}

impl Default for Rates {
    /// 600 stitches a minute, 5 minutes for a hooping, 4 for a placement, 1 for a thread change, 2 for a hoop change (common
    /// practice; no source is claimed).
    fn default() -> Rates {
        let minutes = |minutes: i64| Time::from_parts(minutes * Time::PARTS);
        Rates {
            stitches_per_minute: Exact::new(600, 1).unwrap_or(Exact::ONE),
            hooping: minutes(5),
            placement: minutes(4),
            thread_change: minutes(1),
            hoop_change: minutes(2),
        }
    }
}

impl Rates {
    /// How long a run of a design takes, beside its stitching: it is laid once, and each further thread is put on once.
    pub fn of_run(&self, design: &Design) -> Time {
        self.placement + self.thread_change * design.thread_changes()
    }

    /// How long one repeat of a size is stitched, rounded once to the nearest part; `None` where its stitches are not known.
    pub fn of_repeat(&self, size: &Size) -> Option<Time> {
        let of_size = i128::from(size.stitches?) * i128::from(Time::PARTS);
        let per_repeat = Exact::new(
            of_size * self.stitches_per_minute.denominator(),
            i128::from(size.repeats) * self.stitches_per_minute.numerator(),
        )?;
        let parts = i64::try_from(per_repeat.times_rounded(1)?).ok()?;
        Some(Time::from_parts(parts))
    }
}

pub(super) fn read(node: &Node<'_>) -> Option<Rates> {
    let fields = node.fields(&[
        "stitches_per_minute",
        "hooping",
        "placement",
        "thread_change",
        "hoop_change",
    ])?;
    let default = Rates::default();
    let speed = fields.or("stitches_per_minute", default.stitches_per_minute, |node| {
        let wanted = "stitches a minute, from 1 to 10000";
        let speed = node.exact(wanted)?;
        let most = Exact::new(MOST_STITCHES, 1)?;
        let fine = (Exact::ONE..=most).contains(&speed) && speed.denominator() <= 1_000_000;
        if !fine {
            node.fault(
                FaultCode::OutOfRange,
                format!("The speed is {speed} stitches a minute."),
                format!("Give {wanted}."),
            );
        }
        fine.then_some(speed)
    });
    let hooping = fields.or("hooping", default.hooping, minutes);
    let placement = fields.or("placement", default.placement, minutes);
    let thread_change = fields.or("thread_change", default.thread_change, minutes);
    let hoop_change = fields.or("hoop_change", default.hoop_change, minutes);
    Some(Rates {
        stitches_per_minute: speed?,
        hooping: hooping?,
        placement: placement?,
        thread_change: thread_change?,
        hoop_change: hoop_change?,
    })
}

fn minutes(node: &Node<'_>) -> Option<Time> {
    let wanted = "minutes, from 0 to 1440";
    let minutes = node.exact(wanted)?;
    let most = Exact::new(MOST_MINUTES, 1)?;
    if !(Exact::ZERO..=most).contains(&minutes) {
        node.fault(
            FaultCode::OutOfRange,
            format!("The step is said to take {minutes} minutes."),
            format!("Give {wanted}."),
        );
        return None;
    }
    Time::from_minutes(minutes)
}
