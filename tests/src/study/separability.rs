//! Which faults a sweep can tell at all: the separability rules of the reference notes
//! (4.2 to 4.5) as code. Decided from the circuit, the bench and the size of what was
//! built in, never from what the diagnosis made of it.
//!
//! "Alike" is meant pairwise: could one other cause have given the same readings, to three
//! times what is not known of them? A mixture of several always could.

use sweepbook_core::handbook::{self, Type};
use sweepbook_core::lesson::{LawChoice, Meter, Visit, typical};
use sweepbook_core::sweep::MeterPlace;

use crate::corpus::Item;
use crate::corpus::sight::Sight;

/// Why a fault cannot be told from a sweep.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Why {
    /// Gas, grid emission, grid–cathode leakage: no grid current measured, grid driven directly.
    NoGridPath,
    /// Grid emission behind a source resistance, no grid current.
    GridShift,
    /// A scaled grid axis behind a source resistance, no grid current, no other section.
    GridScale,
    /// Gas behind a source resistance, no grid current, no other section.
    GridBend,
    /// Plate–grid leakage on a cathode-lead meter, no grid current, grid driven directly.
    ReturnsUnseen,
    /// Heater–cathode leakage on a plate-lead meter.
    HeaterUnseen,
    /// Heater–cathode leakage on a cathode-lead meter, no other section.
    HeaterIsOffset,
    /// Plate–cathode or plate–grid leakage: floor slope in Vg not resolved, no grid current.
    FloorSlope,
    /// Plate–cathode leakage or an offset: floor slope in Va not resolved, no other section.
    FloorOrOffset,
    /// Terms of the grid current that the points taken do not separate.
    GridTerms,
    /// Supply sag where only the set voltages are written down.
    SagUnread,
    /// Interface resistance, one section: a sag, or a burden in the cathode lead.
    InterfaceIsSag,
    /// The type on the label and the one it is are electrically alike.
    SameType,
    /// The change of every reading is within what is not known of it.
    BelowSight,
}

impl Why {
    /// All, in the order in which they are asked.
    pub const ALL: [Self; 14] = [
        Self::NoGridPath,
        Self::GridShift,
        Self::GridScale,
        Self::GridBend,
        Self::ReturnsUnseen,
        Self::HeaterUnseen,
        Self::HeaterIsOffset,
        Self::FloorSlope,
        Self::FloorOrOffset,
        Self::GridTerms,
        Self::SagUnread,
        Self::InterfaceIsSag,
        Self::SameType,
        Self::BelowSight,
    ];

    /// The rule in a sentence, with where it is from.
    pub fn rule(self) -> &'static str {
        match self {
            Self::NoGridPath => "gas, grid emission, grid–cathode leakage: no grid current measured and Rs = 0 (4.5)",
            Self::GridShift => {
                "grid emission: no grid current; Rs·E only shifts the grid axis, as a contact potential does (4.3.6)"
            }
            Self::GridScale => {
                "grid–cathode leakage, or plate–grid leakage on a cathode-lead meter: no grid current, one section, apparent mu still within the natural spread (4.3.1, 4.5)"
            }
            Self::GridBend => {
                "gas: no grid current, one section; the steeper top is that of another exponent (4.3.4, 4.4)"
            }
            Self::ReturnsUnseen => {
                "plate–grid leakage: cathode-lead meter, no grid current, Rs = 0; it returns through the grid supply (4.2)"
            }
            Self::HeaterUnseen => "heater–cathode leakage: the meter is in the plate lead (4.2)",
            Self::HeaterIsOffset => {
                "heater–cathode leakage: one section; the same constant as the meter's offset (4.4)"
            }
            Self::FloorSlope => {
                "plate–cathode or plate–grid leakage: no grid current and the floor's slope in Vg below three times the noise (4.3.3, 4.5)"
            }
            Self::FloorOrOffset => {
                "plate–cathode leakage or zero offset: one section and the floor's slope in Va below three times the noise (4.2)"
            }
            Self::GridTerms => {
                "gas, grid emission, grid leaks: another term of the grid current fits the points as well (4.5, condition number)"
            }
            Self::SagUnread => {
                "supply sag: only set voltages; R before the plate is R/(mu + 1) in the cathode lead, exactly (4.2, 4.3.7)"
            }
            Self::InterfaceIsSag => {
                "cathode interface: one section; exactly a sag of the set voltage, or a burden in the cathode lead (4.3.7)"
            }
            Self::SameType => "type mismatch: both types have the same mu and current within their spread",
            Self::BelowSight => {
                "any fault of the curves: the most telling fifth of the readings moves by less than three times what is not known of it"
            }
        }
    }
}

