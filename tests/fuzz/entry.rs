//! What the fuzz targets do with bytes, shared with the replay in `tests/run`.

use sweepbook_core::intake::{Part, Reading, Refusal, read, read_as, read_parts, write_exact, write_json};
use sweepbook_core::notebook::Document;
use sweepbook_core::sweep::Tube;

/// Most parts of a file that are read: more would be the same again.
const MOST_PARTS: usize = 4;

/// A text: read it, answer what is asked, and whatever was understood reads back.
pub fn text(bytes: &[u8]) {
    let mut reading = Reading::default();
    for _ in 0..4 {
        match read_as("fuzz.csv", bytes, &reading) {
            Ok(found) => return found.tubes.iter().for_each(reads_back),
            Err(Refusal::Question(question)) => {
                assert!(question.candidates.len() > 1);
                let last = question.candidates.last().map(|c| c.option.clone()).unwrap_or_default();
                assert!(reading.set(&last).is_ok(), "{last}");
            }
            Err(Refusal::Unread(unread)) => {
                assert!(!unread.what.is_empty() && !unread.mend.is_empty());
                return;
            }
        }
    }
}

fn reads_back(tube: &Tube) {
    let points = tube.point_count();
    let same = |back: Vec<Tube>| assert_eq!(back.iter().map(Tube::point_count).sum::<usize>(), points);
    if let Ok(json) = write_json(std::slice::from_ref(tube)) {
        same(read("fuzz.json", json.as_bytes()).unwrap_or_else(|e| panic!("{e}")));
    }
    // The table may raise a question anew (signs), or leave a repeated row out.
    let _ = read("fuzz.csv", write_exact(tube).as_bytes());
}

/// A spreadsheet or an archive: take it apart, and read the parts.
pub fn spreadsheet(bytes: &[u8]) {
    let unpacked = sweepbook_sheets::unpack("fuzz.xlsx", bytes);
    let parts: Vec<Part> = unpacked
        .iter()
        .flatten()
        .take(MOST_PARTS)
        .map(|p| Part { name: &p.name, sheet: p.sheet.as_deref(), bytes: &p.bytes })
        .collect();
    for found in read_parts(&parts, &Reading::default()).into_iter().flatten() {
        found.tubes.iter().for_each(reads_back);
    }
}

/// A notebook: what was read writes and reads back equal, merging it with itself changes
/// nothing, and it can be shown, undone and redone whatever it holds.
pub fn notebook(bytes: &[u8]) {
    let read = match Document::read(bytes) {
        Ok(read) => read,
        Err(error) => {
            assert!(!error.what.is_empty() && !error.mend.is_empty());
            return;
        }
    };
    let text = read.write().unwrap_or_else(|e| panic!("{e}"));
    let back = Document::read(text.as_bytes()).unwrap_or_else(|e| panic!("{e}"));
    assert_eq!(back, read);
    let mut both = read.clone();
    assert!(both.merge(&back).is_ok_and(|new| new == 0));
    assert_eq!(both, read);
    let shown = read.notebook.shown();
    assert_eq!(both.notebook.shown(), shown);
    assert_eq!(read.notebook.history().len(), read.notebook.changes().len());
    for device in read.notebook.changes().map(|c| c.id.device.clone()).take(2).collect::<Vec<_>>() {
        let undone = both.notebook.undo(&device, "");
        let redone = both.notebook.redo(&device, "");
        assert!(undone.is_ok() && redone.is_ok() || read.notebook.changes().len() > 1000);
    }
}
