//! The shipped files in their order.

/// The shipped files, sources first: everything else cites them.
pub(super) const NAMES: [&str; 11] = [
    "sources",
    "limits",
    "triodes-twin",
    "triodes-frame",
    "triodes-octal",
    "triodes-power",
    "triodes-direct",
    "pentodes-power",
    "pentodes-small",
    "compound",
    "rectifiers",
];