/// What is told from what: three times what is not known (physics notes, "The floor, worked").
const TOLD: f64 = 3.0;
/// Tail index below which a current past cutoff is a floor (same place).
const FLOOR_INDEX: f64 = 0.5;
/// Apparent mu over the handbook's above which it is a specimen's own spread (reference
/// 4.3 item 1: "kappa between about 0.85 and 1 is not a diagnosis").
const NATURAL_MU: f64 = 0.85;
/// Grid voltage above which electrons of a sound grid may flow, V (4.3 item 5, and a margin
/// for types with an early onset).
const ELECTRONS: f64 = -0.9;
/// Two types are alike when their mu differ by less than this share (three standard
/// deviations of specimens of a type) …
const ALIKE_MU: f64 = 0.10;
/// … and their currents at the labelled type's point by less than this (unit spread of
/// consumer types ±30 %, Knoll; reference 6).
const ALIKE_CURRENT: f64 = 0.30;

/// Why the fault of a corpus item cannot be told from its sweep; `None` where it can, and
/// for a sound tube.
pub fn undecidable(item: &Item) -> Option<Why> {
    let single = item.tube.sections.len() < 2;
    let grid_meter = item.bench.grid_meter.is_some();
    let rs = item.bench.grid_source_resistance;
    let cathode_lead = item.bench.meter == MeterPlace::CathodeLead;
    let view = View::of(item);
    let by_rule = match item.truth.kind.as_str() {
        "gas" | "grid-emission" | "grid-cathode-leakage" if !grid_meter && rs == 0.0 => Some(Why::NoGridPath),
        "grid-emission" if !grid_meter => Some(Why::GridShift),
        "grid-cathode-leakage" if !grid_meter => (single && view.scale() > NATURAL_MU).then_some(Why::GridScale),
        "gas" if !grid_meter => single.then_some(Why::GridBend),
        "plate-grid-leakage" if cathode_lead && !grid_meter => {
            if rs == 0.0 {
                Some(Why::ReturnsUnseen)
            } else {
                (single && view.pull() > NATURAL_MU).then_some(Why::GridScale)
            }
        }
        "plate-cathode-leakage" | "plate-grid-leakage" if !grid_meter && !cathode_lead && !view.floor_slope_told() => {
            Some(Why::FloorSlope)
        }
        "plate-cathode-leakage" | "zero-offset" if single && !view.floor_grows_told() => Some(Why::FloorOrOffset),
        "gas" | "grid-emission" | "grid-cathode-leakage" | "plate-grid-leakage"
            if grid_meter && !view.grid_terms_told() =>
        {
            Some(Why::GridTerms)
        }
        "heater-cathode-leakage" if !cathode_lead => Some(Why::HeaterUnseen),
        "heater-cathode-leakage" if single => Some(Why::HeaterIsOffset),
        "supply-sag" if !item.bench.reads_plate_voltage => Some(Why::SagUnread),
        "cathode-interface" if single && (cathode_lead || !item.bench.reads_plate_voltage) => Some(Why::InterfaceIsSag),
        "type-mismatch" if same_type(&item.truth.label, &item.truth.really) => Some(Why::SameType),
        _ => None,
    };
    by_rule.or_else(|| below_sight(item).then_some(Why::BelowSight))
}

/// Faults that bend or shift the readings of one section, and so have a sight. The others
/// compare sections or types, or are read off the table.
const HAVE_SIGHT: [&str; 12] = [
    "plate-cathode-leakage",
    "plate-grid-leakage",
    "grid-cathode-leakage",
    "gas",
    "grid-emission",
    "low-emission",
    "cathode-interface",
    "uneven-grid",
    "heater-cathode-leakage",
    "zero-offset",
    "warm-up-drift",
    "oscillation",
];

fn below_sight(item: &Item) -> bool {
    let kind = item.truth.kind.as_str();
    // A scaled axis is seen against the other section or the handbook, not in the shape.
    let by_comparison = kind == "grid-cathode-leakage" && item.bench.grid_meter.is_none();
    if !HAVE_SIGHT.contains(&kind) || by_comparison {
        return false;
    }
    let offsets = !matches!(kind, "zero-offset" | "heater-cathode-leakage");
    let (before, bench) = match item.truth.section {
        // A fault of the tube, before and after on the bench as it is.
        Some(_) => (&item.sound.0, &item.bench),
        None => (&item.tube, &item.sound.1),
    };
    let sections = match item.truth.section {
        Some(s) => (s - 1)..s,
        None => 0..item.tube.sections.len(),
    };
    let most =
        sections.map(|s| Sight::new(before, bench, s, offsets).of(&item.tube, &item.bench, s)).fold(0.0, f64::max);
    most < TOLD
}

