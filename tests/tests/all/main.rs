//! The planner as a whole: against trying everything, against hand-worked cases and published instances, and on any input at all.
//!
//! All stands in one binary, which links once and keeps every core busy until its last test.

mod any_batch;
mod any_input;
mod bad_input;
mod bad_materials;
mod bad_progress;
mod begun;
mod bin_packing;
mod broken_plans;
mod comparisons;
mod cutting;
mod exhaustive;
mod explanations;
mod fine_repeats;
mod fits;
mod fits_in_order;
mod furnished;
mod least_stretch;
mod lists;
mod many_lengths;
mod order;
mod out_of_time;
mod quilts;
mod random_plans;
mod replan_words;
mod replans;
mod roll_length;
mod schemas;
mod shared;
mod trade_facts;
mod warnings;
mod wishes;
mod without_measure;
