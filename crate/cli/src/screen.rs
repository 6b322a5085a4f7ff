//! What goes to the terminal, and how it gets there unharmed.

use std::io::{self, Write};
use std::path::Path;

use sweepbook_core::intake::{clean, steers};

/// Width of text that does not go to a terminal, characters (common practice).
const WIDTH_ELSEWHERE: usize = 80;
/// Narrowest and widest text, characters: lines much longer than this are hard
/// to find the beginning of again (typographers' common practice, no source).
const WIDTHS: (usize, usize) = (40, 100);

/// The width to wrap text at, characters.
pub fn width() -> usize {
    let (narrowest, widest) = WIDTHS;
    match terminal_size::terminal_size_of(io::stdout()) {
        Some((width, _)) => usize::from(width.0).clamp(narrowest, widest),
        None => WIDTH_ELSEWHERE,
    }
}

/// Prints text with colours, which are left out where standard output is no
/// terminal or `NO_COLOR` is set. The text must have been cleaned.
///
/// # Errors
/// It could not be written. A reader that went away (`| head`) is no error.
pub fn print(text: &str) -> io::Result<()> {
    write(anstream::stdout().lock(), text)
}

/// Prints one JSON document, given as text.
///
/// # Errors
/// As for [`print()`].
pub fn print_json(json: &str) -> io::Result<()> {
    write(io::stdout().lock(), &format!("{}\n", escaped(json)))
}

/// Prints JSON documents that have a line each; whether anybody is left to read more.
///
/// # Errors
/// They could not be written.
pub fn print_lines(lines: &str) -> io::Result<bool> {
    let mut out = io::stdout().lock();
    match out.write_all(escaped(lines).as_bytes()).and_then(|()| out.flush()) {
        Err(e) if e.kind() == io::ErrorKind::BrokenPipe => Ok(false),
        written => written.map(|()| true),
    }
}

/// Prints a table as it is: every name in it was cleaned when it was read.
///
/// # Errors
/// As for [`print()`].
pub fn print_table(text: &str) -> io::Result<()> {
    write(io::stdout().lock(), text)
}

/// Prints a line of diagnostics on standard error, cleaned.
pub fn say(line: &str) {
    // Nobody is left to tell when standard error is gone.
    let indent = line.len() - line.trim_start_matches(' ').len();
    let _ = writeln!(anstream::stderr(), "{:indent$}{}", "", clean(line));
}

/// A path as it may be shown.
pub fn shown(path: &Path) -> String {
    clean(&path.to_string_lossy())
}

fn write(mut out: impl Write, text: &str) -> io::Result<()> {
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Err(e) if e.kind() == io::ErrorKind::BrokenPipe => Ok(()),
        written => written,
    }
}

/// JSON with every character that steers a screen escaped. JSON itself only
/// escapes those below U+0020, and outside of strings there are none of them.
fn escaped(json: &str) -> String {
    let mut safe = String::with_capacity(json.len());
    for c in json.chars() {
        if steers(c) && c != '\n' {
            safe.push_str(&format!("\\u{:04x}", u32::from(c)));
        } else {
            safe.push(c);
        }
    }
    safe
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn json_says_the_same_without_steering_a_screen() {
        let name = "a\u{9b}2J\u{202e}\u{7f}\u{1b}µ";
        let json = escaped(&serde_json::to_string_pretty(&[name]).unwrap());
        assert!(!json.chars().any(|c| steers(c) && c != '\n'), "{json}");
        let back: Vec<String> = serde_json::from_str(&json).unwrap();
        assert_eq!(back, [name]);
    }
}
