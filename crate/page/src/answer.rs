//! What a worker answers to one file.

use serde::Serialize;
use sweepbook_core::faults::{Explanation, explanations};
use sweepbook_core::intake::{self, Unread};
use sweepbook_core::report::Mark;
use sweepbook_core::sweep::{Lot, Tube};

use crate::json;
use crate::sheet::Sheet;
use crate::wire::Wire;

/// What came of one file.
#[derive(Debug, Clone, Serialize)]
pub struct Answer {
    /// The tubes in it.
    pub tubes: Vec<Read>,
    /// Tubes read before of which this file is another sweep: judged again with it.
    pub again: Vec<Read>,
    /// What could not be read: the whole file, or nothing.
    pub unread: Vec<Unread>,
}

/// One tube that was read.
#[derive(Debug, Clone, Serialize)]
pub struct Read {
    /// Its number in this worker.
    pub id: usize,
    /// For the document.
    pub sheet: Sheet,
    /// For the figure: JSON that the document hands on without looking.
    pub tube: String,
    /// As in the contract, for keeping: JSON likewise.
    pub report: String,
}

/// The tubes that a worker has read, so that sweeps of the same tube can be used
/// together.
#[derive(Debug, Default)]
pub struct Memory {
    lot: Lot,
}

impl Memory {
    /// Reads one file and diagnoses its tubes, and again those of which it brings
    /// another sweep.
    pub fn read(&mut self, name: &str, bytes: &[u8]) -> Answer {
        match intake::read(name, bytes) {
            Ok(tubes) => {
                let before = self.lot.tubes.len();
                self.lot.tubes.extend(tubes);
                let together = self.lot.same_tubes();
                let known = explanations();
                let answer = |id: usize| self.judge(id, &together[id], &known);
                let touched = |id: &usize| together[*id].iter().any(|&other| other >= before);
                Answer {
                    tubes: (before..self.lot.tubes.len()).map(answer).collect(),
                    again: (0..before).filter(touched).map(answer).collect(),
                    unread: Vec::new(),
                }
            }
            Err(unread) => Answer { tubes: Vec::new(), again: Vec::new(), unread: vec![unread] },
        }
    }

    fn judge(&self, id: usize, others: &[usize], known: &[Explanation]) -> Read {
        let tube = &self.lot.tubes[id];
        let others: Vec<&Tube> = others.iter().map(|&i| &self.lot.tubes[i]).collect();
        let report = sweepbook_core::triage_among(tube, &others);
        let mut sheet = Sheet::new(tube, &report, known);
        let mut marks: Vec<&mut Vec<Mark>> = sheet.findings.iter_mut().map(|f| &mut f.marks).collect();
        let wire = Wire::new(tube, &mut marks);
        if wire.point_count() < sheet.points {
            sheet.notes.push(format!(
                "The figure and its table show {} of {} points; everything was measured on all of them.",
                wire.point_count(),
                sheet.points
            ));
        }
        Read { id, sheet, tube: json(&wire), report: json(&report) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_that_cannot_be_read_is_an_answer_too() {
        let answer = Memory::default().read("x.csv", b"");
        assert!(answer.tubes.is_empty());
        assert_eq!(answer.unread[0].what, "the file is empty");
    }

    #[test]
    fn another_sweep_of_a_tube_has_it_judged_again() {
        let table = "section,Va [V],Vg [V],Ia [mA]\n1,100,-3,0.1\n1,100,-2,0.9\n1,100,-1,2.1\n1,100,0,3.5\n";
        let mut memory = Memory::default();
        let first = memory.read("a.csv", format!("# tube: 7\n{table}").as_bytes());
        assert_eq!((first.tubes[0].id, first.again.len()), (0, 0));
        let other = memory.read("b.csv", format!("# tube: 8\n{table}").as_bytes());
        assert_eq!((other.tubes[0].id, other.again.len()), (1, 0));
        let second = memory.read("c.csv", format!("# tube: 7\n{table}").as_bytes());
        assert_eq!(second.tubes[0].id, 2);
        assert_eq!(second.again.iter().map(|r| r.id).collect::<Vec<_>>(), [0]);
    }
}
