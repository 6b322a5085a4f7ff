//! The space-charge law of a triode, its fit to points, and gm, rp and mu anywhere.
//!
//! A crate of its own because most of a diagnosis is spent here: it is compiled for speed in
//! the page too, where the rest is compiled for size.

mod applied;
mod descend;
mod fit;
mod lanes;
mod leftover;
mod model;
mod normal;
pub mod numerics;
mod observed;
mod predict;
mod problem;
mod space_charge;

pub use fit::{COMPARED, CORNER, Fit, FitOptions, Prior, SETTLED, fit};
pub use leftover::{Change, Leftover};
pub use model::{Applied, PARS, Par, Params};
pub use observed::Observed;
pub use space_charge::{Slopes, SpaceCharge};
