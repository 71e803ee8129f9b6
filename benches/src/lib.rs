//! Scenarios that the benchmarks measure.
