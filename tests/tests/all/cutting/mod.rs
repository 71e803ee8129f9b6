//! Cutting in levels against trying everything, hand-worked cases, textbook examples, and published instances.

mod examples;
mod oracle;
mod orders;
mod published;
mod timed;
