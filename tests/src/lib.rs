//! Helpers shared by the outside checks.
