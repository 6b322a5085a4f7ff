//! Sums of the bench that go with a stage: heaters in a chain, a rectified heater supply, the
//! trim range of a current source, and the elevation of a heater winding.
//!
//! One file a sum, each a struct of SI values with `worked` (the numbers) and `answer` (the
//! same as named figures with formula, source, what is left out and cautions). [`asked`] takes
//! a sum as text, as a page or a script has it, and [`forms`] says which fields each has.
//! Nothing here knows of a sweep: the handbook gives ratings where a type is named.

mod answer;
mod asked;
mod elevation;
mod forms;
mod heaters;
mod list;
mod rectified;
mod source;
mod standard;
mod supply;
mod warm_up;

#[cfg(test)]
mod tests;

pub use answer::{Answer, Curve, Figure, Wrong};
pub use asked::{answer, asked};
pub use elevation::{Cathode, Divider, Elevated, Elevation, Hanging, HeaterFeed};
pub use forms::{Field, Form, forms, known};
pub use heaters::{Chain, ChainWorked, Heater, InChain};
pub use list::{cathodes, heaters};
pub use rectified::{Drawn, Filter, Rectifier};
pub use source::{CurrentSource, SourceWorked, Spread};
pub use supply::{Supply, SupplyWorked};

/// Name of the contract that an answer in the terminal follows.
pub const SUMS_SCHEMA: &str = "sweepbook/sums/1";

/// What is said of every sum with a voltage that kills.
const KILLS: &str = "Plate supplies and the mains kill, and capacitors hold their charge after switch-off: switch \
    off, discharge and measure before you touch anything. Follow the electrical rules of the place where you are, and \
    leave the work to qualified people where you are in doubt.";
