//! What a worker answers to one file.

use std::collections::{HashMap, HashSet};

use serde::{Deserialize, Serialize};
use sweepbook_core::Judged;
use sweepbook_core::faults::{Explanation, explanations};
use sweepbook_core::figure::{self, Chosen, Differences};
use sweepbook_core::intake::{self, Found, Part, Profile, Reading, Refusal, Unread};
use sweepbook_core::pairing::{self, OfType, Wanted};
use sweepbook_core::report::Mark;
use sweepbook_core::report::paper::{self, Entry, Said};
use sweepbook_core::sweep::{Lot, Tube};

use crate::kept::{self, Kept};
use crate::question::Asked;
use crate::row::Row;
use crate::sheet::Sheet;
use crate::wire::Wire;
use crate::{json, reading};

/// What was decided about a file.
#[derive(Debug, Clone, Default, Deserialize)]
pub struct How {
    /// Options `key=value` that say how to read it.
    #[serde(default)]
    pub options: Vec<String>,
    /// Numbers of tubes that were read from it before, otherwise: once it is read,
    /// they are forgotten.
    #[serde(default)]
    pub instead_of: Vec<usize>,
    /// The profile of the bench on which the lot was measured, its text.
    #[serde(default)]
    pub bench: Option<String>,
}

/// What came of one file.
#[derive(Debug, Clone, Default, Serialize)]
pub struct Answer {
    /// The tubes in it.
    pub tubes: Vec<Read>,
    /// Tubes read before of which another sweep came or went: judged again.
    pub again: Vec<Read>,
    /// What could not be read: the whole file, or nothing.
    pub unread: Vec<Unread>,
    /// What has to be answered before all of it can be read: one question, or none.
    pub questions: Vec<Asked>,
    /// How many tables the file holds: an answer counts for all of them.
    pub tables: usize,
}

impl Answer {
    /// That a file was not read.
    pub fn unread(unread: Unread) -> Self {
        Self { unread: vec![unread], ..Self::default() }
    }
}

/// One tube that was read.
#[derive(Debug, Clone, Serialize)]
pub struct Read {
    /// Its number in this worker.
    pub id: usize,
    /// For the document.
    pub sheet: Sheet,
    /// For the lot's table.
    pub row: Row,
    /// For the figure: JSON that the document hands on without looking.
    pub tube: String,
    /// As in the contract, for keeping: JSON likewise.
    pub report: String,
    /// What of it is compared with other tubes: JSON likewise.
    pub member: String,
    /// All that was found, for [`Memory::restore`]: JSON likewise.
    pub judged: String,
}

/// Tubes that may be one.
#[derive(Debug, Clone, Serialize)]
pub struct Pieces {
    /// Their numbers in this worker.
    pub ids: Vec<usize>,
    /// What the tube would be called.
    pub tube: String,
    /// The pieces, in words.
    pub says: String,
}

/// The tubes that a worker has read, so that sweeps of the same tube can be used
/// together.
#[derive(Debug, Default)]
pub struct Memory {
    lot: Lot,
    /// The number of each tube.
    ids: Vec<usize>,
    /// The number of the next one.
    next: usize,
    /// What was found of each, by number, with the marks.
    found: HashMap<usize, Judged>,
}

impl Memory {
    /// Reads one file and diagnoses its tubes, and again those of which it brings
    /// another sweep.
    pub fn read(&mut self, name: &str, bytes: &[u8], how: &How) -> Answer {
        match decided(name, how) {
            Ok((reading, bench)) => {
                self.hear(vec![intake::read_as(name, bytes, &reading)], Vec::new(), how, bench.as_ref())
            }
            Err(unread) => Answer::unread(unread),
        }
    }

