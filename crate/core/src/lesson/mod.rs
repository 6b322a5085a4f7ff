//! The virtual bench: tubes with known faults, measured as a real bench would measure
//! them. Lessons, the corpora of the outside checks and the sample lot are made here.
//!
//! The way through: a [`Form`] (a published space-charge law, none of them fitted by
//! the diagnosis as it stands) makes a [`VirtualSection`]; [`Defects`] spoil it; a
//! [`VirtualBench`] says what is applied and how the meters read; [`measure`] solves the
//! circuit at each point and gives the same [`crate::sweep::Tube`] that a file would.
//! A [`Scene`] is tube and bench together: what each of the [`crate::faults`] can be
//! built into.
//!
//! On top of it what is taught: a [`Setting`] is what somebody sets on the lesson bench,
//! [`course()`] the pages of the course, an [`Exercise`] a tube to be judged, [`Next`] what may
//! be measured next, [`one_point()`] what a quick tester would have read.
//!
//! Everything is seeded, and computed with the same bits natively and in the page.
//!
//! ```
//! use sweepbook_core::lesson::{self, LawChoice, VirtualBench};
//!
//! let kind = sweepbook_core::handbook::find("12AX7").ok_or("no such type")?;
//! let mut tube = lesson::specimen(kind, LawChoice::Strips, 1).ok_or("no triode")?;
//! tube.sections[0].defects.plate_cathode = Some(10e6);
//! let bench = VirtualBench::usual(kind).ok_or("no triode")?;
//! let sweep = lesson::measure(&tube, &bench, 1);
//! assert_eq!(sweep.sections.len(), 2);
//! # Ok::<(), &str>(())
//! ```

mod bench;
mod circuit;
mod course;
mod defects;
mod dice;
mod exercise;
mod form;
mod maths;
mod measure;
mod next;
mod one_point;
mod published;
mod scene;
mod setting;
mod specimen;
#[cfg(test)]
mod tests;
mod tube;

pub use bench::{Family, Meter, Order, Oscillation, Range, Resolution, Slip, States, VirtualBench, WarmUp};
pub use circuit::{Drive, Leads, gas_loop};
pub use course::{Page, course};
pub use defects::{
    CEILING_AT, Ceiling, Defects, GridEmission, GridState, HEATER_POWER, IONISATION, Intermittent, Uneven, ionisation,
};
pub use dice::Dice;
pub use exercise::{Answer, Exercise, LEVELS, MOST_SCORE, Marked};
pub use form::{Form, THERMAL};
pub use measure::{Visit, measure};
pub use next::Next;
pub use one_point::{OnePoint, one_point};
pub use published::LawChoice;
pub use scene::{Scene, Sizes};
pub use setting::{Ill, NoSetting, Setting, taught};
pub use specimen::{mismatch, specimen, trace_impurities, typical};
pub use tube::{GridDiode, Spread, VirtualSection, VirtualTube};
