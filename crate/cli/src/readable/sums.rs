//! A sum of the bench.

use sweepbook_core::report::engineering;
use sweepbook_core::sums::{Answer, Figure};

use super::sheet::{BOLD, Cell, RED, Sheet};

/// How far the texts below the figures stand from the left, characters.
const LABEL: usize = 12;

/// The figures, then what they rest on.
pub fn sum(title: &str, answer: &Answer, width: usize) -> String {
    let mut sheet = Sheet::new(width);
    sheet.heading(title);
    sheet.blank();
    for figure in &answer.figures {
        sheet.subheading(2, 2, &format!("{}: {}", figure.name, value(figure)));
        sheet.paragraph(4, &figure.says);
    }
    sheet.blank();
    for (label, text) in [("Formula", &answer.formula), ("Source", &answer.source), ("Left out", &answer.leaves_out)] {
        sheet.entry(0, &Cell::styled(label, BOLD), LABEL, text);
    }
    sheet.blank();
    for (i, caution) in answer.cautions.iter().enumerate() {
        let label = if i == 0 { "Caution" } else { "" };
        sheet.entry(0, &Cell::styled(label, RED), LABEL, caution);
    }
    sheet.finish()
}

fn value(figure: &Figure) -> String {
    match figure.unit {
        "1" => format!("{:.0} %", 100.0 * figure.value),
        unit => engineering(figure.value, unit),
    }
}
