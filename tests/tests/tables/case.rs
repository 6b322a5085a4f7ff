//! One small file and what is expected of it.

use sweepbook_core::intake::{self, Reading, Refusal};
use sweepbook_core::sweep::Tube;

/// What intake is to do with a file.
#[derive(Clone)]
enum Expected {
    /// The points: sections by ` | `, rows by `; `, numbers in V, V and mA by blanks,
    /// after the section's name and a colon.
    Reads(&'static str),
    /// The options of the question.
    Asks(&'static [&'static str]),
    /// Line, column (0 for none) and words of the refusal.
    Refuses(usize, usize, &'static str),
}

/// A small file.
#[derive(Clone)]
pub struct Case {
    pub name: &'static str,
    bytes: Vec<u8>,
    options: &'static [&'static str],
    expected: Expected,
    also: Option<fn(&Tube) -> bool>,
}

pub fn reads(name: &'static str, bytes: impl AsRef<[u8]>, points: &'static str) -> Case {
    Case { name, bytes: bytes.as_ref().to_vec(), options: &[], expected: Expected::Reads(points), also: None }
}

pub fn asks(name: &'static str, bytes: impl AsRef<[u8]>, options: &'static [&'static str]) -> Case {
    Case { name, bytes: bytes.as_ref().to_vec(), options: &[], expected: Expected::Asks(options), also: None }
}

pub fn refuses(name: &'static str, bytes: impl AsRef<[u8]>, place: (usize, usize), words: &'static str) -> Case {
    let expected = Expected::Refuses(place.0, place.1, words);
    Case { name, bytes: bytes.as_ref().to_vec(), options: &[], expected, also: None }
}

impl Case {
    /// With these options decided.
    pub fn with(mut self, options: &'static [&'static str]) -> Self {
        self.options = options;
        self
    }

    /// And this holds of the first tube.
    pub fn also(mut self, holds: fn(&Tube) -> bool) -> Self {
        self.also = Some(holds);
        self
    }

    fn reading(&self) -> Reading {
        let mut reading = Reading::default();
        self.options.iter().for_each(|o| reading.set(o).unwrap());
        reading
    }

    pub fn check(&self) -> Result<(), String> {
        let result = intake::read_as("t.csv", &self.bytes, &self.reading());
        let wrong = |what: String| Err(format!("{}: {what}", self.name));
        match (&self.expected, result) {
            (Expected::Reads(points), Ok(found)) => {
                let read = shown(&found.tubes);
                if read != *points {
                    return wrong(format!("read {read}\n    not {points}"));
                }
                match self.also {
                    Some(holds) if !holds(&found.tubes[0]) => wrong(format!("{:?}", found.tubes[0])),
                    _ => Ok(()),
                }
            }
            (Expected::Asks(options), Err(Refusal::Question(question))) => {
                let asked: Vec<&str> = question.candidates.iter().map(|c| c.option.as_str()).collect();
                if asked != *options { wrong(format!("asks {asked:?}")) } else { Ok(()) }
            }
            (Expected::Refuses(line, column, words), Err(Refusal::Unread(unread))) => {
                let place = (unread.line.unwrap_or(0), unread.column.unwrap_or(0));
                let right = place == (*line, *column) && unread.what.contains(words) && !unread.mend.is_empty();
                if right { Ok(()) } else { wrong(format!("refused: {unread}")) }
            }
            (_, Ok(found)) => wrong(format!("was read: {}", shown(&found.tubes))),
            (_, Err(Refusal::Question(question))) => wrong(format!("asks: {}", question.refusal())),
            (_, Err(Refusal::Unread(unread))) => wrong(format!("refused: {unread}")),
        }
    }

    /// Each answer leads on: to tubes, or to another question.
    pub fn answers_settle(&self) {
        let Err(Refusal::Question(question)) = intake::read_as("t.csv", &self.bytes, &self.reading()) else { return };
        assert!(question.candidates.len() >= 2, "{}", self.name);
        let refusal = question.refusal();
        for candidate in &question.candidates {
            assert!(refusal.mend.contains(&format!("--read '{}'", candidate.option)), "{}: {refusal}", self.name);
            let mut reading = self.reading();
            reading.set(&candidate.option).unwrap();
            match intake::read_as("t.csv", &self.bytes, &reading) {
                Ok(found) => {
                    let points: usize = found.tubes.iter().map(Tube::point_count).sum();
                    assert_eq!(candidate.preview.as_ref().unwrap().points, points, "{}", self.name);
                }
                Err(Refusal::Question(next)) => assert_ne!(next.what, question.what, "{}", self.name),
                Err(Refusal::Unread(unread)) => panic!("{}: {unread}", self.name),
            }
        }
    }
}

/// Points as [`Expected::Reads`] has them.
fn shown(tubes: &[Tube]) -> String {
    let number = |v: f64| {
        let text = format!("{v:.6}");
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    };
    let sections = tubes.iter().flat_map(|t| &t.sections).map(|section| {
        let p = &section.points;
        let row = |i: usize| format!("{} {} {}", number(p.va[i]), number(p.vg[i]), number(p.ia[i] * 1e3));
        format!("{}: {}", section.name, (0..p.len()).map(row).collect::<Vec<_>>().join("; "))
    });
    sections.collect::<Vec<_>>().join(" | ")
}
