//! What a worker answers to one file.

use serde::Serialize;
use sweepbook_core::faults::explanations;
use sweepbook_core::intake::{self, Unread};
use sweepbook_core::report::Mark;
use sweepbook_core::sweep::Tube;

use crate::json;
use crate::sheet::Sheet;
use crate::wire::Wire;

/// What came of one file.
#[derive(Debug, Clone, Serialize)]
pub struct Answer {
    /// The tubes in it.
    pub tubes: Vec<Read>,
    /// What could not be read: the whole file, or nothing.
    pub unread: Vec<Unread>,
}

/// One tube that was read.
#[derive(Debug, Clone, Serialize)]
pub struct Read {
    /// For the document.
    pub sheet: Sheet,
    /// For the figure: JSON that the document hands on without looking.
    pub tube: String,
    /// As in the contract, for keeping: JSON likewise.
    pub report: String,
}

impl Answer {
    /// Reads and diagnoses.
    pub fn to(name: &str, bytes: &[u8]) -> Self {
        let known = explanations();
        match intake::read(name, bytes) {
            Ok(tubes) => {
                let read = |tube: Tube| {
                    let report = sweepbook_core::triage(&tube);
                    let mut sheet = Sheet::new(&tube, &report, &known);
                    let mut marks: Vec<&mut Vec<Mark>> = sheet.findings.iter_mut().map(|f| &mut f.marks).collect();
                    let wire = Wire::new(&tube, &mut marks);
                    if wire.point_count() < sheet.points {
                        sheet.notes.push(format!(
                            "The figure and its table show {} of {} points; everything was measured on all of them.",
                            wire.point_count(),
                            sheet.points
                        ));
                    }
                    Read { sheet, tube: json(&wire), report: json(&report) }
                };
                Self { tubes: tubes.into_iter().map(read).collect(), unread: Vec::new() }
            }
            Err(unread) => Self { tubes: Vec::new(), unread: vec![unread] },
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_that_cannot_be_read_is_an_answer_too() {
        let answer = Answer::to("x.csv", b"");
        assert!(answer.tubes.is_empty());
        assert_eq!(answer.unread[0].what, "the file is empty");
    }
}
