//! The table of likelihood ratios.

use serde::Serialize;

use super::{Electrode, Lamp, Seen, Sight, Tapped};
use crate::faults::{INSULATION, SHORT};
use crate::handbook::Type;

/// A likelihood ratio: how much more often something is seen with a fault than without.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Ratio {
    /// The fault's name in the report contract.
    pub fault: &'static str,
    /// Above 1 it speaks for the fault, below 1 against it.
    pub ratio: f64,
}

/// The lamps' ratios, which the user may change; see [`LAMP`].
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Lamps {
    /// Of the lamp for shorts.
    pub shorts: f64,
    /// Of the lamp for grid current.
    pub grid: f64,
}

impl Default for Lamps {
    fn default() -> Self {
        Self { shorts: LAMP, grid: LAMP }
    }
}

// None is measured: each is a judgement from what the instrument touches, and
// says so ("common practice, no source"). What matters is their order of size: a meter on
// the path itself decides, a lamp hardly counts.

/// A lit lamp: weak, for its threshold is not known, and dirt or a warm tube light it
/// (common practice, no source).
pub const LAMP: f64 = 3.0;
/// The most a lamp may be made to count, so that it never decides alone (by construction:
/// both lamps together leave any fault that the sweep did not find below even odds).
pub const LAMP_MOST: f64 = 4.0;
/// A lamp that stays dark: it misses all but gross faults (common practice, no source).
pub const LAMP_DARK: f64 = 0.8;
/// A meter on the path itself shows it: otherwise only a slip, or moisture on the base,
/// perhaps in one of a hundred measurements (common practice, no source).
pub const ON_THE_PATH: f64 = 100.0;
/// A meter on the path shows good insulation: one leak in ten is there only when the tube
/// is hot or under voltage (common practice, no source).
pub const PATH_IS_GOOD: f64 = 0.1;
/// Insulation from which on a path is good, ohm: ten times what still counts as a leak
/// (by construction).
pub const GOOD_INSULATION: f64 = 1e9;
/// The heater draws what it should: against another type on the label, or a dead one
/// (common practice, no source).
pub const HEATER_IS_RIGHT: f64 = 0.5;
/// The heater draws something else: another type inside (common practice, no source).
pub const HEATER_IS_OFF: f64 = 10.0;
/// Hum, which has many causes beside the tube (common practice, no source).
pub const HUM: f64 = 2.0;
/// No hum (common practice, no source).
pub const NO_HUM: f64 = 0.8;
/// A reading that jumps when the tube is tapped (common practice, no source).
pub const JUMPS: f64 = 20.0;
/// One that does not (common practice, no source).
pub const STEADY: f64 = 0.5;
/// Air in the tube, by the white getter or the crack (common practice, no source).
pub const AIR: f64 = 30.0;
/// No mirror: worn getters are seen on sound tubes too (common practice, no source).
pub const NO_MIRROR: f64 = 2.0;
/// Loose parts (common practice, no source).
pub const LOOSE: f64 = 3.0;
/// Within this of the rated heater current it is right: usual tolerance of new tubes is
/// 10 % at most (from memory, unverified).
pub const HEATER_TOLERANCE: f64 = 0.10;
/// From this on it is another heater (by construction: more than two tolerances).
pub const HEATER_OTHER: f64 = 0.25;
/// Below this share of the rated current the heater is open (by construction).
pub const HEATER_OPEN: f64 = 0.05;

