//! What somebody sets on the lesson bench: a type, a fault or two, and the bench. Written as
//! names with values, so that an address can carry it.

use serde::Serialize;

use super::bench::{Family, Meter, Resolution};
use super::published::LawChoice;
use super::scene::Scene;
use crate::faults::{self, Fault};
use crate::handbook;
use crate::stage::{Entered, entered};
use crate::sweep::{self, MeterPlace};

/// Most faults that are built in at once: more teach nothing.
const MOST_FAULTS: usize = 2;
/// Bounds of what can be set: resistor in the grid lead (ohm), noise and step of the meter
/// (A), heater over its rating, depth of the sweep over the usual one, plate voltages; wide
/// enough for any bench, narrow enough that a sweep is taken at once (by construction).
const RESISTOR: (f64, f64) = (0.0, 10e6);
const NOISE: (f64, f64) = (0.0, 1e-4);
const STEP: (f64, f64) = (0.0, 1e-3);
const HEATER: (f64, f64) = (0.7, 1.2);
const DEPTH: (f64, f64) = (0.3, 2.5);
const PLATES: (f64, f64) = (1.0, 6.0);
/// Severity: a third of the way below mild to as far beyond severe, in the logarithm (by
/// construction).
const SEVERITY: (f64, f64) = (-0.5, 1.3);
/// The grid meter of the lesson bench: good to some nanoamperes (by construction).
const GRID_METER: Meter = Meter { noise: 5e-9, relative: 1e-3, resolution: Resolution::Step(1e-8), ..Meter::IDEAL };
/// A meter that is known to no offset, no gain error, and this share of the reading.
const RELATIVE: f64 = 5e-4;
/// Heater against cathode, V, at which the current between them is measured where it is.
const HEATER_TEST: f64 = 100.0;

/// One fault.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Ill {
    /// Its name in the contract.
    pub fault: String,
    /// The section, from 0.
    pub section: usize,
    /// How bad, 0 for mild to 1 for severe.
    pub severity: f64,
}

/// What is set.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Setting {
    /// The type's name in the handbook.
    pub kind: String,
    /// The law that the tube obeys.
    pub law: LawChoice,
    /// Which specimen, and the noise.
    pub seed: u64,
    /// What is wrong.
    pub ills: Vec<Ill>,
    /// Resistance in the grid lead, ohm.
    pub rs: f64,
    /// Where the current meter sits.
    pub meter: MeterPlace,
    /// Whether the grid current is measured.
    pub grid_meter: bool,
    /// The meter's noise, A.
    pub noise: f64,
    /// The meter's step, A; 0 for none.
    pub step: f64,
    /// Heater voltage over its rating.
    pub heater: f64,
    /// How far the sweep goes below zero grid volts, over the usual way.
    pub depth: f64,
    /// How many plate voltages.
    pub plates: usize,
    /// Whether the current between heater and cathode is measured as well.
    pub heater_test: bool,
    /// Whether each curve is taken there and back.
    pub twice: bool,
}

impl Default for Setting {
    fn default() -> Self {
        Self {
            kind: "12AU7".into(),
            law: LawChoice::Dempwolf,
            seed: 1,
            ills: Vec::new(),
            rs: 0.0,
            meter: MeterPlace::PlateLead,
            grid_meter: false,
            noise: 5e-7,
            step: 1e-6,
            heater: 1.0,
            depth: 1.0,
            plates: 3,
            heater_test: false,
            twice: false,
        }
    }
}

/// Why a setting is none.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, thiserror::Error)]
#[error("{name}: {what}")]
pub struct NoSetting {
    /// The name that was given.
    pub name: String,
    /// What is wrong with its value.
    pub what: String,
}

