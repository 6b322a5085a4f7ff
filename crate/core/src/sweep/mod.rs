//! What was measured: lots, tubes, sections, points, and the bench that took them.
//!
//! Everything here is in SI base units. Currents are positive *into* the tube's
//! terminal, voltages are against the cathode terminal.

mod bench;
mod points;

pub use bench::{Bench, HeaterCathode, MeterPlace};
pub(crate) use points::top_of;
pub use points::{Curve, Points, Running};

use serde::{Deserialize, Serialize};

/// Everything read in one go.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Lot {
    /// The tubes, in the order their files were given.
    pub tubes: Vec<Tube>,
}

impl Lot {
    /// For each tube, the others that bear the same name and the same type: other
    /// sweeps of it. Blanks and case do not tell names apart.
    pub fn same_tubes(&self) -> Vec<Vec<usize>> {
        let key = |t: &Tube| (plain(&t.name), t.kind.as_deref().map(plain));
        let mut groups: std::collections::HashMap<_, Vec<usize>> = std::collections::HashMap::new();
        for (i, tube) in self.tubes.iter().enumerate() {
            groups.entry(key(tube)).or_default().push(i);
        }
        let others =
            |(i, t): (usize, &Tube)| groups.get(&key(t)).into_iter().flatten().copied().filter(|j| *j != i).collect();
        self.tubes.iter().enumerate().map(others).collect()
    }
}

/// A name as names are compared: without blanks and in small letters.
pub(crate) fn plain(text: &str) -> String {
    text.split_whitespace().collect::<String>().to_lowercase()
}

/// One tube as it lay on the bench.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Tube {
    /// What its owner calls it.
    pub name: String,
    /// The files it was read from, as they were named.
    pub source: Vec<String>,
    /// The type on the label, as written; `None` where nobody said.
    pub kind: Option<String>,
    /// Free remarks from the file.
    pub notes: Vec<String>,
    /// The bench it was measured on.
    pub bench: Bench,
    /// Its sections, in the order they first appear.
    pub sections: Vec<Section>,
}

impl Tube {
    /// The number of points over all sections.
    pub fn point_count(&self) -> usize {
        self.sections.iter().map(|s| s.points.len()).sum()
    }
}

/// One section: a plate, a grid and a cathode of their own.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Section {
    /// Its name as written, `"1"` where nobody gave one.
    pub name: String,
    /// The measured points in the order they were taken.
    pub points: Points,
}
