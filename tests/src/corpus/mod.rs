//! Corpora of simulated tubes with their truth, for the outside checks.
//!
//! Each tube is a specimen of a type under one of several published laws, with the small
//! leaks and traces of gas that sound tubes have; one fault is built in, of a size chosen
//! by what the bench at hand can see ([`sight`]); the bench is drawn anew each time.

mod bench_faults;
pub mod benches;
pub mod kinds;
pub mod sight;
mod special;

use rayon::prelude::*;
use serde::Serialize;
use serde_json::Value;
use sweepbook_core::handbook::{self, Type};
use sweepbook_core::lesson::{Dice, LawChoice, Scene, VirtualBench, VirtualTube, specimen, trace_impurities};
use sweepbook_core::{intake, sweep};

use kinds::{Built, KINDS, Level, Work};

/// Types that corpora are made of.
pub const TYPES: [&str; 16] = [
    "12AX7", "12AU7", "12AT7", "12AY7", "5751", "5814A", "6SN7GTB", "6SL7GT", "6CG7", "6DJ8", "E88CC", "6N1P",
    "12BH7A", "6C4", "300B", "2A3",
];

/// Seeds from here on are kept for the cross-check, whose tubes nobody looks at one by one
/// while rules are changed: `make-corpus` writes none of them.
pub const HELD_OUT: u64 = 900_000;

/// Yes, no, or now and then.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Choice {
    /// Always.
    Yes,
    /// Never.
    No,
    /// Sometimes.
    Mix,
}

impl Choice {
    fn toss(self, share: f64, dice: &mut Dice) -> bool {
        // Always drawn, so that a choice leaves the other draws alone.
        let now = dice.chance(share);
        match self {
            Self::Yes => true,
            Self::No => false,
            Self::Mix => now,
        }
    }
}

/// What a corpus is to hold.
#[derive(Debug, Clone)]
pub struct Wish {
    /// Seed; the same wish gives the same corpus.
    pub seed: u64,
    /// Number of tubes.
    pub tubes: usize,
    /// The law; `None`: all in turn.
    pub law: Option<LawChoice>,
    /// Whether grid current is measured.
    pub grid_current: Choice,
    /// Whether plate families are taken.
    pub plate_families: Choice,
    /// Share of sound tubes.
    pub healthy: f64,
    /// Kinds of fault, in turn; empty: all.
    pub kinds: Vec<String>,
    /// Types; empty: all of [`TYPES`].
    pub types: Vec<String>,
}

/// The truth of one tube, as the scoring script reads it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Truth {
    /// Its file.
    pub file: String,
    /// Fault, or `healthy`.
    pub kind: String,
    /// How strong; `None` for a sound tube.
    pub level: Option<&'static str>,
    /// Type on the label.
    #[serde(rename = "type")]
    pub label: String,
    /// Type that it is.
    pub really: String,
    /// Law.
    pub model: &'static str,
    /// Section, from 1.
    pub section: Option<usize>,
    /// Size of the fault.
    pub value: Option<Value>,
    /// Whether grid current was measured.
    pub grid_current: bool,
    /// Grid source resistance, ohm.
    pub rs: f64,
    /// Perveance over the type's, of that section or the first.
    pub perveance: f64,
    /// Amplification factor over the type's.
    pub mu: f64,
}

/// One tube of a corpus.
#[derive(Debug, Clone)]
pub struct Item {
    /// Its truth.
    pub truth: Truth,
    /// The table.
    pub text: String,
    /// The sweep in the table.
    pub sweep: sweep::Tube,
    /// What was measured.
    pub tube: VirtualTube,
    /// On which bench.
    pub bench: VirtualBench,
    /// The same before the fault was built in (a tube that is not what its label says is
    /// not another one before).
    pub sound: (VirtualTube, VirtualBench),
}

/// Attempts at one tube before it is given up (a kind that no drawn bench can show).
const ATTEMPTS: usize = 200;

