//! HTML without the blanks that lines begin with, outside what shows them.

/// Elements that show every blank.
const SHOWN: [&str; 2] = ["<pre", "<textarea"];

pub(super) fn lean(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut rest = text;
    while !rest.is_empty() {
        let shown = SHOWN.iter().filter_map(|begin| Some((rest.find(begin)?, begin))).min();
        let (before, end) = match shown {
            None => (rest.len(), rest.len()),
            Some((at, begin)) => {
                let close = format!("</{}", &begin[1..]);
                (at, rest[at..].find(&close).map_or(rest.len(), |end| at + end))
            }
        };
        for line in rest[..before].split_inclusive('\n') {
            // What goes on in a line that has begun stays.
            let begins = out.is_empty() || out.ends_with('\n');
            out.push_str(if begins { line.trim_start() } else { line });
        }
        out.push_str(&rest[before..end]);
        rest = &rest[end..];
    }
    out
}

#[cfg(test)]
mod tests {
    use super::lean;

    #[test]
    fn only_what_lines_begin_with_goes() {
        let text = "<p>\n    a  b\n\n  <pre>  x\n   y</pre>  c\n  <textarea rows=\"3\">\n  z</textarea>\n</p>\n";
        assert_eq!(lean(text), "<p>\na  b\n<pre>  x\n   y</pre>  c\n<textarea rows=\"3\">\n  z</textarea>\n</p>\n");
    }
}