/// Whether two types would pass for each other.
fn same_type(label: &str, really: &str) -> bool {
    let (Some(a), Some(b)) = (handbook::find(label), handbook::find(really)) else { return false };
    let law = |t: &Type| typical(t, LawChoice::Strips)?.first().copied();
    let (Some(one), Some(other)) = (law(a), law(b)) else { return false };
    let Some(at) = a.section(0).and_then(|s| s.points.first()) else { return false };
    let apart = |x: f64, y: f64| (x / y).ln().abs();
    apart(one.mu(), other.mu()) < ALIKE_MU.ln_1p()
        && apart(one.current(at.va, at.vg), other.current(at.va, at.vg)) < ALIKE_CURRENT.ln_1p()
}

/// The section with the fault, as the circuit's algebra sees it.
struct View<'a> {
    item: &'a Item,
    visits: Vec<Visit>,
    section: usize,
}

impl<'a> View<'a> {
    fn of(item: &'a Item) -> Self {
        Self { item, visits: item.bench.visits(), section: item.truth.section.unwrap_or(1) - 1 }
    }

    fn size(&self, unit: &str) -> f64 {
        self.item.truth.value.as_ref().and_then(|v| v.get(unit)?.as_f64()).unwrap_or(f64::NAN)
    }

    /// Space current of the sound section, A.
    fn space(&self, v: &Visit) -> f64 {
        self.item.sound.0.sections[self.section].form.current(v.va, v.vg)
    }

    fn mu(&self) -> f64 {
        self.item.sound.0.sections[self.section].form.mu()
    }

    /// What a grid–cathode leak leaves of the grid axis: Rgk/(Rgk + Rs).
    fn scale(&self) -> f64 {
        let ohm = self.size("ohm");
        ohm / (ohm + self.item.bench.grid_source_resistance)
    }

    /// What a plate–grid leak leaves of mu: 1/mu grows by Rs/Rag.
    fn pull(&self) -> f64 {
        1.0 / (1.0 + self.mu() * self.item.bench.grid_source_resistance / self.size("ohm"))
    }

    /// What the floor is made of: a conductance, or a constant.
    fn floor(&self, v: &Visit) -> f64 {
        match self.item.truth.kind.as_str() {
            "zero-offset" => self.size("amp"),
            "plate-grid-leakage" => (v.va - v.vg) / self.size("ohm"),
            _ => v.va / self.size("ohm"),
        }
    }

    /// The points at which the current has stopped falling.
    fn floor_rows(&self) -> Vec<&Visit> {
        let form = &self.item.sound.0.sections[self.section].form;
        let stopped = |v: &&Visit| {
            let slope = form.slopes(v.va, v.vg).0;
            v.va / self.mu() * slope < FLOOR_INDEX * (self.space(v) + self.floor(v).abs())
        };
        self.visits.iter().filter(stopped).collect()
    }

    /// How far one cause stays from the best-fitting size of a rival over the floor, in
    /// units of what is not known of it all together. `both_signs`: the rival may be negative.
    fn floor_apart(&self, rival: impl Fn(&Visit) -> f64, both_signs: bool) -> f64 {
        let rows = self.floor_rows();
        let meter = &self.item.bench.plate_meter;
        apart(
            rows.iter().map(|v| {
                let own = self.floor(v);
                (own, rival(v), unknown(meter, own))
            }),
            both_signs,
        )
    }

    /// Whether plate–cathode and plate–grid leakage are told by the floor's slope in Vg.
    fn floor_slope_told(&self) -> bool {
        let to_grid = self.item.truth.kind == "plate-grid-leakage";
        let rival = |v: &Visit| if to_grid { v.va } else { v.va - v.vg };
        self.floor_apart(rival, false) >= TOLD
    }

    /// Whether a floor in proportion to Va and a constant one are told.
    fn floor_grows_told(&self) -> bool {
        if self.item.truth.kind == "zero-offset" {
            self.floor_apart(|v| v.va, false) >= TOLD
        } else {
            self.floor_apart(|_| 1.0, true) >= TOLD
        }
    }

    /// Whether the terms of the grid current are told from one another.
    fn grid_terms_told(&self) -> bool {
        let Some(meter) = &self.item.bench.grid_meter else { return false };
        let leak_gk: &dyn Fn(&Visit) -> f64 = &|v| v.vg;
        let leak_ag: &dyn Fn(&Visit) -> f64 = &|v| v.vg - v.va;
        let ions: &dyn Fn(&Visit) -> f64 = &|v| -self.space(v);
        let emission: &dyn Fn(&Visit) -> f64 = &|_| -1.0;
        let terms = [
            ("grid-cathode-leakage", "ohm", leak_gk),
            ("plate-grid-leakage", "ohm", leak_ag),
            ("gas", "ratio", ions),
            ("grid-emission", "amp", emission),
        ];
        let Some((_, unit, own)) = terms.iter().find(|t| t.0 == self.item.truth.kind) else { return true };
        let size = if *unit == "ohm" { 1.0 / self.size(unit) } else { self.size(unit) };
        terms.iter().filter(|t| t.0 != self.item.truth.kind).all(|(.., rival)| {
            let rows = self.visits.iter().filter(|v| v.vg < ELECTRONS);
            apart(rows.map(|v| (size * own(v), rival(v), unknown(meter, size * own(v)))), false) >= TOLD
        })
    }
}

