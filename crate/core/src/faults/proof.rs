//! The five proofs that every fault owes: it is named, it is silent on sound tubes, its
//! look-alikes do not set it off, it is named beside another fault, and a larger one is
//! never less sure.
//!
//! A fault's file gives its cases with the macro `proved!`, which makes the five tests of
//! them; a fault without them does not compile under test, because [`Proved`] is asked of
//! every [`Fault`]. Tubes are computed with published laws, most of which the fit does not
//! contain, and with fixed seeds.

use std::cell::Cell;
use std::rc::Rc;

use super::{ALL, Fault, OF_THE_TUBE, look};
use crate::evidence;
use crate::handbook;
use crate::lesson::{Dice, Family, LawChoice, Meter, Resolution, Scene};
use crate::report::Finding;
use crate::sweep::{MeterPlace, Tube};

pub(super) use crate::lesson::LawChoice::{ChildLangmuir, CohenHelie, Dempwolf, Koren, Rydel, Strips};

/// What a table gets wrong of a tube.
type Slip = Rc<dyn Fn(&mut Tube)>;

/// A fault is named from this confidence on: more likely than not.
const NAMED: f64 = 0.5;
/// Sound tubes and look-alikes leave it below this: at most one in five.
const SILENT: f64 = 0.2;
/// Confidences differ by less than this where only rounding differs.
const ROUNDING: f64 = 1e-9;
/// Sizes tried in a series from mild to severe.
const STEPS: usize = 7;

/// The cases of a fault, at least one of each kind.
pub struct Proof {
    /// It is named, in its section and with its size, and nothing else is.
    pub named: Vec<Case>,
    /// Sound tubes on which it is silent.
    pub silent: Vec<Case>,
    /// What looks like it is named as what it is.
    pub look_alikes: Vec<Case>,
    /// It and another fault in one tube are both named.
    pub together: Vec<Case>,
    /// Cases that differ in its size only, the mildest first.
    pub larger: Vec<Vec<Case>>,
}

/// What the macro `proved!` says of a fault.
pub trait Proved {
    /// Its cases.
    fn proof(&self) -> Proof;
}

/// Makes the five tests of a fault.
macro_rules! proved {
    ($fault:ident, $proof:expr) => {
        impl $crate::faults::proof::Proved for $fault {
            fn proof(&self) -> Proof {
                $proof
            }
        }

        #[test]
        fn is_named_where_it_is_and_with_its_size() {
            $crate::faults::proof::is_named(&$fault, &$fault.proof().named);
        }

        #[test]
        fn is_silent_on_sound_tubes() {
            $crate::faults::proof::is_silent(&$fault, &$fault.proof().silent);
        }

        #[test]
        fn its_look_alikes_do_not_set_it_off() {
            $crate::faults::proof::is_not_mistaken(&$fault, &$fault.proof().look_alikes);
        }

        #[test]
        fn is_named_beside_another_fault() {
            $crate::faults::proof::is_named_beside_another(&$fault, &$fault.proof().together);
        }

        #[test]
        fn a_larger_one_is_never_less_sure() {
            $crate::faults::proof::rises(&$fault, &$fault.proof().larger);
        }
    };
}
pub(super) use proved;

/// A tube on a bench with the faults that were built in.
#[derive(Clone)]
pub struct Case {
    scene: Scene,
    law: LawChoice,
    seed: u64,
    faults: Vec<Built>,
    slip: Option<Slip>,
}

/// One fault that was built in.
#[derive(Clone, Copy)]
struct Built {
    fault: &'static dyn Fault,
    section: usize,
    size: f64,
    /// How far the size found may be off, as a share; `None`: not looked at.
    within: Option<f64>,
    /// Whether something else in the case keeps it from being seen.
    hidden: bool,
}

/// A sound specimen of a type under a law, on the usual bench: stiff grid drive, the meter
/// in the plate lead, no grid meter.
pub fn on(law: LawChoice, kind: &str, seed: u64) -> Case {
    let kind = handbook::find(kind).unwrap();
    Case { scene: Scene::usual(kind, law, seed).unwrap(), law, seed, faults: Vec::new(), slip: None }
}

/// Sound tubes of six laws and eight types, with seeds of the fault's own.
pub fn sound(fault: &dyn Fault) -> Vec<Case> {
    const TUBES: [(LawChoice, &str); 8] = [
        (Strips, "12AX7"),
        (Dempwolf, "12AU7"),
        (ChildLangmuir, "6SN7GTB"),
        (Koren, "12AX7"),
        (Strips, "6DJ8"),
        (Rydel, "6CG7"),
        (CohenHelie, "12AT7"),
        (ChildLangmuir, "300B"),
    ];
    let mut dice = Dice::new(1, fault.name());
    TUBES.iter().map(|(law, kind)| on(*law, kind, dice.seed())).collect()
}

