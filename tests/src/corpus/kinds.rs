//! How each fault is built in, and how large.
//!
//! A level is the larger of two things: what the bench at hand can see ([`super::sight`]:
//! of a leak, weak is 5 to 9, medium 18 to 40, strong 70 to 200 times what is not known of
//! a reading, in the most telling fifth of the readings; of a bent curve 3.5 to 5.5, 7 to
//! 12, and 16 to 40), and what matters in use (`least`, a size a level). A fault that the
//! bench cannot show at its largest is built on another bench.

use serde_json::{Value, json};
use sweepbook_core::faults::{
    CathodeInterface, ElectrodeShort, Fault, GridCathodeLeakage, HeaterCathodeLeakage, NoConduction,
    PlateCathodeLeakage, PlateGridLeakage,
};
use sweepbook_core::handbook::Type;
use sweepbook_core::lesson::{Ceiling, Defects, Dice, GridEmission, GridState, Scene, Uneven, gas_loop};
use sweepbook_core::sweep::MeterPlace;

use super::benches::step_near;
use super::sight::{Sight, size_for};
use super::{bench_faults, special};

/// How strong a fault is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Level {
    /// Hardly to be missed.
    Strong,
    /// Clear.
    Medium,
    /// Just there.
    Weak,
}

impl Level {
    /// All, strongest first.
    pub const ALL: [Self; 3] = [Self::Strong, Self::Medium, Self::Weak];

    /// Its name in truth files.
    pub fn name(self) -> &'static str {
        match self {
            Self::Strong => "strong",
            Self::Medium => "medium",
            Self::Weak => "weak",
        }
    }

    /// The one of three values given from strong to weak.
    pub(super) fn of<T: Copy>(self, [strong, medium, weak]: [T; 3]) -> T {
        match self {
            Self::Strong => strong,
            Self::Medium => medium,
            Self::Weak => weak,
        }
    }

    /// What is to be seen of a fault at this level.
    fn sight(self, ladder: Ladder, dice: &mut Dice) -> f64 {
        let (low, high) = self.of(ladder.rungs());
        dice.ratio(low, high)
    }
}

/// What a level means to the eye. A leak stands alone past cutoff and can be any number of
/// times the noise; what bends a curve is held against the 1 % that a law describes it to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Ladder {
    Alone,
    Shape,
}

impl Ladder {
    pub(super) fn rungs(self) -> [(f64, f64); 3] {
        match self {
            Self::Alone => [(70.0, 200.0), (18.0, 40.0), (5.0, 9.0)],
            Self::Shape => [(16.0, 40.0), (7.0, 12.0), (3.5, 5.5)],
        }
    }
}

/// Kinds of fault that can be built in, by their names in the report.
pub const KINDS: [&str; 22] = [
    "plate-cathode-leakage",
    "plate-grid-leakage",
    "grid-cathode-leakage",
    "gas",
    "grid-emission",
    "low-emission",
    "cathode-interface",
    "uneven-grid",
    "no-conduction",
    "no-grid-control",
    "section-mismatch",
    "type-mismatch",
    "zero-offset",
    "current-limit",
    "warm-up-drift",
    "intermittent",
    "electrode-short",
    "supply-sag",
    "coarse-resolution",
    "oscillation",
    "short-range",
    "heater-cathode-leakage",
];

/// What was built in.
pub struct Built {
    /// Section, from 0; `None` for the whole tube or the bench.
    pub section: Option<usize>,
    /// Its size.
    pub value: Value,
}

/// Tube and bench while a fault is built in.
#[derive(Clone)]
pub struct Work {
    /// The tube on its bench.
    pub scene: Scene,
    /// The type on the label.
    pub kind: &'static Type,
    /// Seed of the measurement.
    pub seed: u64,
}

