//! The page's texts without what only their writers read: comments, and blanks that part
//! nothing. Names and words stay as they are, lines end where they ended.

mod markup;
mod script;
mod style;

/// The content of a file of that name as it travels.
pub(super) fn lean(name: &str, content: Vec<u8>) -> Vec<u8> {
    let made = match name.rsplit_once('.') {
        Some((_, "js")) => script::lean,
        Some((_, "css")) => style::lean,
        Some((_, "html")) => markup::lean,
        _ => return content,
    };
    match std::str::from_utf8(&content) {
        Ok(text) => made(text).into_bytes(),
        Err(_) => content,
    }
}

/// Bytes of the comment `/* … */` that a text begins with.
fn comment(text: &str) -> usize {
    const MARK: usize = 2;
    text[MARK..].find("*/").map_or(text.len(), |end| MARK + end + MARK)
}

/// Adds a text up to its closing sign, in which a backslash keeps that from closing; how
/// many bytes that are.
fn quoted(text: &str, out: &mut String) -> usize {
    let mut letters = text.char_indices();
    let quote = letters.next().map(|(_, quote)| quote);
    let mut escaped = false;
    for (at, letter) in letters {
        if !escaped && Some(letter) == quote {
            let end = at + letter.len_utf8();
            out.push_str(&text[..end]);
            return end;
        }
        escaped = !escaped && letter == '\\';
    }
    out.push_str(text);
    text.len()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_comment_does_not_end_in_its_own_beginning() {
        for (name, text) in [("a.js", "a/*/ b */\n"), ("a.css", "a/*/ b */{c:d}\n")] {
            let made = String::from_utf8(lean(name, text.into())).unwrap();
            assert!(!made.contains('b'), "{made}");
        }
        assert_eq!(comment("/* open"), 7);
    }
}
