//! A triode on a bench as ngspice sees it, every fault a circuit element, written as the
//! table that a user would hand in.

use std::fmt::Write;

use sweepbook_core::report::TubeReport;

use crate::{ask_ngspice, imperfect, whole_way};

/// Grid voltages of the sweep: from here to 0 V, V.
const GRID_FROM: f64 = -26.0;
/// In this step, V.
const GRID_STEP: f64 = 0.5;
/// Plate voltages of the sweep, V.
const PLATES: [f64; 5] = [100.0, 150.0, 200.0, 250.0, 300.0];
/// Errors in proportion to a reading.
const RELATIVE: f64 = 0.001;
/// Steps of the plate and of the grid meter, A.
const STEPS: (f64, f64) = (1e-6, 5e-9);

/// The elements of one section that are not as they should be, by their names in
/// `faulty-triode.cir`.
pub type Elements<'a> = &'a [(&'a str, f64)];

/// What the elements of a sound section are: leaks of 1 PΩ, an ample cathode.
const SOUND: [(&str, f64); 14] = [
    ("rgi", 1e-3),
    ("limit", 1.0),
    ("sag", 1e-3),
    ("offset", 0.0),
    ("perveance", 1.0),
    ("share", 0.0),
    ("muratio", 0.5),
    ("ceiling", 1e3),
    ("sharpness", 4.0),
    ("ri", 1e-3),
    ("gas", 0.0),
    ("emission", 0.0),
    ("rak", 1e15),
    ("rag", 1e15),
];

/// The bench.
#[derive(Debug, Clone, Copy, Default)]
pub struct Bench {
    /// Grid source resistance, ohm.
    pub rs: f64,
    /// Whether grid current is measured.
    pub grid_current: bool,
    /// Whether the meter is in the cathode lead.
    pub cathode_lead: bool,
    /// Whether the plate voltage is read at the pin and not only set.
    pub reads_plate: bool,
    /// Heater against cathode, V.
    pub heater_bias: f64,
}

impl Bench {
    /// Sweeps a tube with a section for each set of elements and sends the table the whole
    /// way to a report.
    ///
    /// # Errors
    /// What ngspice or intake said.
    pub fn report(&self, sections: &[Elements<'_>]) -> Result<TubeReport, String> {
        whole_way("bench.csv", &self.table(sections)?)
    }

    /// The table.
    ///
    /// # Errors
    /// What ngspice said.
    pub fn table(&self, sections: &[Elements<'_>]) -> Result<String, String> {
        let mut text = format!(
            "# tube: bench\n# type: 6SN7GTB\n# grid_source_resistance: {} ohm\n# current_meter: {} lead\nsection,Va [V],Vg [V],Ia [mA]{}\n",
            self.rs,
            if self.cathode_lead { "cathode" } else { "plate" },
            if self.grid_current { ",Ig [uA]" } else { "" }
        );
        for (s, elements) in sections.iter().enumerate() {
            let rows = ask_ngspice("faulty-triode.cir", &self.values(elements))?;
            let per_curve = rows.len() / PLATES.len();
            if rows.len() != PLATES.len() * (1 + (-GRID_FROM / GRID_STEP).round() as usize) {
                return Err(format!("ngspice gave {} rows", rows.len()));
            }
            for (i, row) in rows.iter().enumerate() {
                let [vg, plate, grid_source, cathode, pin] = row[..] else { return Err(format!("{row:?}")) };
                let at = (s * 10_000 + i) as u64;
                let va = if self.reads_plate { (pin * 100.0).round() / 100.0 } else { PLATES[i / per_curve] };
                let current = if self.cathode_lead { cathode } else { plate };
                let _ = write!(text, "{},{va},{vg},{}", s + 1, imperfect(current, at, RELATIVE, STEPS.0) * 1e3);
                if self.grid_current {
                    // A source's current is counted into its positive end: the grid's is its negative.
                    let _ = write!(text, ",{}", imperfect(-grid_source, at + 5_000, RELATIVE, STEPS.1) * 1e6);
                }
                text.push('\n');
            }
        }
        Ok(text)
    }

    fn values<'a>(&self, elements: &[(&'a str, f64)]) -> Vec<(&'a str, String)> {
        let mut all: Vec<(&str, f64)> = SOUND.to_vec();
        all.extend([("rgk", 1e15), ("rhk", 1e15), ("rs", self.rs.max(1e-3)), ("vh", self.heater_bias)]);
        all.extend([("grid_from", GRID_FROM), ("grid_step", GRID_STEP)]);
        // The last of a name stands.
        for (name, value) in elements {
            all.retain(|(n, _)| n != name);
            all.push((name, *value));
        }
        all.into_iter().map(|(name, value)| (name, format!("{value:e}"))).collect()
    }
}
