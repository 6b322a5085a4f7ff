//! The sample lot: fourteen invented tubes of an invented workshop, and the note that says
//! what each one is. Made by `make-samples`; a test holds the committed files to it.

use std::fmt::Write as _;

use sweepbook_core::handbook;
use sweepbook_core::intake;
use sweepbook_core::lesson::{
    Ceiling, Dice, Family, GridState, LawChoice, Meter, Range, Resolution, VirtualBench, VirtualTube, measure,
    specimen, trace_impurities,
};

/// One file of the lot: its name and its text.
pub type File = (String, String);

/// Which of the workshop's two benches.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Bench {
    /// No grid meter; 1 kΩ in the grid lead.
    Window,
    /// With a grid meter; 10 kΩ in the grid lead.
    Stairs,
}

impl Bench {
    fn name(self) -> &'static str {
        match self {
            Self::Window => "window bench",
            Self::Stairs => "bench under the stairs",
        }
    }

    /// The usual sweep of a type on this bench.
    fn set_up(self, kind: &handbook::Type) -> Option<VirtualBench> {
        let usual = VirtualBench::usual(kind)?;
        Some(match self {
            Self::Window => VirtualBench {
                grid_source_resistance: 1e3,
                plate_meter: Meter {
                    noise: 0.6e-6,
                    relative: 8e-4,
                    resolution: Resolution::Step(1e-6),
                    gain: 1.002,
                    ..Meter::IDEAL
                },
                ..usual
            },
            Self::Stairs => VirtualBench {
                grid_source_resistance: 10e3,
                plate_meter: Meter {
                    noise: 0.3e-6,
                    relative: 5e-4,
                    resolution: Resolution::Step(5e-7),
                    gain: 0.998,
                    ..Meter::IDEAL
                },
                grid_meter: Some(Meter {
                    noise: 5e-9,
                    relative: 1e-3,
                    resolution: Resolution::Step(1e-8),
                    range: 2e-3,
                    ..Meter::IDEAL
                }),
                ..usual
            },
        })
    }
}

/// What a tube of the lot is.
struct Sample {
    kind: &'static str,
    law: LawChoice,
    bench: Bench,
    /// The fault, as reports name it, and its size in words; `None`: sound.
    fault: Option<(&'static str, &'static str)>,
    /// Section of the fault, from 1.
    section: Option<usize>,
    spoil: fn(&mut VirtualTube, &mut VirtualBench),
}

fn as_it_is(_: &mut VirtualTube, _: &mut VirtualBench) {}

/// The lot, in the order of its numbers.
fn lot() -> Vec<Sample> {
    use Bench::{Stairs, Window};
    let sound = |kind, law, bench| Sample { kind, law, bench, fault: None, section: None, spoil: as_it_is };
    let tube = |kind, law, bench, fault, section, spoil| Sample {
        kind,
        law,
        bench,
        fault: Some(fault),
        section: Some(section),
        spoil,
    };
    let on_bad_bench =
        |kind, law, bench, fault, spoil| Sample { kind, law, bench, fault: Some(fault), section: None, spoil };
    vec![
        sound("6SN7GTB", LawChoice::Strips, Window),
        tube(
            "6SN7GTB",
            LawChoice::Koren,
            Window,
            ("plate-cathode-leakage", "2.2 MΩ from plate to cathode"),
            2,
            |t, _| t.sections[1].defects.plate_cathode = Some(2.2e6),
        ),
        tube("6SN7GTB", LawChoice::Strips, Window, ("low-emission", "the cathode gives 12 mA at most"), 1, |t, _| {
            t.sections[0].defects.ceiling = Some(Ceiling { current: 12e-3, sharpness: 4.0, schottky: 0.01 });
        }),
        tube("6SN7GTB", LawChoice::ChildLangmuir, Window, ("section-mismatch", "current factor 0.66"), 2, |t, _| {
            t.sections[1].defects.perveance = Some(0.66);
        }),
        sound("12AU7", LawChoice::Koren, Stairs),
        tube("12AU7", LawChoice::Strips, Stairs, ("plate-grid-leakage", "4.7 MΩ from plate to grid"), 1, |t, _| {
            t.sections[0].defects.plate_grid = Some(4.7e6)
        }),
        tube("12AU7", LawChoice::CohenHelie, Window, ("no-conduction", "no current at all"), 2, |t, _| {
            t.sections[1].defects.dead = true;
        }),
        on_bad_bench(
            "12AU7",
            LawChoice::Strips,
            Window,
            ("zero-offset", "the meter reads 60 µA at nothing"),
            |_, b| {
                b.plate_meter.offset = 60e-6;
            },
        ),
        tube("12AX7", LawChoice::Strips, Stairs, ("gas", "1 ion to 1000 electrons"), 2, |t, _| {
            t.sections[1].defects.gas = Some(1e-3);
        }),
        tube(
            "12AX7",
            LawChoice::CohenHelie,
            Stairs,
            ("grid-cathode-leakage", "6.8 MΩ from grid to cathode"),
            1,
            |t, _| t.sections[0].defects.grid_cathode = Some(6.8e6),
        ),
        on_bad_bench("12AX7", LawChoice::Strips, Window, ("short-range", "swept from −0.8 V only"), |_, b| {
            for family in &mut b.plan {
                if let Family::Transfer { grid, .. } = family {
                    *grid = Range { from: -0.8, to: 0.0, step: 0.1 };
                }
            }
        }),
        sound("6DJ8", LawChoice::Strips, Stairs),
        tube("6DJ8", LawChoice::ChildLangmuir, Window, ("no-grid-control", "the grid is not connected"), 1, |t, _| {
            t.sections[0].defects.grid = GridState::Open { rest: -0.5, wander: 0.01 };
        }),
        on_bad_bench("6DJ8", LawChoice::Koren, Window, ("current-limit", "the supply gives 20 mA at most"), |_, b| {
            b.current_limit = Some(20e-3);
        }),
    ]
}

