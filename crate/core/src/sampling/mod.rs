//! Whether a batch that was bought is taken or sent back as a whole: single sampling by
//! attributes, normal inspection, general level II.
//!
//! The tables are those of MIL-STD-105E (10 May 1989), table I (code letters) and table II-A
//! (single sampling, normal), read at nibs.org, "AC-TABLE.ASC" (table 1-A, with rejection
//! numbers), and the letters also in the chart "ANSI/ASQC Z1.4 / MIL-STD-105E / ISO 2859" at
//! pdfcoffee.com; ISO 2859-1 has the same numbers (from memory). They are made for series of
//! lots: of a single one they say how often such a batch would be taken, which is what
//! [`Plan::taken`] tells.

mod batch;
mod table;

#[cfg(test)]
mod tests;

pub use batch::Batch;
pub use table::{AQLS, plan};

use serde::Serialize;

/// A single sampling plan.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Plan {
    /// Code letter of the sample size that is used.
    pub letter: char,
    /// Tubes to sweep.
    pub sample: usize,
    /// The batch is taken with so many faulty ones in the sample or fewer.
    pub accept: usize,
    /// Whether the sample is the whole batch: the table asks for at least as many.
    pub whole: bool,
}

/// What comes of a sample.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case", tag = "outcome")]
pub enum Outcome {
    /// The batch is taken.
    Taken,
    /// It is sent back.
    SentBack,
    /// More tubes have to be swept, or settled, before it can be said.
    Open {
        /// How many are missing.
        missing: usize,
    },
}

impl Plan {
    /// What comes of a sample in which so many are faulty and so many sound: the rest is not
    /// swept or not settled. It is decided as soon as nothing can change it.
    pub fn outcome(&self, faulty: usize, sound: usize) -> Outcome {
        if faulty > self.accept {
            return Outcome::SentBack;
        }
        let missing = self.sample.saturating_sub(faulty + sound);
        if faulty + missing <= self.accept { Outcome::Taken } else { Outcome::Open { missing } }
    }

    /// The share of large batches that is taken when a share `faulty` of their tubes is
    /// faulty (operating characteristic, binomial; 0 to 1).
    pub fn taken(&self, faulty: f64) -> f64 {
        let p = faulty.clamp(0.0, 1.0);
        if p == 0.0 {
            return 1.0;
        }
        if p == 1.0 {
            return f64::from(u8::from(self.accept >= self.sample));
        }
        // The terms one after the other, in logarithms: samples reach 1250.
        let n = self.sample as f64;
        let mut log = n * libm::log1p(-p);
        let mut sum = libm::exp(log);
        for k in 0..self.accept.min(self.sample) {
            let k = k as f64;
            log += libm::log((n - k) / (k + 1.0)) + libm::log(p) - libm::log1p(-p);
            sum += libm::exp(log);
        }
        sum.min(1.0)
    }
}