impl Work {
    /// The size of a level: `put` builds a size in, bigger being worse; sizes run from
    /// `least` (what matters, by level) to `most`.
    pub(super) fn size(
        &self,
        section: usize,
        level: Level,
        (ladder, least, most): (Ladder, [f64; 3], f64),
        offsets: bool,
        dice: &mut Dice,
        put: impl Fn(&mut Work, f64),
    ) -> Option<f64> {
        let sight = Sight::new(&self.scene.tube, &self.scene.bench, section, offsets);
        let look = |size: f64| {
            let mut spoilt = self.clone();
            put(&mut spoilt, size);
            sight.of(&spoilt.scene.tube, &spoilt.scene.bench, section)
        };
        let (seen, matters) = (level.sight(ladder, dice), level.of(least) * dice.ratio(1.0, 1.8));
        // A level may fall short of its sight where even the largest size does, as long
        // as it shows as much as the level below.
        let [_, medium, weak] = ladder.rungs();
        let floor = level.of([medium.0, weak.1, weak.0]);
        let found = size_for(seen, 1e-4 * most, most, look);
        let size = found.or_else(|| (look(most) >= floor).then_some(most))?;
        Some(size.max(matters).min(most))
    }
}

/// Builds a fault of a kind and level in. `None` where this tube or bench does not allow it.
pub fn build(kind: &str, level: Level, work: &mut Work, dice: &mut Dice) -> Option<Built> {
    let sections = work.scene.tube.sections.len();
    let section = dice.below(sections);
    let one = |value: Value| Some(Built { section: Some(section), value });
    match kind {
        // Leaks: 100 MΩ is new, 50 MΩ still in use (reference 6, from memory).
        "plate-cathode-leakage" => {
            let put = |w: &mut Work, g: f64| PlateCathodeLeakage.inject(&mut w.scene, section, 1.0 / g);
            let g = work.size(
                section,
                level,
                (Ladder::Alone, [1.0 / 2e6, 1.0 / 12e6, 1.0 / 50e6], 1.0 / 150e3),
                true,
                dice,
                put,
            )?;
            put(work, g);
            one(json!({ "ohm": 1.0 / g }))
        }
        "plate-grid-leakage" => {
            let put = |w: &mut Work, g: f64| PlateGridLeakage.inject(&mut w.scene, section, 1.0 / g);
            // So large a leak through so large a resistor that the grid goes positive is a
            // short; not below thirty times the source resistance.
            let most = 1.0 / (200e3_f64).max(30.0 * work.scene.bench.grid_source_resistance);
            let g =
                work.size(section, level, (Ladder::Alone, [1.0 / 2e6, 1.0 / 12e6, 1.0 / 50e6], most), true, dice, put)?;
            put(work, g);
            one(json!({ "ohm": 1.0 / g }))
        }
        "grid-cathode-leakage" => {
            let rs = work.scene.bench.grid_source_resistance;
            let ohm = if work.scene.bench.grid_meter.is_some() {
                let put = |w: &mut Work, g: f64| GridCathodeLeakage.inject(&mut w.scene, section, 1.0 / g);
                let least = [1.0 / 1e6, 1.0 / 6e6, 1.0 / 30e6];
                1.0 / work.size(
                    section,
                    level,
                    (Ladder::Alone, least, 1.0 / 20e3_f64.max(0.5 * rs)),
                    true,
                    dice,
                    put,
                )?
            } else if rs > 0.0 {
                // Nothing but the grid's scale changes: s = Rgk/(Rgk+Rs).
                let (low, high) = level.of([(0.5, 0.75), (0.8, 0.87), (0.9, 0.95)]);
                let scale = dice.between(low, high);
                rs * scale / (1.0 - scale)
            } else {
                return None;
            };
            GridCathodeLeakage.inject(&mut work.scene, section, ohm);
            one(json!({ "ohm": ohm }))
        }
        // Suspicious from 1e-4, a hundred times a run-in tube (reference 6).
        "gas" => {
            let put = |w: &mut Work, k: f64| set(w, section, |d| d.gas = Some(k));
            let loop_of_one = gas_loop(work.scene.top_gm(section), work.scene.bench.grid_source_resistance, 1.0, 300.0);
            let most = 1e-2_f64.min(0.6 / loop_of_one.max(1e-9));
            let k = work.size(section, level, (Ladder::Alone, [2e-3, 5e-4, 1e-4], most), true, dice, put)?;
            put(work, k);
            one(json!({ "ratio": k }))
        }
        "grid-emission" => {
            let to_plate = if dice.chance(0.3) { 0.7 } else { 0.0 };
            let growth = if dice.chance(0.3) { dice.between(10.0, 60.0) } else { 0.0 };
            let put = |w: &mut Work, current: f64| {
                set(w, section, |d| d.grid_emission = Some(GridEmission { current, to_plate, growth }));
            };
            let current = work.size(section, level, (Ladder::Alone, [3e-6, 1e-6, 3e-7], 15e-6), true, dice, put)?;
            put(work, current);
            one(json!({ "amp": current }))
        }
        "low-emission" => {
            let (sharpness, schottky) = (dice.between(2.0, 8.0), dice.between(0.0, 0.02));
            let top = work.scene.top_current(section);
            let put = |w: &mut Work, inverse: f64| {
                let ceiling = Ceiling { current: 1.0 / inverse, sharpness, schottky };
                set(w, section, |d| d.ceiling = Some(ceiling));
            };
            let least = [1.0 / (0.45 * top), 1.0 / (0.7 * top), 1.0 / (1.1 * top)];
            let inverse = work.size(section, level, (Ladder::Shape, least, 1.0 / (0.1 * top)), true, dice, put)?;
            put(work, inverse);
            one(json!({ "i_sat": 1.0 / inverse }))
        }
        "cathode-interface" => {
            let gm = work.scene.top_gm(section);
            let put = |w: &mut Work, ohm: f64| CathodeInterface.inject(&mut w.scene, section, ohm);
            let ohm =
                work.size(section, level, (Ladder::Shape, [0.5 / gm, 0.2 / gm, 0.06 / gm], 3.0 / gm), true, dice, put)?;
            put(work, ohm);
            one(json!({ "ohm": ohm }))
        }
        "uneven-grid" => {
            let mu_ratio = dice.between(0.35, 0.6);
            let put = |w: &mut Work, share: f64| set(w, section, |d| d.uneven = Some(Uneven { share, mu_ratio }));
            let share = work.size(section, level, (Ladder::Shape, [0.15, 0.08, 0.03], 0.3), true, dice, put)?;
            put(work, share);
            one(json!({ "fraction": share, "mu_ratio": mu_ratio }))
        }
        "no-conduction" => {
            NoConduction.inject(&mut work.scene, section, f64::NAN);
            one(json!({}))
        }
        "no-grid-control" => {
            let state = if dice.chance(0.5) {
                GridState::Open { rest: dice.between(-1.2, -0.1), wander: dice.between(0.0, 0.05) }
            } else {
                GridState::Tied(dice.ratio(0.2, 30.0))
            };
            set(work, section, |d| d.grid = state);
            one(json!({}))
        }
        "section-mismatch" => special::section_mismatch(level, work, section, dice),
        "electrode-short" => {
            let (low, high) = level.of([(100.0, 800.0), (800.0, 3e3), (3e3, 10e3)]);
            let ohm = dice.ratio(low, high);
            ElectrodeShort.inject(&mut work.scene, section, ohm);
            let limit = step_near(dice.between(1.5, 4.0) * work.scene.top_current(section));
            work.scene.bench.current_limit = Some(limit);
            one(json!({ "ohm": ohm }))
        }
        "heater-cathode-leakage" if !work.kind.directly_heated => {
            work.scene.bench.meter = MeterPlace::CathodeLead;
            work.scene.bench.states.meter = true;
            work.scene.bench.heater_bias = dice.between(20.0, 90.0);
            let put = |w: &mut Work, g: f64| HeaterCathodeLeakage.inject(&mut w.scene, section, 1.0 / g);
            let g = work.size(
                section,
                level,
                (Ladder::Alone, [1.0 / 1e6, 1.0 / 4e6, 1.0 / 10e6], 1.0 / 100e3),
                false,
                dice,
                put,
            )?;
            put(work, g);
            one(json!({ "ohm": 1.0 / g }))
        }
        "intermittent" => special::intermittent(level, work, section, dice),
        _ => bench_faults::build(kind, level, work, dice),
    }
}

pub(super) fn set(work: &mut Work, section: usize, change: impl FnOnce(&mut Defects)) {
    work.scene.spoil(section, change);
}