impl Setting {
    /// From names and values; what is not named is as usual.
    ///
    /// # Errors
    /// The first value that cannot be. Of some types the handbook knows too little: then
    /// there is no [`Setting::scene`].
    pub fn read<'a>(pairs: impl IntoIterator<Item = (&'a str, &'a str)>) -> Result<Self, NoSetting> {
        let mut setting = Self::default();
        for (name, value) in pairs {
            setting.take(name, value).map_err(|what| NoSetting { name: crate::intake::clean(name), what })?;
        }
        Ok(setting)
    }

    fn take(&mut self, name: &str, value: &str) -> Result<(), String> {
        let within = |v: Option<f64>, (low, high): (f64, f64), example: &str| {
            v.filter(|v| (low..=high).contains(v)).ok_or_else(|| format!("write it as {example}"))
        };
        let plain = || value.trim().replace(',', ".").parse::<f64>().ok();
        let yes = || match value {
            "yes" => Ok(true),
            "no" => Ok(false),
            _ => Err("yes or no".to_owned()),
        };
        match name {
            "type" => {
                let kind = handbook::find(value).ok_or("the handbook does not know this type")?;
                self.kind.clone_from(&kind.name);
            }
            "law" => self.law = LawChoice::from_name(value).ok_or("there is no such law")?,
            "seed" => self.seed = value.parse().map_err(|_| "a whole number".to_owned())?,
            "fault" if self.ills.len() >= MOST_FAULTS => return Err(format!("at most {MOST_FAULTS} at once")),
            "fault" => self.ills.push(ill(value).ok_or("a fault, a section and a severity, as gas,1,0.5")?),
            "rs" => self.rs = within(entered(value, Entered::Ohms), RESISTOR, "10k, at most 10M")?,
            "noise" => self.noise = within(entered(value, Entered::Amperes), NOISE, "0.5uA, at most 100uA")?,
            "step" => self.step = within(entered(value, Entered::Amperes), STEP, "1uA, at most 1mA")?,
            "heater" => self.heater = within(plain(), HEATER, "1 for its rating, 0.7 to 1.2")?,
            "depth" => self.depth = within(plain(), DEPTH, "1 for the usual depth, 0.3 to 2.5")?,
            "plates" => self.plates = within(plain(), PLATES, "3, at most 6")? as usize,
            "ig" => self.grid_meter = yes()?,
            "hk" => self.heater_test = yes()?,
            "twice" => self.twice = yes()?,
            "meter" => {
                self.meter = match value {
                    "plate" => MeterPlace::PlateLead,
                    "cathode" => MeterPlace::CathodeLead,
                    _ => return Err("plate or cathode".into()),
                }
            }
            // An address may carry what a later version knows.
            _ => {}
        }
        Ok(())
    }

    /// As names and values; [`Setting::read`] gives the same setting again.
    pub fn pairs(&self) -> Vec<(&'static str, String)> {
        let yes = |b: bool| if b { "yes" } else { "no" }.to_owned();
        let meter = if self.meter == MeterPlace::PlateLead { "plate" } else { "cathode" };
        let mut pairs = vec![
            ("type", self.kind.clone()),
            ("law", self.law.name().to_owned()),
            ("seed", self.seed.to_string()),
            ("rs", self.rs.to_string()),
            ("meter", meter.to_owned()),
            ("ig", yes(self.grid_meter)),
            ("noise", self.noise.to_string()),
            ("step", self.step.to_string()),
            ("heater", self.heater.to_string()),
            ("depth", self.depth.to_string()),
            ("plates", self.plates.to_string()),
            ("hk", yes(self.heater_test)),
            ("twice", yes(self.twice)),
        ];
        let ill = |i: &Ill| ("fault", format!("{},{},{}", i.fault, i.section + 1, i.severity));
        pairs.extend(self.ills.iter().map(ill));
        pairs
    }

    /// The tube on its bench, with what is wrong or without. `None` for a type of which the
    /// handbook knows too little.
    pub fn scene(&self, spoilt: bool) -> Option<Scene> {
        let kind = handbook::find(&self.kind)?;
        let mut scene = Scene::usual(kind, self.law, self.seed)?;
        let bench = &mut scene.bench;
        bench.grid_source_resistance = self.rs;
        bench.meter = self.meter;
        bench.grid_meter = self.grid_meter.then_some(GRID_METER);
        let resolution = if self.step > 0.0 { Resolution::Step(self.step) } else { Resolution::Ideal };
        bench.plate_meter = Meter { noise: self.noise, relative: RELATIVE, resolution, ..Meter::IDEAL };
        bench.heater = self.heater;
        bench.heater_test = self.heater_test.then_some(HEATER_TEST);
        if self.twice {
            bench.order = super::bench::Order::ThereAndBack;
        }
        for family in &mut bench.plan {
            if let Family::Transfer { plates, grid } = family {
                let top = plates.iter().copied().fold(0.0, f64::max);
                let n = self.plates as f64;
                *plates = (1..=self.plates).map(|i| (top * i as f64 / n / 10.0).round() * 10.0).collect();
                // Whole steps, so that zero is reached.
                grid.from = (grid.from * self.depth / grid.step).round() * grid.step;
            }
        }
        if spoilt {
            self.spoil(&mut scene);
        }
        Some(scene)
    }

    /// Builds what is wrong into a scene of this setting without it.
    pub fn spoil(&self, scene: &mut Scene) {
        for ill in &self.ills {
            if let Some(fault) = faults::named(&ill.fault) {
                let size = fault.sizes(scene).map_or(f64::NAN, |s| s.at(ill.severity));
                fault.inject(scene, ill.section, size);
            }
        }
    }

    /// The sweep of the tube, with what is wrong or without; `None` as for
    /// [`Setting::scene`].
    pub fn sweep(&self, spoilt: bool) -> Option<sweep::Tube> {
        self.scene(spoilt).map(|scene| scene.measure(self.seed))
    }

    /// How many times as large a fault is as the smallest that this bench would show in the
    /// sound tube; `None` where it states no limit, or the fault has no size.
    pub fn over_limit(&self, ill: &Ill) -> Option<f64> {
        /// Halvings of a factor of a million: to within a thousandth (by construction).
        const HALVINGS: usize = 16;
        let fault = faults::named(&ill.fault)?;
        let size = fault.on_the_limits_side(self.size(ill)?.0);
        let limit = self.limit(ill)?;
        // Larger sizes may be smaller numbers.
        let falls = fault.times(limit, 2.0) < fault.times(limit, 1.0);
        let (mut low, mut high) = (libm::log(1e-3), libm::log(1e3));
        for _ in 0..HALVINGS {
            let middle = 0.5 * (low + high);
            let at = fault.times(limit, libm::exp(middle));
            if (at < size) == falls { high = middle } else { low = middle }
        }
        Some(libm::exp(0.5 * (low + high)))
    }

    /// The smallest size of a fault that this bench would show in the sound tube, as it states it.
    fn limit(&self, ill: &Ill) -> Option<f64> {
        let report = crate::triage(&self.sweep(false)?);
        Some(report.limits.iter().find(|l| l.fault == ill.fault)?.smallest.estimate)
    }

    /// The size of a fault in the unit of its finding, with the unit and what it is.
    pub fn size(&self, ill: &Ill) -> Option<(f64, &'static str, &'static str)> {
        let sizes = faults::named(&ill.fault)?.sizes(&self.scene(false)?)?;
        Some((sizes.at(ill.severity), sizes.unit, sizes.quantity))
    }
}

