//! Faults of the bench: what the instrument adds to a curve or keeps from it.

mod coarse_resolution;
mod current_limit;
mod oscillation;
mod short_range;
mod supply_sag;
mod swapped_columns;
mod warm_up_drift;
mod zero_offset;

pub use coarse_resolution::CoarseResolution;
pub use current_limit::CurrentLimit;
pub use oscillation::Oscillation;
pub use short_range::ShortRange;
pub use supply_sag::SupplySag;
pub use swapped_columns::SwappedColumns;
pub use warm_up_drift::WarmUpDrift;
pub use zero_offset::ZeroOffset;
