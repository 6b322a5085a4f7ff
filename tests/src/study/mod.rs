//! The studies: what the diagnosis is worth, on tubes that no rule was chosen on.
//!
//! [`population`] makes and diagnoses the tubes, [`separability`] says beforehand which of
//! them physics lets be told, [`score`] compares with the truth, [`calibration`] asks
//! whether confidences are probabilities, and [`confusion`] and [`one_point`] write the
//! [`pages`] in `tests/study`, which [`kept`] holds to what the programs make.

pub mod calibration;
pub mod confusion;
pub mod interval;
pub mod kept;
pub mod one_point;
pub mod pages;
pub mod population;
pub mod score;
pub mod separability;
pub mod tables;
pub mod truth;