/// The types that a lesson can be given on, by name.
pub fn taught() -> Vec<&'static str> {
    let known = |kind: &&handbook::Type| {
        super::specimen::typical(kind, LawChoice::Dempwolf).is_some() && super::VirtualBench::usual(kind).is_some()
    };
    handbook::all().iter().filter(known).map(|kind| kind.name.as_str()).collect()
}

fn ill(text: &str) -> Option<Ill> {
    let mut parts = text.split(',');
    let fault: &dyn Fault = faults::named(parts.next()?)?;
    let section: usize = parts.next()?.parse().ok()?;
    let severity: f64 = parts.next()?.parse().ok()?;
    let sensible = (1..=2).contains(&section) && (SEVERITY.0..=SEVERITY.1).contains(&severity);
    (sensible && parts.next().is_none()).then(|| Ill { fault: fault.name().into(), section: section - 1, severity })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_setting_goes_into_an_address_and_comes_back() {
        let said = [
            ("type", "6SN7GTB"),
            ("fault", "gas,2,0.5"),
            ("rs", "10k"),
            ("ig", "yes"),
            ("noise", "2uA"),
            ("plates", "4"),
        ];
        let setting = Setting::read(said).unwrap();
        assert_eq!((setting.rs, setting.noise, setting.ills[0].section), (10e3, 2e-6, 1));
        let pairs = setting.pairs();
        assert_eq!(Setting::read(pairs.iter().map(|(n, v)| (*n, v.as_str()))), Ok(setting));
    }

    #[test]
    fn what_cannot_be_is_named() {
        for (name, value) in [
            ("type", "nothing"),
            ("fault", "gas"),
            ("fault", "gas,3,0"),
            ("fault", "gas,1,9"),
            ("rs", "-1"),
            ("rs", "1T"),
            ("heater", "3"),
            ("seed", "x"),
            ("meter", "grid"),
            ("plates", "99"),
            ("noise", "1A"),
        ] {
            let wrong = Setting::read([(name, value)]).unwrap_err();
            assert_eq!(wrong.name, name, "{value}");
        }
        assert!(Setting::read([("tomorrow", "1")]).is_ok());
        let three = [("fault", "gas,1,0"), ("fault", "gas,1,0"), ("fault", "gas,1,0")];
        assert!(Setting::read(three).is_err());
    }

    #[test]
    fn only_the_spoilt_sweep_has_the_fault() {
        let setting = Setting::read([("fault", "plate-cathode-leakage,2,0.7"), ("depth", "1.5")]).unwrap();
        let found = |spoilt| crate::triage(&setting.sweep(spoilt).unwrap()).findings.first().map(|f| f.fault.clone());
        assert_eq!(found(true).as_deref(), Some("plate-cathode-leakage"));
        assert_eq!(found(false), None);
        let lowest = |t: &sweep::Tube| t.sections[0].points.vg.iter().copied().fold(0.0, f64::min);
        let usual = Setting::default().sweep(false).unwrap();
        assert!(lowest(&setting.sweep(false).unwrap()) < 1.4 * lowest(&usual));
    }

    #[test]
    fn a_fault_is_as_many_times_its_limit_as_its_size_says() {
        let setting = Setting::read([("fault", "plate-cathode-leakage,1,0.5"), ("ig", "yes")]).unwrap();
        let ill = &setting.ills[0];
        let over = setting.over_limit(ill).unwrap();
        let (size, unit, _) = setting.size(ill).unwrap();
        assert_eq!(unit, "ohm");
        approx::assert_relative_eq!(over, setting.limit(ill).unwrap() / size, max_relative = 1e-2);
        for fault in faults::ALL {
            let setting =
                Setting::read([("fault", format!("{},1,0.8", fault.name()).as_str()), ("ig", "yes")]).unwrap();
            let ill = &setting.ills[0];
            let Some(over) = setting.over_limit(ill) else { continue };
            let limit = setting.limit(ill).unwrap();
            let size = fault.on_the_limits_side(setting.size(ill).unwrap().0);
            let there = fault.times(limit, over);
            let near = (there / size - 1.0).abs() < 1e-2;
            assert!(near && over > 0.5, "{}: {over} times {limit} is {there}, not {size}", fault.name());
        }
        let dead = Setting::read([("fault", "no-conduction,1,0.5")]).unwrap();
        assert_eq!(dead.over_limit(&dead.ills[0]), None);
    }

    #[test]
    fn lessons_are_given_on_the_usual_types() {
        let types = taught();
        assert!(types.len() > 20 && ["12AX7", "6SN7GTB", "300B"].iter().all(|t| types.contains(t)), "{types:?}");
        assert!(!types.contains(&"EL34"));
    }

    proptest! {
        #[test]
        fn whatever_is_said_nothing_panics(name in "(type|fault|rs|noise|step|heater|depth|plates|ig|meter|law|seed)", value in ".{0,12}") {
            let _ = Setting::read([(name.as_str(), value.as_str())]);
        }
    }
}