/// Makes a corpus. Kinds that these wishes cannot show (gas with neither a grid meter nor
/// a source resistance) are passed over.
pub fn make(wish: &Wish) -> Vec<Item> {
    let kinds: Vec<&str> =
        if wish.kinds.is_empty() { KINDS.to_vec() } else { wish.kinds.iter().map(String::as_str).collect() };
    let (mut owed, mut faults) = (0.0, 0_usize);
    let mut plan = Vec::with_capacity(wish.tubes);
    for i in 0..wish.tubes {
        owed += wish.healthy;
        let fault = if owed >= 1.0 - 1e-9 {
            owed -= 1.0;
            None
        } else {
            let at = faults;
            faults += 1;
            // Each kind at each level before a kind comes again at the same.
            let kind = kinds.get(at % kinds.len().max(1)).copied();
            kind.map(|k| (k, Level::ALL[(at / kinds.len().max(1) + at % kinds.len().max(1)) % 3]))
        };
        plan.push((i, fault));
    }
    // Each tube has its own dice, so that the order of making does not matter.
    let made: Vec<Option<Item>> = plan
        .into_par_iter()
        .map(|(i, fault)| {
            let mut dice = Dice::new(wish.seed, &format!("tube {i}"));
            (0..ATTEMPTS).find_map(|_| one(wish, fault, &mut dice))
        })
        .collect();
    made.into_iter().flatten().enumerate().map(|(n, item)| item.named(&format!("{n:03}"))).collect()
}

impl Item {
    /// The item under the name that it has in its corpus.
    fn named(mut self, name: &str) -> Self {
        self.truth.file = format!("{name}.csv");
        for tube in [&mut self.tube, &mut self.sound.0] {
            name.clone_into(&mut tube.name);
        }
        name.clone_into(&mut self.sweep.name);
        self.text = intake::write(&self.sweep);
        self
    }
}

/// One attempt at one tube.
fn one(wish: &Wish, fault: Option<(&str, Level)>, dice: &mut Dice) -> Option<Item> {
    let names: Vec<&str> =
        if wish.types.is_empty() { TYPES.to_vec() } else { wish.types.iter().map(String::as_str).collect() };
    let label = handbook::find(dice.one(&names)?)?;
    let law = wish.law.or_else(|| dice.one(&LawChoice::ALL).copied())?;
    let really: &'static Type = match fault {
        Some(("type-mismatch", level)) => special::mistaken_for(label, level, dice)?,
        _ => label,
    };
    let mut tube = specimen(really, law, dice.seed())?;
    tube.label = Some(label.name.clone());
    let heaters = &label.heaters;
    tube.heater_voltage = heaters.get(dice.below(heaters.len())).map_or(6.3, |h| h.voltage.value);
    trace_impurities(&mut tube, dice);
    let wanted = benches::Wanted { grid_current: wish.grid_current, plate_families: wish.plate_families };
    let bench = benches::draw(label, wanted, dice)?;
    let mut work = Work { scene: Scene { tube, bench }, kind: label, seed: dice.seed() };
    let sound = (work.scene.tube.clone(), work.scene.bench.clone());
    let built = match fault {
        None => Built { section: None, value: Value::Null },
        Some(("type-mismatch", _)) => Built { section: None, value: serde_json::json!({}) },
        Some((kind, level)) => kinds::build(kind, level, &mut work, dice)?,
    };
    let Work { scene, seed, .. } = work;
    let sweep = scene.measure(seed);
    let spread = scene.tube.sections.get(built.section.unwrap_or(0))?.spread;
    let truth = Truth {
        file: String::new(),
        kind: fault.map_or("healthy", |f| f.0).to_owned(),
        level: fault.map(|f| f.1.name()),
        label: label.name.clone(),
        really: really.name.clone(),
        model: law.name(),
        section: built.section.map(|s| s + 1),
        value: fault.is_some().then_some(built.value),
        grid_current: scene.bench.grid_meter.is_some(),
        rs: scene.bench.grid_source_resistance,
        perveance: spread.perveance,
        mu: spread.mu,
    };
    Some(Item { truth, text: String::new(), sweep, tube: scene.tube, bench: scene.bench, sound })
}
