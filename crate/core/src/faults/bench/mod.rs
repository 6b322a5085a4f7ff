//! Faults of the bench: what the instrument adds to a curve or keeps from it.

mod current_limit;
mod short_range;
mod zero_offset;

pub use current_limit::CurrentLimit;
pub use short_range::ShortRange;
pub use zero_offset::ZeroOffset;