    /// The same for the tables of a spreadsheet or an archive; `failed` is what of it
    /// could not be unpacked. What can be read is taken while another table asks.
    pub fn read_parts(&mut self, name: &str, parts: &[Part], failed: Vec<Unread>, how: &How) -> Answer {
        match decided(name, how) {
            Ok((reading, bench)) => {
                let read = intake::read_parts_asked(parts, &reading);
                Answer { tables: parts.len(), ..self.hear(read, failed, how, bench.as_ref()) }
            }
            Err(unread) => Answer::unread(unread),
        }
    }

    /// Reads one file again whose tubes were judged in another worker, and takes over what was
    /// found of them; whether it holds those tubes still. Where not, nothing is changed.
    pub fn restore(&mut self, name: &str, bytes: &[u8], how: &How, kept: Vec<Kept>) -> bool {
        let Ok((reading, bench)) = decided(name, how) else { return false };
        self.hold(vec![intake::read_as(name, bytes, &reading)], bench.as_ref(), kept)
    }

    /// The same for the tables of a spreadsheet or an archive.
    pub fn restore_parts(&mut self, name: &str, parts: &[Part], how: &How, kept: Vec<Kept>) -> bool {
        let Ok((reading, bench)) = decided(name, how) else { return false };
        self.hold(intake::read_parts_asked(parts, &reading), bench.as_ref(), kept)
    }

    fn hold(&mut self, read: Vec<Result<Found, Refusal>>, bench: Option<&Profile>, kept: Vec<Kept>) -> bool {
        let mut tubes: Vec<Tube> = read.into_iter().flatten().flat_map(|found| found.tubes).collect();
        on_bench(&mut tubes, bench);
        let judged: Option<Vec<Judged>> = kept.iter().map(Kept::judged).collect();
        let Some(judged) = judged.filter(|judged| {
            judged.iter().map(|j| &j.report.tube).eq(tubes.iter().map(|tube| &tube.name))
                && kept.iter().all(|one| !self.found.contains_key(&one.id))
        }) else {
            return false;
        };
        self.ids.extend(kept.iter().map(|one| one.id));
        self.found.extend(kept.iter().map(|one| one.id).zip(judged));
        self.lot.tubes.extend(tubes);
        true
    }

    fn hear(
        &mut self,
        read: Vec<Result<Found, Refusal>>,
        failed: Vec<Unread>,
        how: &How,
        bench: Option<&Profile>,
    ) -> Answer {
        let (mut tubes, mut unread, mut question): (Vec<Tube>, _, _) = (Vec::new(), Vec::new(), None);
        for result in read {
            match result {
                Ok(found) => tubes.extend(found.tubes),
                Err(Refusal::Unread(one)) => unread.push(one),
                // The others come up as this one is answered.
                Err(Refusal::Question(one)) => question = question.or(Some(one)),
            }
        }
        unread.extend(failed);
        on_bench(&mut tubes, bench);
        // Where nothing can be read, what was there stays.
        let taken = if tubes.is_empty() { Answer::default() } else { self.take(tubes, &how.instead_of) };
        Answer { unread, questions: question.iter().map(|q| Asked::new(q)).collect(), tables: 1, ..taken }
    }

    /// Tubes of which each is a piece of another's tube.
    pub fn pieces(&self) -> Vec<Pieces> {
        let group = |group: Vec<usize>| {
            let (tube, says) = intake::told(&self.lot.tubes, &group);
            Pieces { ids: group.iter().map(|&at| self.ids[at]).collect(), tube, says }
        };
        intake::joinable(&self.lot.tubes).into_iter().map(group).collect()
    }

    /// Puts tubes together, by their numbers, if they are pieces of one.
    pub fn join(&mut self, ids: &[usize]) -> Answer {
        let groups = intake::joinable(&self.lot.tubes);
        let same = |group: &&Vec<usize>| group.iter().map(|&at| self.ids[at]).eq(ids.iter().copied());
        let Some(group) = groups.iter().find(same) else { return Answer::default() };
        let pieces: Vec<Tube> = group.iter().map(|&at| self.lot.tubes[at].clone()).collect();
        let all: Vec<usize> = (0..pieces.len()).collect();
        self.take(intake::join(pieces, &[all]), ids)
    }

