//! The space-charge law of a triode, its fit to points, and gm, rp and mu anywhere.

mod fit;
mod model;
mod space_charge;

pub use fit::{Change, Fit, FitOptions, Leftover, Observed, Prior, fit};
pub use model::{Applied, PARS, Par, Params, Ready};
pub use space_charge::{Slopes, SpaceCharge};