impl Seen {
    /// How much it counts for and against each fault. `kind` is the type on the label.
    pub fn ratios(&self, lamps: &Lamps, kind: Option<&Type>) -> Vec<Ratio> {
        let each = |faults: &[&'static str], ratio: f64| {
            faults.iter().map(|&fault| Ratio { fault, ratio }).collect::<Vec<_>>()
        };
        match *self {
            Self::Lamp { lamp, lit } => {
                let (faults, of_lit): (&[&'static str], f64) = match lamp {
                    Lamp::Shorts => (
                        &[
                            "electrode-short",
                            "plate-cathode-leakage",
                            "plate-grid-leakage",
                            "grid-cathode-leakage",
                            "heater-cathode-leakage",
                        ],
                        lamps.shorts,
                    ),
                    Lamp::Grid => (&["gas", "grid-emission", "plate-grid-leakage", "grid-cathode-leakage"], lamps.grid),
                };
                each(faults, if lit { bounded(of_lit) } else { LAMP_DARK })
            }
            Self::Insulation { between, ohm, more } => match path(between) {
                Some(fault) => insulation(fault, ohm, more),
                None => Vec::new(),
            },
            Self::HeaterCathode { ampere, volt } => {
                let ohm = volt.abs() / ampere.abs();
                if ohm.is_nan() { Vec::new() } else { insulation("heater-cathode-leakage", ohm, false) }
            }
            Self::HeaterCurrent { ampere } => heater(ampere, kind),
            Self::Tap { reading: Tapped::Jumps } => {
                let mut all = each(&["intermittent"], JUMPS);
                all.extend(each(&["electrode-short"], LOOSE));
                all
            }
            Self::Tap { reading: Tapped::Steady } => each(&["intermittent"], STEADY),
            Self::Hum { heard } => each(&["heater-cathode-leakage"], if heard { HUM } else { NO_HUM }),
            Self::Eye { sight } => match sight {
                Sight::GetterWhite | Sight::CrackedGlass => each(&["gas", "no-conduction"], AIR),
                Sight::GetterMissing => each(&["gas"], NO_MIRROR),
                Sight::LooseParts => each(&["intermittent", "electrode-short"], LOOSE),
                Sight::Sound => Vec::new(),
            },
            Self::Tap { reading: Tapped::Rings } | Self::Unknown => Vec::new(),
        }
    }
}

/// What a lamp may count; its own where a file from outside says nothing sensible.
fn bounded(lamp: f64) -> f64 {
    if lamp.is_nan() { LAMP } else { lamp.clamp(1.0, LAMP_MOST) }
}

/// The fault that a path between two electrodes is.
pub(super) fn path(between: [Electrode; 2]) -> Option<&'static str> {
    use Electrode::{Cathode, Grid, Heater, Plate};
    let [a, b] = between;
    let is = |x, y| (a == x && b == y) || (a == y && b == x);
    if is(Plate, Cathode) {
        Some("plate-cathode-leakage")
    } else if is(Plate, Grid) {
        Some("plate-grid-leakage")
    } else if is(Grid, Cathode) {
        Some("grid-cathode-leakage")
    } else if is(Heater, Cathode) {
        Some("heater-cathode-leakage")
    } else {
        None
    }
}

fn insulation(fault: &'static str, ohm: f64, more: bool) -> Vec<Ratio> {
    let plate_cathode = fault == "plate-cathode-leakage";
    if ohm >= GOOD_INSULATION {
        let mut all = vec![Ratio { fault, ratio: PATH_IS_GOOD }];
        if plate_cathode {
            all.push(Ratio { fault: "electrode-short", ratio: PATH_IS_GOOD });
        }
        all
    } else if more || ohm >= INSULATION {
        // Over the range of an ordinary ohmmeter: it would show no leak that matters here.
        Vec::new()
    } else if plate_cathode && ohm < SHORT {
        vec![Ratio { fault: "electrode-short", ratio: ON_THE_PATH }]
    } else {
        vec![Ratio { fault, ratio: ON_THE_PATH }]
    }
}

fn heater(ampere: f64, kind: Option<&Type>) -> Vec<Ratio> {
    let shares = kind.iter().flat_map(|k| &k.heaters).map(|h| ampere / h.current.value);
    // A tapped heater has two ways to be connected: the nearer one counts.
    let Some(share) = shares.min_by(|a, b| (a - 1.0).abs().total_cmp(&(b - 1.0).abs())) else { return Vec::new() };
    let off = (share - 1.0).abs();
    if share < HEATER_OPEN {
        vec![Ratio { fault: "no-conduction", ratio: ON_THE_PATH }]
    } else if off > HEATER_OTHER {
        vec![Ratio { fault: "type-mismatch", ratio: HEATER_IS_OFF }]
    } else if off <= HEATER_TOLERANCE {
        ["type-mismatch", "no-conduction"].map(|fault| Ratio { fault, ratio: HEATER_IS_RIGHT }).into()
    } else {
        Vec::new()
    }
}
