//! The thread that is stitched with.

use crate::exact::Exact;
use crate::fault::FaultCode;
use crate::length::{Length, Unit};
use crate::scenario::materials::stocks::price;
use crate::scenario::node::{Node, Span};

/// What the thread that a stitch takes is worked out from: a lockstitch of length N through material of thickness T takes N + T of
/// the upper thread and as much of the bobbin's, since both go along it once and through it once, to the middle and back (stitch type
/// 301 of ISO 4915: 2 + 2·T·S of both together for each unit of seam with S stitches).
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Thread {
    /// N: the mean length of a stitch.
    pub stitch: Length,
    /// T: how thick fabric, batting and stabilizer lie under the needle.
    pub thickness: Length,
    /// The part that is added for starts, ends and tension; 0 to 1.
    pub extra: Exact,
    /// How much is on a spool, where it is bought by the spool.
    pub spool: Option<Length>,
    /// Price of a spool; of a yard or a metre where none is told of.
    pub price: Option<Exact>,
}

impl Default for Thread {
    /// Stitches of 2.5 mm through 2 mm, and a tenth more (common practice).
    fn default() -> Thread {
        Thread {
            stitch: Length::from_nanometres(2_500_000),
            thickness: Length::from_nanometres(2_000_000),
            extra: Exact::new(1, 10).unwrap_or(Exact::ZERO),
            spool: None,
            price: None,
        }
    }
}

pub(super) fn read_thread(node: &Node<'_>, unit: Unit) -> Option<Thread> {
    let fields = node.fields(&["stitch", "thickness", "extra", "spool", "price"])?;
    let default = Thread::default();
    let stitch = fields.or("stitch", default.stitch, |node| {
        node.length(unit, Span::Positive)
    });
    let thickness = fields.or("thickness", default.thickness, |node| {
        node.length(unit, Span::ZeroOrMore)
    });
    let extra = fields.or("extra", default.extra, |node| {
        let wanted = "a part from 0 to 1, with at most 6 decimals";
        let extra = node.exact(wanted)?;
        let fine = (Exact::ZERO..=Exact::ONE).contains(&extra) && extra.denominator() <= 1_000_000;
        if !fine {
            node.fault(
                FaultCode::OutOfRange,
                format!("The part of thread to add is {extra}."),
                format!("Give {wanted}."),
            );
        }
        fine.then_some(extra)
    });
    let spool = fields.maybe("spool", |node| read_spool(node, unit));
    let price = fields.maybe("price", price);
    Some(Thread {
        stitch: stitch?,
        thickness: thickness?,
        extra: extra?,
        spool: spool?,
        price: price?,
    })
}

/// How much is on a spool: told in yards where lengths are in inches, in metres where they are in millimetres.
fn read_spool(node: &Node<'_>, unit: Unit) -> Option<Length> {
    let wanted = "the yards (with millimetres: the metres) of thread on a spool, from 1 to 100000";
    let told = node.exact(wanted)?;
    let fine = (Exact::ONE..=Exact::new(100_000, 1)?).contains(&told);
    if !fine {
        node.fault(
            FaultCode::OutOfRange,
            format!("The thread on a spool is {told}."),
            format!("Give {wanted}."),
        );
    }
    let nanometres = told.times_rounded(i128::from(unit.yard_or_metre()));
    let nanometres = nanometres
        .filter(|_| fine)
        .and_then(|length| i64::try_from(length).ok());
    nanometres.map(Length::from_nanometres)
}
