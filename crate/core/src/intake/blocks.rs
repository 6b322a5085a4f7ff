//! Tables one below the other in one text: a comment between rows that names another tube,
//! section or held voltage begins the next.

use std::collections::BTreeMap;

use super::error::{Mistake, Place};
use super::metadata;
use super::survey::Surveyed;
use super::table::comments;
use super::{Found, Reading, Refusal, Refused, join, joinable, read_text, refused};
use crate::sorting::gathered;
use crate::sweep::Tube;

/// What begins a table, the widest first.
const KEYS: [&str; 4] = ["tube", "section", "plate_voltage", "grid_voltage"];
/// What a table takes over from the head of the text where it does not say it itself.
const TAKEN_OVER: [&str; 7] = [
    "type",
    "heater_voltage",
    "grid_source_resistance",
    "current_meter",
    "screen_voltage",
    "current_limit",
    "current_resolution",
];

/// One of the tables.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Block<'a> {
    /// What holds for it and is said above it, `key: value` by key.
    head: Head,
    /// Whether some of that is of the bench or the type.
    inherits: bool,
    /// Whether it is of the tube and section above, at another held voltage.
    continues: bool,
    /// Line of the text at which it starts, counted from 1.
    line: usize,
    text: &'a str,
}

/// What is said above a table, by key.
type Head = BTreeMap<String, String>;

/// Byte at which a table starts, and what holds for it.
type Start = (usize, Head);

/// Ends a run of comments: if it says something else than what held so far, a table starts with it.
fn close(starts: &mut Vec<Start>, run: Option<Start>) {
    let Some((at, said)) = run else { return };
    let Some((_, head)) = starts.last() else {
        starts.push((0, said));
        return;
    };
    if KEYS.iter().any(|k| said.get(*k).is_some_and(|v| head.get(*k).is_some_and(|h| h != v))) {
        let next = following(head, &starts[0].1, said);
        starts.push((at, next));
    }
}

/// The tables of a text; `None` where there is only one.
pub(super) fn split<'a>(surveyed: &Surveyed<'a>) -> Option<Vec<Block<'a>>> {
    let text = surveyed.text;
    // Bytes at which tables start, and what is said at the start of each.
    let mut starts: Vec<Start> = Vec::new();
    let mut run: Option<Start> = None;
    let mut end = 0;
    for comment in comments(surveyed) {
        // Rows between two comments part them.
        if text[end..comment.start].chars().any(|c| !c.is_whitespace()) || run.is_none() {
            close(&mut starts, run.take());
        }
        let (_, said) = run.get_or_insert_with(|| (comment.start, BTreeMap::new()));
        if let Some((key, value)) = metadata::said(comment.text)
            && (KEYS.contains(&key.as_str()) || TAKEN_OVER.contains(&key.as_str()))
        {
            said.entry(key).or_insert_with(|| value.to_owned());
        }
        end = comment.end;
    }
    close(&mut starts, run);
    // A last comment without rows heads nothing.
    if starts.len() < 2 || text[end..].trim().is_empty() {
        return None;
    }
    let ends = starts.iter().skip(1).map(|s| s.0).chain([text.len()]);
    let mut line = 1;
    let mut above: Option<&Head> = None;
    let blocks = starts.iter().zip(ends).map(|((start, head), end)| {
        let alike = |above: &Head| KEYS[..2].iter().all(|k| above.get(*k) == head.get(*k));
        let continues = above.replace(head).is_some_and(alike);
        let part = &text[*start..end];
        let begins = line;
        line += super::scan::lines(part).count();
        // What the part says itself is not said twice.
        let own: Vec<String> = comments(&Surveyed::of(part)).filter_map(|c| Some(metadata::said(c.text)?.0)).collect();
        let head: Head = gathered(head.iter().filter(|(k, _)| !own.contains(k)).map(|(k, v)| (k.clone(), v.clone())));
        let inherits = head.keys().any(|k| TAKEN_OVER.contains(&k.as_str()));
        Block { head, inherits, continues, line: begins, text: part }
    });
    Some(blocks.collect())
}

