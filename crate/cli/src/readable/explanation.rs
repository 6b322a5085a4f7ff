//! What a fault is, and which faults there are.

use sweepbook_core::faults::Explanation;

use super::caution;
use super::sheet::{BOLD, Cell, Sheet};

/// The explanation of one fault in words.
pub fn explanation(of: &Explanation, width: usize) -> String {
    let mut sheet = Sheet::new(width);
    sheet.ends(&of.title, &Cell::plain(&of.name));
    if of.bench {
        sheet.paragraph(0, "A fault of the bench, not of the tube.");
    }
    sheet.blank();
    for part in &of.parts {
        sheet.heading(&part.heading);
        for (i, paragraph) in part.paragraphs.iter().enumerate() {
            if i > 0 {
                sheet.blank();
            }
            sheet.paragraph(2, paragraph);
        }
        sheet.blank();
    }
    caution(&mut sheet);
    sheet.finish()
}

/// All faults by name and title, those of the tube first.
pub fn list(all: &[Explanation], width: usize) -> String {
    let mut sheet = Sheet::new(width);
    for (bench, heading) in [(false, "Faults of the tube"), (true, "Faults of the bench")] {
        let mut rows: Vec<Vec<Cell>> = vec![vec![Cell::styled("Name", BOLD), Cell::styled("In words", BOLD)]];
        let of_these = all.iter().filter(|e| e.bench == bench);
        rows.extend(of_these.map(|e| vec![Cell::plain(&e.name), Cell::plain(&e.title)]));
        if rows.len() > 1 {
            sheet.heading(heading);
            sheet.table(2, &rows);
            sheet.blank();
        }
    }
    sheet.paragraph(0, "sweepbook explain NAME tells more of one.");
    sheet.finish()
}