    /// Forgets some tubes, and judges again those that were judged with them.
    pub fn leave(&mut self, gone: &[usize]) -> Answer {
        self.take(Vec::new(), gone)
    }

    /// Takes in tubes, some of them in the place of others.
    fn take(&mut self, tubes: Vec<Tube>, instead_of: &[usize]) -> Answer {
        let left = self.forget(instead_of);
        let before = self.lot.tubes.len();
        self.ids.extend(self.next..self.next + tubes.len());
        self.next += tubes.len();
        self.lot.tubes.extend(tubes);
        let together = self.lot.same_tubes();
        let known = explanations();
        let touched = |at: &usize| left.contains(&self.ids[*at]) || together[*at].iter().any(|&other| other >= before);
        let again: Vec<usize> = (0..before).filter(touched).collect();
        let mut answer = |at: usize| {
            let (read, report) = self.judge(at, &together[at], &known);
            self.found.insert(read.id, report);
            read
        };
        Answer {
            tubes: (before..together.len()).map(&mut answer).collect(),
            again: again.into_iter().map(&mut answer).collect(),
            ..Answer::default()
        }
    }

    /// Forgets some tubes; the numbers of those that were judged with them.
    fn forget(&mut self, gone: &[usize]) -> HashSet<usize> {
        if gone.is_empty() {
            return HashSet::new();
        }
        let gone: HashSet<usize> = gone.iter().copied().collect();
        self.found.retain(|id, _| !gone.contains(id));
        let together = self.lot.same_tubes();
        let of_gone = (0..self.ids.len()).filter(|at| gone.contains(&self.ids[*at]));
        let left = of_gone.flat_map(|at| together[at].iter().map(|&other| self.ids[other])).collect();
        let kept = std::mem::take(&mut self.lot.tubes).into_iter().zip(std::mem::take(&mut self.ids));
        (self.lot.tubes, self.ids) = kept.filter(|(_, id)| !gone.contains(id)).unzip();
        left
    }

    /// The report on paper of tubes by their numbers, in that order; `None` where one of
    /// them is not known.
    pub fn paper(&self, ids: &[usize], said: &Said) -> Option<String> {
        let entry = |(tube, id)| Some(Entry { tube, report: &self.found.get(id)?.report });
        let entries: Vec<Entry> = self.lot.tubes.iter().zip(&self.ids).map(entry).collect::<Option<_>>()?;
        let chosen: Option<Vec<usize>> = ids.iter().map(|id| self.ids.iter().position(|known| known == id)).collect();
        Some(paper::document(&entries, &chosen?, said))
    }

    /// Groups of like tubes among those with these numbers; places are places in `ids`.
    /// `None` where one of them is not known.
    pub fn matched(&self, ids: &[usize], wanted: &Wanted) -> Option<Vec<OfType>> {
        Some(pairing::match_lot(&self.judged(ids)?, wanted))
    }

    fn judged(&self, ids: &[usize]) -> Option<Vec<&Judged>> {
        ids.iter().map(|id| self.found.get(id)).collect()
    }

    /// What a stage makes of tubes by their numbers; `None` where one is not known.
    pub fn staged(&self, ids: &[usize], form: &std::collections::BTreeMap<String, String>) -> Option<crate::Staged> {
        let judged = self.judged(ids)?;
        Some(crate::Staged::of(form, |stage, swing| sweepbook_core::stage::across(&judged, stage, swing)))
    }

    /// The curves of several tubes, or of one section of each, laid over each other: SVG.
    pub fn overlay(&self, members: &[(usize, Option<String>)], width: f64, height: f64) -> Option<String> {
        pairing::overlay(&self.chosen(members)?, width, height)
    }

    /// How several tubes, or sections, differ from the first of them.
    pub fn differences(&self, members: &[(usize, Option<String>)], width: f64, height: f64) -> Option<Differences> {
        Some(figure::differences(&self.chosen(members)?, width, height))
    }

