//! The program as its user meets it: the real binary, its exit codes, what it
//! writes on standard output and on standard error.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

mod bad_input;
mod bench;
mod contract;
mod convert;
mod explain;
mod lines;
mod matching;
mod page;
mod program;
mod questions;
mod report;
mod serve;
mod sheets;
mod stage;
mod sums;
mod triage;
