//! A lot's comparison in words.

use sweepbook_core::kin::lot::{Comparison, Mate, PartOfLot, TRAITS};
use sweepbook_core::report::engineering;

use super::sheet::{BOLD, Cell, Sheet};
use super::words::sentence;

/// The comparison in words, `width` characters wide.
pub fn comparison(comparison: &Comparison, width: usize) -> String {
    let mut sheet = Sheet::new(width);
    if comparison.parts.is_empty() {
        sheet.paragraph(0, "There is no tube to compare.");
    }
    for part in &comparison.parts {
        self::part(&mut sheet, part);
    }
    sheet.finish()
}

fn part(sheet: &mut Sheet, part: &PartOfLot) {
    sheet.heading(part.kind.as_deref().unwrap_or("Type not stated"));
    sheet.paragraph(2, &sentence(&part.says));
    let Some(at) = part.at.filter(|_| !part.groups.is_empty()) else {
        sheet.blank();
        return;
    };
    sheet.paragraph(2, &format!("Compared at {} V and a grid of {} V, from the fitted laws.", at.va, at.vg));
    sheet.blank();
    let shown: Vec<usize> = (0..TRAITS.len()).filter(|&t| TRAITS[t].groups).collect();
    let head = ["Tube", "Group"].into_iter().chain(shown.iter().map(|&t| TRAITS[t].name)).chain(["Odd"]);
    let mut rows: Vec<Vec<Cell>> = vec![head.map(|h| Cell::styled(h, BOLD)).collect()];
    for (g, group) in part.groups.iter().enumerate() {
        rows.extend(part.tubes.iter().filter(|t| t.group == Some(g)).map(|t| row(t, &group.name, &shown)));
    }
    rows.extend(part.tubes.iter().filter(|t| t.group.is_none()).map(|t| row(t, "–", &shown)));
    sheet.table(2, &rows);
    sheet.blank();
}

fn row(tube: &Mate, group: &str, shown: &[usize]) -> Vec<Cell> {
    let figure = |t: &usize| {
        let value = tube.figures[*t].map_or_else(|| "–".to_owned(), |v| engineering(v, TRAITS[*t].unit));
        Cell::plain(value)
    };
    let mut cells = vec![Cell::plain(&tube.tube), Cell::plain(group)];
    cells.extend(shown.iter().map(figure));
    cells.push(Cell::plain(tube.odd_in()));
    cells
}