/// What holds for a table that says something else than the one above it: a new tube takes over
/// what the first table's head says of the bench, a new section or voltage also the rest.
fn following(above: &Head, first: &Head, mut said: Head) -> Head {
    let new = |key: &str| said.get(key).is_some_and(|v| above.get(key) != Some(v));
    let (from, kept) = if new("tube") {
        (first, 0)
    } else if new("section") {
        (above, 1)
    } else {
        (above, KEYS.len())
    };
    for key in KEYS[..kept].iter().chain(&TAKEN_OVER) {
        if let Some(value) = from.get(*key) {
            said.entry((*key).to_owned()).or_insert_with(|| value.clone());
        }
    }
    said
}

/// Reads the tables, each as if it were a file; those without a heading have the first one's.
/// Sections of a tube are put together, and points of a section at other held voltages.
pub(super) fn read(name: &str, blocks: &[Block], reading: &Reading) -> Result<Found, Box<Refused>> {
    let mut heading: Option<String> = None;
    let mut understood = None;
    let mut tubes: Vec<Tube> = Vec::new();
    for (place, block) in blocks.iter().enumerate() {
        let mut head: Vec<String> = block.head.iter().map(|(k, v)| format!("# {k}: {v}")).collect();
        if block.inherits && place > 0 {
            head.push(TAKEN.into());
        }
        let read = |head: &[String]| {
            let text: String = head.iter().flat_map(|l| [l, "\n"]).chain([block.text]).collect();
            read_text(name, &Surveyed::of(&text), reading).map_err(|refused| moved(refused, head.len(), block.line))
        };
        let found = match (read(&head), &heading) {
            (Err(refused), Some(heading)) if refused.no_table => {
                head.push(heading.clone());
                read(&head)?
            }
            (found, _) => found?,
        };
        if heading.is_none() {
            let line = found.understood.heading_line.saturating_sub(head.len() + 1);
            heading = super::scan::lines(block.text).nth(line).map(|l| l.2.to_owned());
        }
        understood.get_or_insert(found.understood);
        found.tubes.into_iter().for_each(|tube| put(&mut tubes, tube, block));
    }
    let groups = joinable(&tubes);
    let understood = understood.ok_or_else(|| refused(name, Place::File, Mistake::Empty))?;
    Ok(Found { tubes: join(tubes, &groups), understood })
}

/// Said where a table takes over what another said.
const TAKEN: &str = "# note: what is not said beside this table was taken from the top of its file";

/// Takes in a tube; points of the section before it at another held voltage go to that section.
fn put(tubes: &mut Vec<Tube>, tube: Tube, block: &Block) {
    let same = |last: &Tube| last.name == tube.name && last.kind == tube.kind;
    match tubes.last_mut() {
        Some(last) if block.continues && same(last) => {
            for section in tube.sections {
                match last.sections.iter_mut().find(|s| s.name == section.name) {
                    Some(s) => s.points.append(section.points),
                    None => last.sections.push(section),
                }
            }
            for note in tube.notes {
                if !last.notes.contains(&note) {
                    last.notes.push(note);
                }
            }
        }
        _ => tubes.push(tube),
    }
}

