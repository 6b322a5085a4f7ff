//! The figures of a tube's sections, side by side.

use sweepbook_core::report::{Figure, SectionReport, percent};
use textwrap::core::display_width;

use super::sheet::{BOLD, Cell, Sheet};
use super::words;

/// Width of a row's label and the gap after it, characters.
const LABEL: usize = 6;
/// Gap between two columns, characters.
const GAP: usize = 3;

pub(super) fn figures(sheet: &mut Sheet, sections: &[SectionReport]) {
    sheet.heading("Figures (95 % interval)");
    if sections.iter().all(|s| all(s).iter().all(|(_, figure)| figure.is_none())) {
        sheet.paragraph(2, "None could be measured.");
    } else {
        let columns: Vec<Vec<String>> = sections.iter().map(column).collect();
        let width = columns.iter().flatten().map(|cell| display_width(cell)).max().unwrap_or(0);
        let room = sheet.width().saturating_sub(2 + LABEL) + GAP;
        let side_by_side = (room / (width + GAP)).max(1);
        for block in columns.chunks(side_by_side) {
            rows(sheet, block, width);
        }
    }
    sheet.blank();
}

/// The labels of the rows, in the order of [`column()`].
const ROWS: [&str; 7] = ["", "at", "gm", "mu", "rp", "Ia", "like"];

fn rows(sheet: &mut Sheet, columns: &[Vec<String>], width: usize) {
    for (i, label) in ROWS.iter().enumerate() {
        let cells: Vec<&str> = columns.iter().map(|c| c.get(i).map_or("", String::as_str)).collect();
        if cells.iter().all(|c| c.is_empty()) {
            continue;
        }
        let mut line = String::new();
        for cell in cells {
            let cell = if cell.is_empty() { "–" } else { cell };
            line.push_str(cell);
            line.push_str(&" ".repeat((width + GAP).saturating_sub(display_width(cell))));
        }
        sheet.entry(2, &Cell::styled(*label, BOLD), LABEL, line.trim_end());
    }
}

fn all(section: &SectionReport) -> [(&'static str, &Option<Figure>); 4] {
    let f = &section.figures;
    [("gm", &f.gm), ("mu", &f.mu), ("rp", &f.rp), ("Ia", &f.ia)]
}

/// A section's name, operating point, figures and likeness.
fn column(section: &SectionReport) -> Vec<String> {
    let figures = all(section);
    let point = figures.iter().find_map(|(_, figure)| figure.as_ref().map(|f| f.at));
    let mut cells = vec![format!("section {}", section.section), point.as_ref().map(words::at).unwrap_or_default()];
    for (_, figure) in figures {
        cells.push(match figure {
            // Figures of one section hold at one point; one that does not says so.
            Some(f) if Some(f.at) != point => format!("{} at {}", words::figure(f), words::at(&f.at)),
            Some(f) => words::figure(f),
            None => "not measured".into(),
        });
    }
    cells.push(section.kin.as_ref().map(|k| format!("{} ({})", k.nearest, percent(k.weight))).unwrap_or_default());
    cells
}
