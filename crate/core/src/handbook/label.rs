//! Tube labels as people write them, brought to one form.
//!
//! Case, blanks and dashes do not count; a maker's name beside the type does not either;
//! Cyrillic letters are written in Latin ones. Suffixes that stand for a maker or for a
//! ruggedised version with the same curves are dropped, but only where the label with its
//! suffix is not a type of its own: 6SN7GTB and 6L6GC stay what they are.

/// Suffixes that change nothing in the curves (common practice, no source).
const SAME_CURVES: [&str; 8] = ["WA", "WB", "W", "EH", "LPS", "WXT", "A", "B"];

/// Suffixes of Soviet types for long life, vibration and the like (common practice, no source).
const SAME_CURVES_SOVIET: [&str; 7] = ["EV", "EB", "VI", "BI", "DR", "E", "V"];

/// Longest label that is looked at, characters. A label on a tube has under 30; the bound
/// keeps a pasted page from costing time.
const LONGEST_LABEL: usize = 120;

/// Types named by a bare number of fewer digits than this are matched only when nothing
/// else is written: "45" is a type, "lot 45" is not.
const SHORTEST_FREE_NUMBER: usize = 4;

/// The key of a name: capitals and digits only.
pub(super) fn key(name: &str) -> String {
    name.chars().flat_map(char::to_uppercase).filter_map(latin).collect()
}

/// The types a label can mean, by what `lookup` knows. Empty: none. More than one: the
/// label is ambiguous.
pub(super) fn candidates(label: &str, lookup: impl Fn(&str) -> Option<usize>) -> Vec<usize> {
    let mut found = Vec::new();
    let short: String = label.chars().take(LONGEST_LABEL).collect();
    for part in short.split(['/', ',', ';', '(', ')', '=', '|', '+']) {
        for index in in_part(part, &lookup) {
            if !found.contains(&index) {
                found.push(index);
            }
        }
    }
    found
}

/// The types that one part of a label can mean: the longest run of words that is a name.
fn in_part(part: &str, lookup: &impl Fn(&str) -> Option<usize>) -> Vec<usize> {
    let words: Vec<String> =
        part.split(|c: char| !c.is_alphanumeric()).map(key).filter(|word| !word.is_empty()).collect();
    for length in (1..=words.len()).rev() {
        let mut found = Vec::new();
        for run in words.windows(length) {
            let alone = length == words.len();
            if let Some(index) = named(&run.concat(), alone, lookup)
                && !found.contains(&index)
            {
                found.push(index);
            }
        }
        if !found.is_empty() {
            return found;
        }
    }
    Vec::new()
}

/// The type of one key, with its suffix or without.
fn named(key: &str, alone: bool, lookup: &impl Fn(&str) -> Option<usize>) -> Option<usize> {
    let bare_number = |k: &str| k.len() < SHORTEST_FREE_NUMBER && k.bytes().all(|b| b.is_ascii_digit());
    if bare_number(key) && !alone {
        return None;
    }
    if let Some(index) = lookup(key) {
        return Some(index);
    }
    let western = SAME_CURVES.iter().filter_map(|suffix| key.strip_suffix(suffix));
    let soviet = SAME_CURVES_SOVIET
        .iter()
        .filter_map(|suffix| key.strip_suffix(suffix))
        .filter(|base| base.ends_with(['P', 'S']));
    western.chain(soviet).filter(|base| !bare_number(base)).find_map(lookup)
}

/// A capital letter or digit in Latin writing; `None` for anything else.
fn latin(c: char) -> Option<char> {
    Some(match c {
        'A'..='Z' | '0'..='9' => c,
        'А' => 'A',
        'Б' => 'B',
        'В' => 'V',
        'Г' => 'G',
        'Д' => 'D',
        'Е' => 'E',
        'Ж' => 'J',
        'И' => 'I',
        'К' => 'K',
        'М' => 'M',
        'Н' => 'N',
        'О' => 'O',
        'П' => 'P',
        'Р' => 'R',
        'С' => 'S',
        'Т' => 'T',
        'Ф' => 'F',
        'Х' => 'H',
        'Ц' => 'C',
        _ => return None,
    })
}