/// What is not known of a reading: noise, step, and what goes with the reading, A.
fn unknown(meter: &Meter, reading: f64) -> f64 {
    let step = meter.step_at(reading).unwrap_or(0.0);
    meter.noise.hypot(step / 12_f64.sqrt()).hypot(meter.relative * reading).max(1e-15)
}

/// Norm of what is left of a cause when a rival in its best size is taken from it; both and
/// the unknown are given a row each.
fn apart(rows: impl Iterator<Item = (f64, f64, f64)>, both_signs: bool) -> f64 {
    let (mut yy, mut xy, mut xx) = (0.0, 0.0, 0.0);
    for (y, x, sigma) in rows {
        let (y, x) = (y / sigma, x / sigma);
        yy += y * y;
        xy += x * y;
        xx += x * x;
    }
    let explained = if xx > 0.0 && (both_signs || xy > 0.0) { xy * xy / xx } else { 0.0 };
    (yy - explained).max(0.0).sqrt()
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test may fail")]

    use super::*;
    use crate::corpus::{Choice, Wish, make};

    fn corpus(kind: &str, types: &[&str], grid_current: Choice) -> Vec<Item> {
        make(&Wish {
            seed: 77,
            tubes: 12,
            law: None,
            grid_current,
            plate_families: Choice::No,
            healthy: 0.0,
            kinds: vec![kind.to_owned()],
            types: types.iter().map(|t| (*t).to_owned()).collect(),
        })
    }

    #[test]
    fn without_grid_current_and_source_resistance_the_grid_faults_cannot_be_told() {
        for kind in ["gas", "grid-emission", "grid-cathode-leakage"] {
            for mut item in corpus(kind, &["12AU7"], Choice::Yes) {
                assert_ne!(undecidable(&item), Some(Why::NoGridPath));
                item.bench.grid_meter = None;
                item.bench.grid_source_resistance = 0.0;
                assert_eq!(undecidable(&item), Some(Why::NoGridPath), "{:?}", item.truth);
            }
        }
    }

    #[test]
    fn a_leak_past_cutoff_is_told_and_one_in_the_noise_is_not() {
        let mut item = corpus("plate-cathode-leakage", &["12AU7"], Choice::No).swap_remove(0);
        item.bench.meter = MeterPlace::PlateLead;
        item.truth.value = Some(serde_json::json!({ "ohm": 1e5 }));
        assert_eq!(undecidable(&item), None);
        item.truth.value = Some(serde_json::json!({ "ohm": 1e12 }));
        assert_eq!(undecidable(&item), Some(Why::FloorSlope));
    }

    #[test]
    fn one_section_cannot_tell_an_interface_from_a_sag_and_two_can() {
        assert!(
            corpus("cathode-interface", &["6C4"], Choice::Mix)
                .iter()
                .all(|i| undecidable(i) == Some(Why::InterfaceIsSag))
        );
        assert!(
            corpus("cathode-interface", &["12AU7"], Choice::Mix)
                .iter()
                .all(|i| undecidable(i).is_none_or(|w| w == Why::BelowSight))
        );
    }

    #[test]
    fn equal_types_are_alike_and_different_ones_are_not() {
        assert!(same_type("12AU7", "5814A"));
        assert!(!same_type("12AU7", "12AX7"));
        assert!(!same_type("12AX7", "12AT7"));
    }

    #[test]
    fn a_rival_in_the_same_proportion_leaves_nothing() {
        let rows = || [(1.0, 2.0, 0.1), (2.0, 4.0, 0.1)].into_iter();
        assert!(apart(rows(), false) < 1e-6);
        // One that would have to be negative does not count, unless it may be.
        let opposed = || rows().map(|(y, x, s)| (y, -x, s));
        assert!((apart(opposed(), false) - 500_f64.sqrt()).abs() < 1e-9);
        assert!(apart(opposed(), true) < 1e-6);
    }

    #[test]
    fn a_sound_tube_is_never_undecidable() {
        let sound = make(&Wish {
            seed: 78,
            tubes: 6,
            law: None,
            grid_current: Choice::Mix,
            plate_families: Choice::Mix,
            healthy: 1.0,
            kinds: Vec::new(),
            types: Vec::new(),
        });
        assert!(sound.iter().all(|i| undecidable(i).is_none()));
    }
}
