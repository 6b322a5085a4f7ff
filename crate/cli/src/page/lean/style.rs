//! CSS without comments, and without blanks beside signs that need none.

use super::{comment, quoted};

/// Signs beside which a blank parts nothing. A colon is not among them: before it a blank
/// makes another selector.
const PARTING: &str = "{};";

pub(super) fn lean(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(next) = rest.chars().next() {
        let used = match next {
            _ if rest.starts_with("/*") => comment(rest),
            ' ' | '\t' | '\r' | '\n' => {
                // After a colon it parts a name from its value.
                if !out.is_empty() && !out.ends_with(|c| c == ' ' || c == ':' || PARTING.contains(c)) {
                    out.push(' ');
                }
                1
            }
            '\'' | '"' => quoted(rest, &mut out),
            _ => {
                if PARTING.contains(next) && out.ends_with(' ') {
                    out.pop();
                }
                // The last of several declarations needs no end.
                if next == '}' && out.ends_with(';') {
                    out.pop();
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

#[cfg(test)]
mod tests {
    use super::lean;

    #[test]
    fn comments_and_needless_blanks_go() {
        let text = "/* All. */\n.a > b,\n.c :hover {\n  margin: 0 auto;\n  width: calc(1em + 2px); /* x */\n}\n@media (min-width: 40em) { p::before { content: \" /* ; \"; } }\n";
        assert_eq!(
            lean(text),
            ".a > b, .c :hover{margin:0 auto;width:calc(1em + 2px)}@media (min-width:40em){p::before{content:\" /* ; \"}}\n"
        );
    }
}