    /// Those with these numbers; `None` where one of them is not known.
    fn chosen<'a>(&'a self, members: &'a [(usize, Option<String>)]) -> Option<Vec<Chosen<'a>>> {
        let one = |(id, section): &'a (usize, Option<String>)| {
            let at = self.ids.iter().position(|known| known == id)?;
            Some((&self.lot.tubes[at], section.as_deref()))
        };
        members.iter().map(one).collect()
    }

    fn judge(&self, at: usize, others: &[usize], known: &[Explanation]) -> (Read, Judged) {
        let (id, tube) = (self.ids[at], &self.lot.tubes[at]);
        let others: Vec<&Tube> = others.iter().map(|&i| &self.lot.tubes[i]).collect();
        let judged = sweepbook_core::judge_among(tube, &others);
        let Judged { report, member } = &judged;
        let mut sheet = Sheet::new(tube, report, known);
        let mut marks: Vec<&mut Vec<Mark>> = sheet.findings.iter_mut().map(|f| &mut f.marks).collect();
        let wire = Wire::new(tube, &mut marks);
        if wire.point_count() < sheet.points {
            sheet.notes.push(format!(
                "The figure and its table show {} of {} points; everything was measured on all of them.",
                wire.point_count(),
                sheet.points
            ));
        }
        let text = json(&report.clone().without_marks());
        let row = Row::new(tube, report);
        let all = kept::text(&judged);
        (Read { id, sheet, row, tube: json(&wire), report: text, member: json(member), judged: all }, judged)
    }
}

/// Fills in what the profile of their bench says, where there is one.
fn on_bench(tubes: &mut [Tube], bench: Option<&Profile>) {
    if let Some(profile) = bench {
        tubes.iter_mut().for_each(|tube| profile.apply(tube));
    }
}