/// A sweep twice as far past cutoff.
pub fn deeper(scene: &mut Scene) {
    for family in &mut scene.bench.plan {
        if let Family::Transfer { grid, .. } = family {
            grid.from *= 2.0;
        }
    }
}

impl Case {
    /// With a grid-current meter.
    pub fn grid_meter(self) -> Self {
        let meter = Meter { noise: 5e-9, relative: 1e-3, resolution: Resolution::Step(1e-8), ..Meter::IDEAL };
        self.set(|s| s.bench.grid_meter = Some(meter))
    }

    /// With a resistance in the grid lead, ohm.
    pub fn through(self, ohm: f64) -> Self {
        self.set(|s| s.bench.grid_source_resistance = ohm)
    }

    /// With the current meter in the cathode lead.
    pub fn cathode_meter(self) -> Self {
        self.set(|s| s.bench.meter = MeterPlace::CathodeLead)
    }

    /// Anything else.
    pub fn set(mut self, change: impl FnOnce(&mut Scene)) -> Self {
        change(&mut self.scene);
        self
    }

    /// With a fault in a section (from 0) of this size.
    pub fn with(mut self, fault: &'static dyn Fault, section: usize, size: f64) -> Self {
        fault.inject(&mut self.scene, section, size);
        self.faults.push(Built { fault, section, size, within: None, hidden: false });
        self
    }

    /// With a fault of this severity: 0 is mild, 1 severe.
    pub fn severe(self, fault: &'static dyn Fault, section: usize, severity: f64) -> Self {
        let size = fault.sizes(&self.scene).map_or(f64::NAN, |s| s.at(severity));
        self.with(fault, section, size)
    }

    /// What was set so far amounts to this fault.
    pub fn being(mut self, fault: &'static dyn Fault, section: usize) -> Self {
        self.faults.push(Built { fault, section, size: f64::NAN, within: None, hidden: false });
        self
    }

    /// The last fault cannot be seen beside the others.
    pub fn hidden(mut self) -> Self {
        if let Some(last) = self.faults.last_mut() {
            last.hidden = true;
        }
        self
    }

    /// With a table that is written like this after the sweep.
    pub fn written(self, slip: impl Fn(&mut Tube) + 'static) -> Self {
        Self { slip: Some(Rc::new(slip)), ..self }
    }

    /// The size of the last fault is to be found within this share of what it is.
    pub fn within(mut self, share: f64) -> Self {
        if let Some(last) = self.faults.last_mut() {
            last.within = Some(share);
        }
        self
    }

    /// The same tube and seed with the fault in sizes from mild to severe.
    pub fn growing(self, fault: &'static dyn Fault, section: usize) -> Vec<Self> {
        let severity = |k: usize| k as f64 / (STEPS - 1) as f64;
        (0..STEPS).map(|k| self.clone().severe(fault, section, severity(k))).collect()
    }

    fn findings(&self) -> Vec<Finding> {
        let mut tube = self.scene.measure(self.seed);
        if let Some(slip) = &self.slip {
            slip(&mut tube);
        }
        let kind = tube.kind.as_deref().and_then(handbook::find);
        look(&evidence::gather(&tube, kind, &[]))
    }

    /// Confidence of a fault in a section or, for `None`, anywhere.
    fn confidence(&self, findings: &[Finding], fault: &dyn Fault, section: Option<usize>) -> f64 {
        let name = section.and_then(|s| self.scene.tube.sections.get(s)).map(|s| s.name.as_str());
        let here = |f: &&Finding| f.fault == fault.name() && (name.is_none() || is_at(f, fault, name));
        findings.iter().filter(here).map(|f| f.confidence).fold(0.0, f64::max)
    }

    /// What is not named where it was built in, or not with its size.
    fn missed(&self, findings: &[Finding]) -> Vec<String> {
        let seen = self.faults.iter().filter(|b| !b.hidden);
        seen.filter_map(|built| {
            let name = self.scene.tube.sections[built.section].name.as_str();
            let here = |f: &&Finding| f.fault == built.fault.name() && is_at(f, built.fault, Some(name));
            let confidence = self.confidence(findings, built.fault, Some(built.section));
            if confidence < NAMED {
                return Some(format!("{} has {confidence:.3}", built.fault.name()));
            }
            let found = findings.iter().find(here).and_then(|f| f.value.as_ref()).map_or(f64::NAN, |v| v.estimate);
            let near = built.within.is_none_or(|share| (found / built.size - 1.0).abs() <= share);
            (!near).then(|| format!("{} of {:.4e} is found as {found:.4e}", built.fault.name(), built.size))
        })
        .collect()
    }

