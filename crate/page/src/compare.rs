//! How tubes differ, in words.

use serde::Serialize;
use sweepbook_core::figure::{Differences, Differs, minus, volts};

use crate::words;

/// What is shown of the differences.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Compared {
    /// The picture, SVG; `None` where there is nothing to draw.
    pub svg: Option<String>,
    /// A line each.
    pub rows: Vec<ComparedRow>,
}

/// One section against the yardstick's.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ComparedRow {
    /// What is compared.
    pub name: String,
    /// With what.
    pub from: String,
    /// How much more current it has, as a share; `None` where that cannot be told.
    pub more: Option<String>,
    /// The largest difference, and where.
    pub largest: Option<String>,
    /// Number of points.
    pub points: usize,
}

impl From<Differences> for Compared {
    fn from(of: Differences) -> Self {
        Self { svg: of.svg, rows: of.rows.iter().map(row).collect() }
    }
}

fn row(of: &Differs) -> ComparedRow {
    let largest = of
        .largest
        .map(|l| format!("{} at Va\u{a0}{}, Vg\u{a0}{}", signed(&words::number(l.ia, "A")), volts(l.va), volts(l.vg)));
    ComparedRow {
        name: of.name.clone(),
        from: of.from.clone(),
        more: of.ratio.map(|r| signed(&format!("{:.1}\u{a0}%", 100.0 * r))),
        largest,
        points: of.points,
    }
}

/// A number with its sign, a plus too.
fn signed(text: &str) -> String {
    if text.starts_with(['-', '\u{2212}']) { minus(text) } else { format!("+{text}") }
}

#[cfg(test)]
mod tests {
    use sweepbook_core::figure::Largest;

    use super::*;

    #[test]
    fn more_and_less_have_their_signs() {
        let largest = Some(Largest { ia: -1.2e-3, va: 250.0, vg: -8.0 });
        let of = |ratio| Differs { of: 1, name: "B".into(), from: "A".into(), points: 3, ratio, largest };
        let row = row(&of(Some(-0.042)));
        assert_eq!(row.more.as_deref(), Some("\u{2212}4.2\u{a0}%"));
        assert!(row.largest.unwrap().starts_with("\u{2212}1.20\u{a0}mA at Va\u{a0}250 V"));
        assert_eq!(super::row(&of(Some(0.0))).more.as_deref(), Some("+0.0\u{a0}%"));
        assert_eq!(super::row(&of(None)).more, None);
    }
}
