//! The faults, one file each, and what they share.

mod explanation;

pub use explanation::{Explanation, Part};

/// The explanation of every fault, in the order in which they are looked for.
pub fn explanations() -> Vec<Explanation> {
    Vec::new()
}

/// The explanation of one fault by its name in the contract.
pub fn explain(name: &str) -> Option<Explanation> {
    explanations().into_iter().find(|e| e.name == name)
}