/// What was decided about a file, understood.
fn decided(name: &str, how: &How) -> Result<(Reading, Option<Profile>), Unread> {
    let reading = reading(name, &how.options)?;
    let bench = how.bench.as_ref().map(|text| Profile::read("bench profile", text)).transpose()?;
    Ok((reading, bench))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_that_cannot_be_read_is_an_answer_too() {
        let answer = Memory::default().read("x.csv", b"", &How::default());
        assert!(answer.tubes.is_empty());
        assert_eq!(answer.unread[0].what, "the file is empty");
    }

    #[test]
    fn pieces_are_put_together_if_that_is_asked_for() {
        let text = b"# type: 12AX7\nVa [V],Vg [V],Ia [mA]\n200,-3,1\n200,-2,2\n200,-1,3\n";
        let mut memory = Memory::default();
        for file in ["9-1.csv", "7.csv", "9-2.csv"] {
            memory.read(file, text, &How::default());
        }
        let pieces = memory.pieces();
        assert_eq!((pieces.len(), pieces[0].ids.as_slice(), pieces[0].tube.as_str()), (1, &[0, 2][..], "9"));
        assert!(memory.join(&[0, 1]).tubes.is_empty());
        let joined = memory.join(&[0, 2]);
        assert_eq!((joined.tubes[0].id, joined.tubes[0].sheet.source.as_slice().len()), (3, 2));
        assert_eq!((memory.lot.tubes.len(), memory.pieces().len()), (2, 0));
    }

    #[test]
    fn a_report_on_paper_is_of_the_tubes_asked_for() {
        let text = |tube: u32| format!("# tube: N{tube}\nVa [V],Vg [V],Ia [mA]\n200,-3,1\n200,-2,2\n200,-1,3\n");
        let mut memory = Memory::default();
        for tube in [7, 8] {
            memory.read("a.csv", text(tube).as_bytes(), &How::default());
        }
        let one = memory.paper(&[1], &Said::default()).unwrap();
        assert!(one.contains("Tube N8") && !one.contains("Tube N7"));
        assert_eq!(memory.paper(&[0, 1], &Said::default()).unwrap().matches("<article").count(), 3);
        memory.leave(&[0]);
        assert_eq!(memory.paper(&[0], &Said::default()), None);
    }

    #[test]
    fn another_sweep_of_a_tube_has_it_judged_again() {
        let table = "section,Va [V],Vg [V],Ia [mA]\n1,100,-3,0.1\n1,100,-2,0.9\n1,100,-1,2.1\n1,100,0,3.5\n";
        let mut memory = Memory::default();
        let first = memory.read("a.csv", format!("# tube: 7\n{table}").as_bytes(), &How::default());
        assert_eq!((first.tubes[0].id, first.again.len()), (0, 0));
        let other = memory.read("b.csv", format!("# tube: 8\n{table}").as_bytes(), &How::default());
        assert_eq!((other.tubes[0].id, other.again.len()), (1, 0));
        let second = memory.read("c.csv", format!("# tube: 7\n{table}").as_bytes(), &How::default());
        assert_eq!(second.tubes[0].id, 2);
        assert_eq!(second.again.iter().map(|r| r.id).collect::<Vec<_>>(), [0]);
    }

    #[test]
    fn a_question_is_answered_and_answered_otherwise() {
        let text = b"# tube: 7\nVa [V];Vg [V];Ia [uA]\n200;-3;1,234\n200;-2;2,345\n200;-1;3,456\n";
        let mut memory = Memory::default();
        let other = b"# tube: 7\nVa [V],Vg [V],Ia [mA]\n200,-3,1\n200,-2,2\n200,-1,3\n";
        memory.read("other.csv", other, &How::default());
        let asked = memory.read("b.csv", text, &How::default());
        assert_eq!((asked.tubes.len(), asked.unread.len(), asked.questions.len()), (0, 0, 1));
        let how = |option: &str, instead_of: &[usize]| How {
            options: vec![option.into()],
            instead_of: instead_of.into(),
            ..How::default()
        };
        let read = memory.read("b.csv", text, &how("decimal=comma", &[]));
        assert_eq!((read.tubes[0].id, read.again[0].id), (1, 0));
        assert_eq!(memory.lot.tubes[1].sections[0].points.ia[0], 1.234e-6);
        // Where it cannot be read, what was there stays.
        assert_eq!(memory.read("b.csv", b"", &how("decimal=point", &[1])).unread.len(), 1);
        let again = memory.read("b.csv", text, &how("decimal=point", &[1]));
        assert_eq!((again.tubes[0].id, again.again[0].id, memory.lot.tubes.len()), (2, 0, 2));
        assert_eq!(memory.lot.tubes[1].sections[0].points.ia[0], 1.234e-3);
        let bad = memory.read("b.csv", text, &how("decimal=dot", &[]));
        assert!(bad.unread[0].mend.contains("decimal=comma"));
    }

    #[test]
    fn what_a_file_of_several_tables_holds_is_taken_while_one_of_them_asks() {
        let clear = b"Va [V],Vg [V],Ia [mA]\n200,-3,1\n200,-2,2\n200,-1,3\n";
        let unclear = b"Va [V];Vg [V];Ia [uA]\n200;-3;1,234\n200;-2;2,345\n200;-1;3,456\n";
        let part = |name, bytes| Part { name, sheet: None, bytes };
        let parts = [part("z.zip/a.csv", &clear[..]), part("z.zip/b.csv", unclear), part("z.zip/c.csv", b"x")];
        let failed = vec![Unread::unopened("z.zip/d.xlsx", "gone")];
        let mut memory = Memory::default();
        let asked = memory.read_parts("z.zip", &parts, failed.clone(), &How::default());
        assert_eq!((asked.tubes.len(), asked.questions.len(), asked.unread.len(), asked.tables), (1, 1, 2, 3));
        let how = How { options: vec!["decimal=comma".into()], instead_of: vec![asked.tubes[0].id], ..How::default() };
        let read = memory.read_parts("z.zip", &parts, failed, &how);
        assert_eq!((read.tubes.len(), read.questions.len(), memory.lot.tubes.len()), (2, 0, 2));
        assert_eq!(memory.lot.tubes[1].sections[0].points.ia[0], 1.234e-6);
    }

    #[test]
    fn a_bench_profile_is_applied_and_another_one_takes_its_place() {
        let text = b"Va [V],Vg [V],Ia [mA]\n200,-3,1\n200,-2,2\n200,-1,3\n";
        let bench = |ohm: u32| {
            Some(format!("{{\"schema\":\"sweepbook/bench/1\",\"name\":\"W\",\"grid_source_resistance\":{ohm}}}"))
        };
        let mut memory = Memory::default();
        let first = memory.read("a.csv", text, &How { bench: bench(10_000), ..How::default() });
        assert_eq!(memory.lot.tubes[0].bench.grid_source_resistance, Some(1e4));
        assert!(first.tubes[0].sheet.notes.iter().any(|n| n.contains("bench profile \"W\"")));
        let how = How { bench: bench(0), instead_of: vec![first.tubes[0].id], ..How::default() };
        memory.read("a.csv", text, &how);
        assert_eq!((memory.lot.tubes.len(), memory.lot.tubes[0].bench.grid_source_resistance), (1, Some(0.0)));
        let bad = memory.read("a.csv", text, &How { bench: Some("{}".into()), ..How::default() });
        assert!(bad.unread[0].mend.contains("sweepbook/bench/1"));
    }

    #[test]
    fn tubes_of_another_worker_are_taken_over_as_they_were_judged() {
        let text = b"# tube: 7\n# type: 12AX7\nVa [V],Vg [V],Ia [mA]\n200,-3,1\n200,-2,2\n200,-1,3\n";
        let mut before = Memory::default();
        let read = before.read("a.csv", text, &How::default()).tubes.remove(0);
        let kept = |id, judged: &str| vec![Kept { id, judged: judged.to_owned() }];
        let mut memory = Memory::default();
        assert!(!memory.restore("a.csv", text, &How::default(), kept(4_000_000_000, "{}")));
        assert!(!memory.restore("a.csv", b"x", &How::default(), kept(4_000_000_000, &read.judged)));
        assert!(memory.lot.tubes.is_empty() && memory.ids.is_empty());
        assert!(memory.restore("a.csv", text, &How::default(), kept(4_000_000_000, &read.judged)));
        assert_eq!((&memory.lot, &memory.found[&4_000_000_000]), (&before.lot, &before.found[&0]));
        // Its number is taken, and others go on from nought.
        assert!(!memory.restore("a.csv", text, &How::default(), kept(4_000_000_000, &read.judged)));
        let other = memory.read("b.csv", text, &How::default());
        assert_eq!((other.tubes[0].id, other.again[0].id), (0, 4_000_000_000));
    }

    #[test]
    fn tubes_that_were_judged_with_one_that_left_are_judged_again() {
        let text = |tube: u32| format!("# tube: {tube}\nVa [V],Vg [V],Ia [mA]\n200,-3,1\n200,-2,2\n200,-1,3\n");
        let mut memory = Memory::default();
        memory.read("a.csv", text(7).as_bytes(), &How::default());
        memory.read("b.csv", text(7).as_bytes(), &How::default());
        let other = memory.read("b.csv", text(8).as_bytes(), &How { instead_of: vec![1], ..How::default() });
        assert_eq!(other.again.iter().map(|r| r.id).collect::<Vec<_>>(), [0]);
        memory.read("c.csv", text(7).as_bytes(), &How::default());
        let left = memory.leave(&[3]);
        assert_eq!((left.tubes.len(), left.again.iter().map(|r| r.id).collect::<Vec<_>>()), (0, vec![0]));
    }
}