/// Seed of the first tube; the others follow.
const SEED: u64 = 7001;

/// The files of the lot, README.md last. Empty only if the handbook lost a type.
pub fn files() -> Vec<File> {
    let mut files = Vec::new();
    let mut rows = String::new();
    for (i, sample) in lot().iter().enumerate() {
        let number = i + 1;
        let seed = SEED + i as u64;
        let name = format!("lot7-{number:02}-{}.csv", sample.kind.to_lowercase());
        let Some(text) = table(sample, number, seed) else { return Vec::new() };
        let (fault, size) = sample.fault.unwrap_or(("—", "sound"));
        let section = sample.section.map_or("—".to_owned(), |s| s.to_string());
        // Writing to a string cannot fail.
        let _ = writeln!(
            rows,
            "| {name} | {} | {size} | {fault} | {section} | {} | {} | {seed} |",
            sample.kind,
            sample.bench.name(),
            sample.law.name()
        );
        files.push((name, text));
    }
    files.push(("README.md".to_owned(), readme(&rows)));
    files
}

fn table(sample: &Sample, number: usize, seed: u64) -> Option<String> {
    let kind = handbook::find(sample.kind)?;
    let mut tube = specimen(kind, sample.law, seed)?;
    tube.name = format!("7-{number:02}");
    tube.heater_voltage = kind.heaters.first().map_or(6.3, |h| h.voltage.value);
    trace_impurities(&mut tube, &mut Dice::new(seed, "sample"));
    let mut bench = sample.bench.set_up(kind)?;
    (sample.spoil)(&mut tube, &mut bench);
    let mut sweep = measure(&tube, &bench, seed);
    sweep.notes.push(format!("lot 7, {}, warmed up ten minutes", sample.bench.name()));
    Some(intake::write(&sweep))
}

fn readme(rows: &str) -> String {
    format!(
        "# Lot 7

Fourteen small tubes to try sweepbook on. They are invented, and so is the workshop.

The story: a two-bench workshop took over a box of tubes from a closed school laboratory
and swept them all in an afternoon. The bench at the window has no grid meter and 1 kΩ in
the grid lead. The bench under the stairs has a grid meter and 10 kΩ in the grid lead. Three
of the sweeps are spoilt by the bench and not by the tube, which happens in the best of
workshops.

Every file was computed. Each tube is a specimen of its type under a published
space-charge law, with its own spread and the traces of gas and leakage that sound tubes
have; one fault was built in; the circuit was solved at each point; noise and the meter's
steps were added. Nothing was measured on a real tube.

| file | type | what it is | to be found | section | bench | law | seed |
|---|---|---|---|---|---|---|---|
{rows}
To make them again: `cargo run --release -p sweepbook-tests --bin make-samples`. The same
program wrote this note. A test compares the files with what it makes.

The voltages that such sweeps take are lethal. Measure only if you are qualified to, and
by the rules of the place where you live.
"
    )
}
