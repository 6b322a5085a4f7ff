//! The trained model as its file has it.
//!
//! The build script has this module too: it reads the file and packs it.

use serde::{Deserialize, Serialize};

/// The model as its file has it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Model {
    /// Seed of the tubes that it was trained on.
    pub seed: u64,
    /// Power to which probabilities are raised: features are not as independent as the
    /// correlations say. Chosen on laws left out of training in turn.
    pub temper: f64,
    /// Share of sound tubes before looking.
    pub sound: f64,
    /// Squared distance that a known section of a law left out of training exceeds once in
    /// a thousand times, over that of the χ² distribution.
    pub stretch: f64,
    /// The features, by name.
    pub features: Vec<String>,
    /// Middle of each over sound sections.
    pub centre: Vec<f64>,
    /// Spread of each over sound sections.
    pub scale: Vec<f64>,
    /// Correlations below the diagonal, a row each, in hundredths.
    pub correlations: Vec<Vec<i32>>,
    /// The classes.
    pub classes: Vec<Class>,
}

/// One class.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Class {
    /// `SOUND`, `TWIN`, or a fault's name in the contract.
    pub name: String,
    /// Whether it shows in all sections at once.
    pub whole: bool,
    /// Whether a tube may be sent back on its word alone.
    pub speaks: bool,
    /// Its components.
    pub parts: Vec<Part>,
}

/// One component; means and spreads in hundredths of [`Model::scale`].
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Part {
    /// Its share in its class.
    pub weight: f64,
    /// Its middle.
    pub mean: Vec<i32>,
    /// Its spread.
    pub spread: Vec<i32>,
}
