//! Tests of the virtual bench against closed forms, published points and extremes.

mod bench;
mod circuit;
mod extremes;
mod laws;

use super::{LawChoice, Meter, VirtualBench, VirtualTube, specimen};
use crate::handbook;

pub(super) const TYPES: [&str; 16] = [
    "12AX7", "12AU7", "12AT7", "12AY7", "5751", "5814A", "6SN7GTB", "6SL7GT", "6CG7", "6DJ8", "6922", "6N1P", "12BH7A",
    "6C4", "300B", "2A3",
];

pub(super) fn kind(name: &str) -> &'static handbook::Type {
    handbook::find(name).unwrap()
}

pub(super) fn tube(name: &str, law: LawChoice) -> VirtualTube {
    specimen(kind(name), law, 11).unwrap()
}

pub(super) fn ideal() -> VirtualBench {
    VirtualBench {
        plate_meter: Meter::IDEAL,
        grid_meter: Some(Meter::IDEAL),
        grid_supply_limit: f64::INFINITY,
        ..VirtualBench::default()
    }
}