/// A refusal with the line as it is counted in the whole text: `head` lines were put before
/// the table, which starts at `line`.
fn moved(mut refused: Box<Refused>, head: usize, line: usize) -> Box<Refused> {
    let place = match &mut refused.refusal {
        Refusal::Unread(unread) => &mut unread.line,
        Refusal::Question(question) => &mut question.line,
    };
    *place = place.map(|at| line + at.saturating_sub(head + 1));
    refused
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::intake::{read, read_as};

    const HEAD: &str = "section,Va [V],Vg [V],Ia [mA]\n";

    fn rows(scale: f64) -> String {
        (0..4).map(|i| format!("1,100,-{i},{}\n", scale * f64::from(5 - i))).collect()
    }

    #[test]
    fn tubes_one_below_the_other_are_tubes() {
        let text = format!(
            "# type: 6SN7GTB\n# grid_source_resistance: 1 kohm\n# tube: A\n{HEAD}{}\n# tube: B\n{HEAD}{}# tube: C\n# type: 12AU7\n{}",
            rows(1.0),
            rows(2.0),
            rows(3.0)
        );
        let tubes = read("lot.csv", text.as_bytes()).unwrap();
        let of = |t: &Tube| (t.name.clone(), t.kind.clone().unwrap(), t.sections[0].points.ia[0]);
        let said: Vec<_> = tubes.iter().map(of).collect();
        let expected = [("A", "6SN7GTB", 5e-3), ("B", "6SN7GTB", 10e-3), ("C", "12AU7", 15e-3)];
        assert_eq!(said, expected.map(|(n, k, i)| (n.to_owned(), k.to_owned(), i)));
        assert!(tubes.iter().all(|t| t.bench.grid_source_resistance == Some(1e3)));
        assert!(
            tubes[0].notes.is_empty() && tubes[1].notes[0].contains("from the top of its file"),
            "{:?}",
            tubes[1].notes
        );
    }

    #[test]
    fn sections_and_held_voltages_one_below_the_other_are_one_tube() {
        let curve = "Vg [V],Ia [mA]\n-2,1\n-1,2\n0,3\n";
        let text = format!(
            "# tube: A\n# section: 1\n# plate_voltage: 100\n{curve}# plate_voltage: 150\n{curve}# section: 2\n# plate_voltage: 100\n{curve}"
        );
        let tubes = read("a.csv", text.as_bytes()).unwrap();
        assert_eq!(tubes.len(), 1);
        let sections: Vec<(&str, &[f64])> =
            tubes[0].sections.iter().map(|s| (s.name.as_str(), s.points.va.as_slice())).collect();
        assert_eq!(sections, [("1", &[100.0, 100.0, 100.0, 150.0, 150.0, 150.0][..]), ("2", &[100.0; 3][..])]);
    }

    #[test]
    fn places_are_those_of_the_whole_text() {
        let text = format!("# tube: A\n{HEAD}{}# tube: B\n{HEAD}1,100,-1,x\n", rows(1.0));
        let unread = read("a.csv", text.as_bytes()).unwrap_err();
        assert_eq!((unread.line, unread.column), (Some(9), Some(4)), "{unread:?}");
        let text = format!("# tube: A\n# type: 6SN7GTB\n{HEAD}{}# tube: B\n1,100,-1,x\n", rows(1.0));
        let unread = read("a.csv", text.as_bytes()).unwrap_err();
        assert_eq!((unread.line, unread.column), (Some(9), Some(4)), "{unread:?}");
    }

    #[test]
    fn one_answer_serves_all_tables() {
        let table =
            |tube: &str| format!("# tube: {tube}\nVa [V];Vg [V];Ia [uA]\n200;-3;1,234\n200;-2;2,345\n200;-1;3,456\n");
        let text = table("A") + &table("B");
        let Err(Refusal::Question(question)) = read_as("a.csv", text.as_bytes(), &Reading::default()) else {
            panic!("no question")
        };
        let reading = Reading::default().with(&question.candidates[0].option);
        assert_eq!(read_as("a.csv", text.as_bytes(), &reading).unwrap().tubes.len(), 2);
    }

    #[test]
    fn comments_that_say_the_same_or_head_nothing_part_nothing() {
        let text = format!("# tube: A\n{HEAD}{}# tube: A\n{}", rows(1.0), rows(2.0));
        assert_eq!(split(&Surveyed::of(&text)), None);
        let text = format!("# tube: A\n{HEAD}{}# tube: B\n", rows(1.0));
        assert_eq!(split(&Surveyed::of(&text)), None);
        assert!(read("a.csv", text.as_bytes()).unwrap_err().what.contains("contradicts"));
    }
}
