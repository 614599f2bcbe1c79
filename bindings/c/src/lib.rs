//! C interface of densepath: it translates between C and the crate `densepath` and computes nothing.
//!
//! The rules that callers keep stand at the head of `include/densepath.h`. Each entry checks its pointers for null and
//! alignment, its text for UTF-8, runs inside [`guard::guard`], and writes its outputs only if it succeeds.

#![allow(
    non_camel_case_types,
    reason = "types carry the names that they have in C"
)]
#![allow(
    clippy::missing_safety_doc,
    reason = "the comments become those of the header, whose head states the rules once for all functions"
)]
#![allow(
    unsafe_code,
    reason = "callers hand over pointers; each use says why it is sound"
)]

mod abi;
mod argument;
mod blend;
mod cycle;
mod danger;
mod detections;
mod fluid;
mod guard;
mod handle;
mod lookup;
mod mixture;
mod operation;
mod properties;
mod property_table;
mod restrictor;
mod rows;
mod solution;
mod state;
mod study;
mod tables;
mod version;

/// `DP_OK`, or the number of an error: one of `dp_error`.
pub type dp_status = i32;
