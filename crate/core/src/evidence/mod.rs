//! Everything computed from a tube once, before any rule looks at it.

mod fits;
mod gross;
mod noise;
mod plateau;
mod start;

pub use fits::{Departure, Found, Laws};
pub use gross::{Ends, Gross};
pub use noise::Noise;
pub use plateau::{Plateau, plateau};
