//! The promise behind every stated limit: a fault twice as large is named, one half as large
//! hardly ever is. Tubes of the lesson bench, diagnosed by the main engine.

use rayon::prelude::*;
use sweepbook_core::faults::{self, Fault};
use sweepbook_core::handbook;
use sweepbook_core::lesson::{Dice, LawChoice, Meter, Resolution, Scene};
use sweepbook_core::report::TubeReport;
use sweepbook_core::triage;

/// A finding names the fault from this confidence on: more likely than not.
pub const NAMED: f64 = 0.5;
/// Of a hundred faults of twice the limit at least so many are named (the house's promise).
pub const AT_TWICE: usize = 95;
/// Of a hundred faults of half the limit at most so many are.
pub const AT_HALF: usize = 10;
/// Types that take turns: of high, middle and low amplification, small and of power.
const TYPES: [&str; 6] = ["12AX7", "12AU7", "6SN7GTB", "6DJ8", "12AT7", "300B"];
/// Voltages between heater and cathode, V.
const HEATER_TEST: f64 = 100.0;

/// How one fault kept the promise.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Kept {
    /// The fault's name.
    pub fault: &'static str,
    /// Tubes of which the sweep states a limit.
    pub tubes: usize,
    /// Of them, those with a fault of twice the limit in which it was named.
    pub at_twice: usize,
    /// Likewise at half the limit.
    pub at_half: usize,
}

impl Kept {
    /// Whether the promise holds, as shares of the tubes.
    pub fn holds(&self) -> bool {
        100 * self.at_twice >= AT_TWICE * self.tubes && 100 * self.at_half <= AT_HALF * self.tubes
    }
}

/// The faults that state a limit on some sweep of the lesson bench.
pub fn promised() -> Vec<&'static dyn Fault> {
    faults::ALL.into_iter().filter(|f| (0..4).any(|seed| Trial::new(*f, seed).is_some())).collect()
}

/// Tries a fault on so many seeds.
pub fn tried(fault: &'static dyn Fault, seeds: std::ops::Range<u64>) -> Kept {
    let each: Vec<(bool, bool)> = seeds
        .into_par_iter()
        .filter_map(|seed| Trial::new(fault, seed))
        .map(|trial| (trial.named(2.0), trial.named(0.5)))
        .collect();
    let count = |of: fn(&(bool, bool)) -> bool| each.iter().filter(|one| of(one)).count();
    Kept { fault: fault.name(), tubes: each.len(), at_twice: count(|o| o.0), at_half: count(|o| o.1) }
}

/// A sound tube on a bench, and the limit that its sweep states.
pub struct Trial {
    fault: &'static dyn Fault,
    scene: Scene,
    section: usize,
    seed: u64,
    limit: f64,
}

impl Trial {
    /// `None` where the sweep states no limit of the fault.
    pub fn new(fault: &'static dyn Fault, seed: u64) -> Option<Self> {
        let mut dice = Dice::new(seed, &format!("promise of {}", fault.name()));
        let kind = handbook::find(TYPES[dice.below(TYPES.len())])?;
        let law = LawChoice::ALL[dice.below(LawChoice::ALL.len())];
        let seed = dice.seed();
        let mut scene = Scene::usual(kind, law, seed)?;
        // Good and middling benches.
        let noise = dice.ratio(1.0, 4.0);
        scene.bench.plate_meter.noise *= noise;
        let grid = Meter { noise: 5e-9 * noise, relative: 1e-3, resolution: Resolution::Step(1e-8), ..Meter::IDEAL };
        scene.bench.grid_meter = Some(grid);
        scene.bench.grid_source_resistance = [0.0, 1e3, 10e3][dice.below(3)];
        scene.bench.heater_test = Some(HEATER_TEST);
        scene.bench.reads_plate_voltage = fault.name() == "supply-sag";
        let section = dice.below(scene.tube.sections.len());
        let sound = triage(&scene.measure(seed));
        let limit = sound.limits.iter().find(|l| l.fault == fault.name())?.smallest.estimate;
        Some(Self { fault, scene, section, seed, limit })
    }

    /// Whether a fault so many times as large as the limit is named where it is.
    pub fn named(&self, times: f64) -> bool {
        let scene = self.spoilt(times);
        is_named(self.fault.name(), &scene.tube.sections[self.section].name, &triage(&scene.measure(self.seed)))
    }

    fn spoilt(&self, times: f64) -> Scene {
        let mut scene = self.scene.clone();
        let size = self.fault.times(self.limit, times);
        if self.fault.name() == "type-mismatch" {
            // Labels come in steps: the tube itself is given another amplification factor, a
            // lower one so that it still conducts where its type does.
            for section in 0..scene.tube.sections.len() {
                scene.spoil(section, |d| d.mu = Some(size.recip()));
            }
        } else {
            self.fault.inject(&mut scene, self.section, size);
        }
        scene
    }

    /// Type, bench and limit in words, and what was found.
    pub fn told(&self, times: f64) -> String {
        let scene = self.spoilt(times);
        let report = triage(&scene.measure(self.seed));
        let found: Vec<String> = report
            .findings
            .iter()
            .map(|f| {
                let size = f.value.as_ref().map_or(f64::NAN, |v| v.estimate);
                format!("{} {:?} {:.2} {size:.3e}", f.fault, f.section, f.confidence)
            })
            .collect();
        format!(
            "{} {:?} section {} Rs {} limit {:.3e}: {}",
            scene.tube.really,
            scene.tube.sections[0].form,
            self.section,
            scene.bench.grid_source_resistance,
            self.limit,
            found.join("; ")
        )
    }
}

fn is_named(fault: &str, section: &str, report: &TubeReport) -> bool {
    let here = |s: &Option<String>| s.as_deref().is_none_or(|s| s == section);
    report.findings.iter().any(|f| f.fault == fault && here(&f.section) && f.confidence >= NAMED)
}
