//! Reports and explanations for people: plain words, wrapped and aligned, in
//! colours that only repeat what the words say.

mod comparison;
mod explanation;
mod figures;
mod matching;
mod sheet;
mod stage;
mod summary;
mod sums;
mod tube;
mod words;

pub use comparison::comparison;
pub use explanation::{explanation, list};
pub use matching::matching;
pub use stage::stage;
pub use sums::sum;

use sweepbook_core::faults;
use sweepbook_core::report::{Report, TubeReport};

use self::sheet::{Cell, RED, Sheet};
use self::words::Titles;

/// Shown once wherever a measurement is suggested. The sources are named in the
/// project's reference: HSE INDG354 and HSG85; the rest is common practice.
const CAUTION: &str = "Plate supplies kill, and their capacitors hold the charge after switch-off. \
    Switch off, discharge through a resistor and measure before you touch anything; one hand, insulated \
    probes, a cover or an interlock, and nobody alone. Follow your local electrical codes, and leave the \
    work to qualified people where you are in doubt.";

/// How much of a report is shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Detail {
    /// Each tube, and a table of the lot.
    Full,
    /// Only the table.
    Brief,
}

/// The report in words, `width` characters wide, with colours.
pub fn report(report: &Report, detail: Detail, width: usize) -> String {
    report_with(&Titles::of(faults::explanations()), report, detail, width)
}

fn report_with(titles: &Titles, report: &Report, detail: Detail, width: usize) -> String {
    let mut sheet = Sheet::new(width);
    if detail == Detail::Full {
        for tube in &report.tubes {
            tube::tube(&mut sheet, tube, titles);
        }
        if report.tubes.iter().any(suggests_a_measurement) {
            sheet.rule();
            caution(&mut sheet);
            sheet.blank();
        }
    }
    let one = report.tubes.len() == 1 && report.unread.is_empty();
    match detail {
        Detail::Full if one => {}
        Detail::Full => {
            if !report.tubes.is_empty() {
                sheet.rule();
            }
            summary::lot(&mut sheet, report, titles);
        }
        Detail::Brief => summary::lot(&mut sheet, report, titles),
    }
    sheet.finish()
}

/// A paragraph, wrapped.
pub fn paragraph(text: &str, width: usize) -> String {
    let mut sheet = Sheet::new(width);
    sheet.paragraph(0, text);
    sheet.finish()
}

fn suggests_a_measurement(tube: &TubeReport) -> bool {
    tube.findings.iter().any(|f| !f.confirm.is_empty()) || tube.blind.iter().any(|b| !b.measure.is_empty())
}

fn caution(sheet: &mut Sheet) {
    sheet.entry(0, &Cell::styled("Caution", RED), 9, CAUTION);
}

#[cfg(test)]
mod tests;
