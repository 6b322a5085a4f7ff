//! A question about how to read a file, ready to be put into the document.

use serde::Serialize;
use sweepbook_core::intake::{Candidate, Preview, Question, Unread, clean};
use sweepbook_core::sweep::{Bench, Points, Section, Tube};

use crate::wire::Wire;
use crate::{json, words};

/// Rows of a candidate's table: enough to see a column's size and sign, and few
/// enough that two tables fit one small screen (by construction).
const MOST_ROWS: usize = 8;

/// A file of which two readings fit.
#[derive(Debug, Clone, Serialize)]
pub struct Asked {
    /// The file.
    pub source: String,
    /// Line, counted from 1, where one line raises it.
    pub line: Option<usize>,
    /// Cell in its row, counted from 1.
    pub column: Option<usize>,
    /// What is open, a clause.
    pub what: String,
    /// What files of the same kind have in common.
    pub shape: String,
    /// The readings that fit, the likelier first.
    pub candidates: Vec<Choice>,
    /// The question as the report lists it while nobody answers.
    pub refusal: Unread,
}

/// One answer, and what the file holds under it.
#[derive(Debug, Clone, Serialize)]
pub struct Choice {
    /// The option that settles the question so.
    pub option: String,
    /// What it means, a clause.
    pub says: String,
    /// How many points the file has under it.
    pub points: usize,
    /// A few of them.
    pub rows: Vec<[String; 3]>,
    /// Which of the columns Va, Vg, Ia are not the same under every answer.
    pub differs: [bool; 3],
    /// For the figure: JSON that the document hands on without looking.
    pub tube: String,
}

impl Asked {
    /// The question in words and numbers.
    pub fn new(question: &Question) -> Self {
        let previews: Vec<&Preview> = question.candidates.iter().filter_map(|c| c.preview.as_ref()).collect();
        let (shown, differs) = (shown(&previews), [0, 1, 2].map(|k| differs(&previews, k)));
        let mut refusal = question.refusal();
        refusal.source = clean(&refusal.source);
        Self {
            source: refusal.source.clone(),
            line: question.line,
            column: question.column,
            what: question.what.clone(),
            shape: question.shape.clone(),
            candidates: question.candidates.iter().map(|c| choice(c, &shown, differs)).collect(),
            refusal,
        }
    }
}

/// Va, Vg and Ia of a preview.
fn columns(preview: &Preview) -> [&[f64]; 3] {
    [&preview.va, &preview.vg, &preview.ia]
}

/// Whether a column is not the same under every answer.
fn differs(previews: &[&Preview], column: usize) -> bool {
    previews.windows(2).any(|pair| columns(pair[0])[column] != columns(pair[1])[column])
}

/// The places of the points to show: those that tell the answers apart come first.
fn shown(previews: &[&Preview]) -> Vec<usize> {
    let most = previews.iter().map(|p| p.ia.len()).max().unwrap_or(0);
    let tells = |i: &usize| {
        let point = |p: &Preview| columns(p).map(|c| c.get(*i).copied());
        previews.windows(2).any(|pair| point(pair[0]) != point(pair[1]))
    };
    let (mut places, rest): (Vec<usize>, Vec<usize>) = (0..most).partition(tells);
    places.extend(rest);
    places.truncate(MOST_ROWS);
    places.sort_unstable();
    places
}

fn choice(candidate: &Candidate, shown: &[usize], differs: [bool; 3]) -> Choice {
    let preview = candidate.preview.as_ref();
    let row = |p: &Preview, i: usize| {
        let cell = |k: usize, unit: &str| columns(p)[k].get(i).map(|v| words::number(*v, unit));
        Some([cell(0, "V")?, cell(1, "V")?, cell(2, "A")?])
    };
    Choice {
        option: candidate.option.clone(),
        says: candidate.says.clone(),
        points: preview.map_or(0, |p| p.points),
        rows: preview.map_or_else(Vec::new, |p| shown.iter().filter_map(|&i| row(p, i)).collect()),
        differs,
        tube: json(&Wire::new(&tube(preview), &mut [])),
    }
}

/// What the figure of a candidate is drawn of.
fn tube(preview: Option<&Preview>) -> Tube {
    let points = preview.map_or_else(Points::default, |p| Points {
        va: p.va.clone(),
        vg: p.vg.clone(),
        ia: p.ia.clone(),
        ..Points::default()
    });
    Tube {
        name: String::new(),
        source: Vec::new(),
        kind: None,
        notes: Vec::new(),
        bench: Bench::default(),
        sections: vec![Section { name: "1".into(), points }],
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use sweepbook_core::intake::{Reading, Refusal, read_as};

    fn asked(name: &str, text: &str) -> Asked {
        match read_as(name, text.as_bytes(), &Reading::default()) {
            Err(Refusal::Question(question)) => Asked::new(&question),
            other => panic!("{other:?}"),
        }
    }

    #[test]
    fn a_question_shows_the_points_that_tell_its_answers_apart() {
        let dull: String = (0..20).map(|i| format!("100;-{i};0\n")).collect();
        let asked = asked("b\u{202e}.csv", &format!("Va [V];Vg [V];Ia [uA]\n{dull}200;-1;1,234\n"));
        assert_eq!(asked.source, "b\u{fffd}.csv");
        assert_eq!(asked.shape, "va [v]|vg [v]|ia [ua]");
        let [comma, point] = &asked.candidates[..] else { panic!("{asked:?}") };
        assert_eq!((comma.option.as_str(), comma.points), ("decimal=comma", 21));
        assert_eq!(comma.differs, [false, false, true]);
        assert_eq!(comma.rows.len(), MOST_ROWS);
        assert_eq!(comma.rows[7], ["200\u{a0}V", "−1\u{a0}V", "1.23\u{a0}µA"]);
        assert_eq!(point.rows[7], ["200\u{a0}V", "−1\u{a0}V", "1.23\u{a0}mA"]);
        assert!(asked.refusal.mend.contains("--read 'decimal=comma'"));
        assert!(comma.tube.contains("200"));
    }
}
