//! What a fault is, in words: taken from the doc comment of its one file.

use serde::Serialize;

/// The explanation of one fault.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Explanation {
    /// Its name in the contract, such as `plate-cathode-leakage`.
    pub name: String,
    /// Its name in plain words, such as `Plate–cathode leakage`.
    pub title: String,
    /// Whether it is the bench's and not the tube's.
    pub bench: bool,
    /// The headed parts, in their fixed order.
    pub parts: Vec<Part>,
}

/// One headed part: paragraphs of plain text.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Part {
    /// The heading.
    pub heading: String,
    /// Its paragraphs.
    pub paragraphs: Vec<String>,
}

/// The headings every explanation has, in this order.
pub const HEADINGS: [&str; 6] =
    ["What it is", "On the curves", "What looks like it", "How to settle it", "In a stage", "Sources"];

impl Explanation {
    /// Takes a doc comment apart: a line `# Heading` starts a part, an empty
    /// line ends a paragraph.
    pub(crate) fn from_doc(name: &str, title: &str, bench: bool, doc: &[&str]) -> Self {
        let mut parts: Vec<Part> = Vec::new();
        let mut fresh = true;
        for line in doc.iter().map(|l| l.trim()) {
            if let Some(heading) = line.strip_prefix("# ") {
                parts.push(Part { heading: heading.to_owned(), paragraphs: Vec::new() });
                fresh = true;
            } else if line.is_empty() {
                fresh = true;
            } else if let Some(part) = parts.last_mut() {
                match part.paragraphs.last_mut() {
                    Some(paragraph) if !fresh => {
                        paragraph.push(' ');
                        paragraph.push_str(line);
                    }
                    _ => part.paragraphs.push(line.to_owned()),
                }
                fresh = false;
            }
        }
        Self { name: name.into(), title: title.into(), bench, parts }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_doc_comment_becomes_headed_paragraphs() {
        let doc = [" # What it is", "", " One line", " and its end.", "", " Another.", " # Sources", " A book."];
        let e = Explanation::from_doc("gas", "Gas", false, &doc);
        assert_eq!(e.parts.len(), 2);
        assert_eq!(e.parts[0].paragraphs, ["One line and its end.", "Another."]);
        assert_eq!(e.parts[1].heading, "Sources");
    }
}
