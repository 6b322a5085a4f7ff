//! JavaScript without comments, and without blanks beside signs that need none.
//!
//! Texts, templates and patterns are left as they are; a line's end goes only where no
//! statement can end (ECMAScript, section 12: comments, blanks and automatic semicolons).

use super::{comment, quoted};

/// Signs beside which a blank parts nothing. `+`, `-` and `/` are not among them, which are
/// something else when there are two, nor `.`, which may belong to a number.
const PARTING: &str = "(){}[],;:=<>&|?!";
/// Signs after which no statement ends, and a line does not matter.
const GOES_ON: &str = "({[,;:=?&|";
/// Signs before which a line does not matter.
const CLOSING: &str = "}])";
/// Signs after which `/` begins a pattern and divides nothing. After `)` and `}` it could do
/// either; no pattern of the page's stands there.
const BEFORE_PATTERN: &str = "(,=:[!&|?{;<>+-*%~^";
/// Words after which it begins one too.
const WORDS_BEFORE_PATTERN: [&str; 7] = ["return", "typeof", "case", "in", "of", "await", "yield"];

pub(super) fn lean(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    // Each brace that is open, and whether it stands in a template.
    let mut open = Vec::new();
    let mut rest = text;
    while let Some(next) = rest.chars().next() {
        let used = match next {
            _ if rest.starts_with("//") => rest.find('\n').unwrap_or(rest.len()),
            _ if rest.starts_with("/*") => {
                let end = comment(rest);
                blank(&mut out, rest[..end].contains('\n'));
                end
            }
            ' ' | '\t' | '\r' | '\n' => {
                blank(&mut out, next == '\n');
                1
            }
            '\'' | '"' => quoted(rest, &mut out),
            '`' => template(rest, &mut out, &mut open),
            '}' if open.pop() == Some(true) => template(rest, &mut out, &mut open),
            '/' if pattern_may_begin(&out) => pattern(rest, &mut out),
            _ => {
                let needless = if CLOSING.contains(next) { [' ', '\n'] } else { [' ', ' '] };
                if PARTING.contains(next) && out.ends_with(needless) {
                    out.pop();
                }
                if next == '{' {
                    open.push(false);
                }
                out.push(next);
                next.len_utf8()
            }
        };
        rest = &rest[used..];
    }
    out.truncate(out.trim_end().len());
    out.push('\n');
    out
}

/// A blank, or the end of a line, if it parts anything.
fn blank(out: &mut String, line: bool) {
    let Some(last) = out.chars().next_back() else { return };
    if line {
        if last == ' ' {
            out.pop();
        }
        if !out.ends_with(|c| c == '\n' || GOES_ON.contains(c)) {
            out.push('\n');
        }
    } else if !matches!(last, ' ' | '\n') && !PARTING.contains(last) {
        out.push(' ');
    }
}

/// A template from its beginning, or from the end of what stands in it, to where it is over
/// or something stands in it again; how many bytes that are.
fn template(text: &str, out: &mut String, open: &mut Vec<bool>) -> usize {
    let bytes = text.as_bytes();
    let mut at = 1;
    while at < bytes.len() {
        at += match bytes[at] {
            b'\\' => 2,
            b'`' => {
                at += 1;
                break;
            }
            b'$' if bytes.get(at + 1) == Some(&b'{') => {
                open.push(true);
                at += 2;
                break;
            }
            _ => 1,
        };
    }
    let end = at.min(bytes.len());
    out.push_str(&text[..end]);
    end
}

fn pattern_may_begin(out: &str) -> bool {
    let before = out.trim_end();
    let word = |c: char| c.is_alphanumeric() || matches!(c, '_' | '$');
    match before.chars().next_back() {
        None => true,
        Some(last) if word(last) => {
            let start = before.trim_end_matches(word).len();
            WORDS_BEFORE_PATTERN.contains(&&before[start..])
        }
        Some(last) => BEFORE_PATTERN.contains(last),
    }
}

/// A pattern without its flags; how many bytes that are.
fn pattern(text: &str, out: &mut String) -> usize {
    let bytes = text.as_bytes();
    let (mut at, mut among) = (1, false);
    while at < bytes.len() && bytes[at] != b'\n' && (among || bytes[at] != b'/') {
        match bytes[at] {
            b'\\' => at += 1,
            b'[' => among = true,
            b']' => among = false,
            _ => {}
        }
        at += 1;
    }
    let end = (at + 1).min(bytes.len());
    out.push_str(&text[..end]);
    end
}

#[cfg(test)]
mod tests {
    use super::lean;

    #[test]
    fn comments_and_needless_blanks_go() {
        let text = "// What it is.\nimport { a, b as c } from './x.js'; // why\n\n/** Adds. */\nexport function f(a, b) {\n  \
                    return a + /* one */ -b;\n}\n";
        assert_eq!(lean(text), "import{a,b as c}from './x.js';export function f(a,b){return a + -b;}\n");
    }

    #[test]
    fn lines_stay_where_a_statement_may_end() {
        assert_eq!(lean("let a = b\nlet c = () => {\n}\nf()\n++a\n"), "let a=b\nlet c=()=>{}\nf()\n++a\n");
        assert_eq!(lean("a /* x\n */ b"), "a\nb\n");
    }

    #[test]
    fn texts_templates_and_patterns_stay() {
        for text in [
            "'a  // b' + \"c /* d */\" + 'it\\'s  // e'\n",
            "`a  // ${b ? `c  // ${d}  // e` : '}'}  // f`\n",
            "x.replace(/[/'`]  \\/ \"/g,y)\n",
            "[1/2,a / b / c]\n",
            "a.match(/^[^\\]/]  '/)\n",
        ] {
            let meant = text.replace(" ? ", "?").replace(" : ", ":");
            assert_eq!(lean(text), meant);
        }
        assert_eq!(lean("return / a/ .test(b)"), "return / a/ .test(b)\n");
    }

    #[test]
    fn what_is_lean_already_stays_as_it_is() {
        for folder in ["web/src", "web/src/learn", "web/src/notebook", "web/vendor/idb"] {
            let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../..").join(folder);
            for file in std::fs::read_dir(folder).unwrap().map(|f| f.unwrap().path()) {
                if file.extension().is_some_and(|e| e == "js") {
                    let once = lean(&std::fs::read_to_string(&file).unwrap());
                    assert_eq!(lean(&once), once, "{}", file.display());
                    assert!(!once.contains("  // "), "{}", file.display());
                }
            }
        }
    }
}
