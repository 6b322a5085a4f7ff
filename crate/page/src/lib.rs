//! The thin surface between `sweepbook-core` and the static page.
