//! The checker against plans worked out by hand: each valid one is accepted, and each broken one is refused for the
//! rule that it breaks.
//!
//! All scenarios and plans here are invented; their numbers follow from the rules of a valid plan on paper, as the
//! comments show, not from any program's output.

mod begun;
mod by_hand;
mod coverings;
mod hoopings;
mod hostile;
mod materials;
mod numbers;
mod order;
mod plans;
mod wishes;
mod work;