    /// The case in words, for a failing test.
    fn told(&self, findings: &[Finding]) -> String {
        use std::fmt::Write as _;
        let mut out = format!("{} {} seed {}", self.scene.tube.really, self.law.name(), self.seed);
        for b in &self.faults {
            write!(out, ", {} in {} of {:.4e}", b.fault.name(), b.section, b.size).unwrap();
        }
        for f in findings {
            let value = f.value.as_ref().map_or(f64::NAN, |v| v.estimate);
            write!(out, "\n  {:.6} {} {:?} {value:.4e}: {}", f.confidence, f.fault, f.section, f.evidence).unwrap();
        }
        out
    }
}

/// Whether a finding speaks of the section with this name, or of the whole where its fault does.
fn is_at(finding: &Finding, fault: &dyn Fault, section: Option<&str>) -> bool {
    match finding.section.as_deref() {
        None => fault.is_bench() || OF_THE_TUBE.contains(&fault.name()),
        here => here == section,
    }
}

/// Whether a case has the fault built in.
fn has(case: &Case, fault: &dyn Fault) -> bool {
    case.faults.iter().any(|b| b.fault.name() == fault.name())
}

/// Runs every case; fails with all that is wrong with any of them.
fn each(cases: &[Case], wrong: impl Fn(&Case, &[Finding]) -> Vec<String>) {
    assert!(!cases.is_empty(), "no case");
    let failures: Vec<String> = cases
        .iter()
        .filter_map(|case| {
            let findings = case.findings();
            let wrong = wrong(case, &findings);
            (!wrong.is_empty()).then(|| format!("{}\n{}", wrong.join("; "), case.told(&findings)))
        })
        .collect();
    assert!(failures.is_empty(), "\n{}\n", failures.join("\n\n"));
}

/// The fault is found with a confidence that is not to be.
fn fired(case: &Case, findings: &[Finding], fault: &dyn Fault) -> Option<String> {
    let confidence = case.confidence(findings, fault, None);
    (confidence >= SILENT).then(|| format!("{} has {confidence:.3}", fault.name()))
}

pub(super) fn is_named(fault: &dyn Fault, cases: &[Case]) {
    each(cases, |case, findings| {
        assert!(has(case, fault), "it is not in the case");
        let other = findings.iter().filter(|f| f.confidence >= NAMED && f.fault != fault.name());
        let other = other.map(|f| format!("{} is named as well", f.fault));
        case.missed(findings).into_iter().chain(other).collect()
    });
}

pub(super) fn is_silent(fault: &dyn Fault, cases: &[Case]) {
    each(cases, |case, findings| {
        assert!(case.faults.is_empty(), "the tube is not sound");
        fired(case, findings, fault).into_iter().collect()
    });
}

pub(super) fn is_not_mistaken(fault: &dyn Fault, cases: &[Case]) {
    each(cases, |case, findings| {
        assert!(!has(case, fault), "it is in the case");
        fired(case, findings, fault).into_iter().chain(case.missed(findings)).collect()
    });
}

pub(super) fn is_named_beside_another(fault: &dyn Fault, cases: &[Case]) {
    each(cases, |case, findings| {
        assert!(has(case, fault) && case.faults.len() > 1, "there are not two faults");
        case.missed(findings)
    });
}

pub(super) fn rises(fault: &dyn Fault, series: &[Vec<Case>]) {
    for cases in series {
        let highest = Cell::new(0.0_f64);
        each(cases, |case, findings| {
            let section = case.faults.iter().find(|b| b.fault.name() == fault.name()).map(|b| b.section);
            assert!(section.is_some(), "it is not in the case");
            let (before, confidence) = (highest.get(), case.confidence(findings, fault, section));
            highest.set(before.max(confidence));
            let falls = confidence < before - ROUNDING;
            falls.then(|| format!("{} falls from {before:.12} to {confidence:.12}", fault.name())).into_iter().collect()
        });
        assert!(highest.get() >= NAMED, "it is not named at its largest");
    }
}

#[test]
fn every_fault_has_its_five_proofs() {
    for fault in ALL {
        let Proof { named, silent, look_alikes, together, larger } = fault.proof();
        let counts = [named.len(), silent.len(), look_alikes.len(), together.len(), larger.len()];
        assert!(counts.iter().all(|n| *n > 0), "{}: {counts:?}", fault.name());
        let unlike = |case: &Case| !matches!(case.law, Koren | CohenHelie);
        assert!(named.iter().any(unlike) && silent.iter().any(unlike), "{}: only laws that are fitted", fault.name());
        assert!(larger.iter().all(|s| s.len() >= 3), "{}: too short a series", fault.name());
    }
}
