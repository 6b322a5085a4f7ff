//! Styles that stand one after the other in one document, and in no other, as one file.

use super::Parts;

/// Around the name of a style, on a line of its own. One for paper alone has more to it, and
/// stays as it is.
const LINK: [&str; 2] = ["<link rel=\"stylesheet\" href=\"__BUILD__/", "\">"];

/// The same page with them joined.
pub(super) fn joined(mut parts: Parts) -> Parts {
    let documents: Vec<(String, String)> = parts
        .iter()
        .filter(|(name, _)| name.ends_with(".html"))
        .filter_map(|(name, content)| Some((name.clone(), String::from_utf8(content.clone()).ok()?)))
        .collect();
    for (document, text) in &documents {
        let others = documents.iter().filter(|(name, _)| name != document);
        let shared: Vec<&str> = others.flat_map(|(_, text)| text.lines().filter_map(link)).collect();
        let own = |name: &Option<&str>| name.is_some_and(|name| !shared.contains(&name));
        let names: Vec<&str> = text.lines().map(link).skip_while(|name| !own(name)).take_while(own).flatten().collect();
        let content = |name: &str| parts.iter().find(|part| part.0 == name).map(|part| part.1.as_slice());
        let Some(styles) = names.iter().map(|name| content(name)).collect::<Option<Vec<_>>>() else { continue };
        if names.len() < 2 {
            continue;
        }
        let style = styles.join(&b'\n');
        let name = format!("styles/{}", document.replace(".html", ".css"));
        let mut lines: Vec<String> = Vec::new();
        for line in text.lines() {
            match link(line).and_then(|name| names.iter().position(|of| *of == name)) {
                Some(0) => lines.push(format!("  {}{name}{}", LINK[0], LINK[1])),
                Some(_) => {}
                None => lines.push(line.to_owned()),
            }
        }
        let text = lines.join("\n") + "\n";
        parts.retain(|part| !names.contains(&part.0.as_str()));
        parts.iter_mut().filter(|part| part.0 == *document).for_each(|part| part.1 = text.clone().into_bytes());
        parts.push((name, style));
    }
    parts
}

/// The style that a line points at.
fn link(line: &str) -> Option<&str> {
    line.trim().strip_prefix(LINK[0])?.strip_suffix(LINK[1]).filter(|name| !name.contains('"'))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_only_one_document_has_is_one_file_in_the_same_order() {
        let link = |name: &str| format!("  {}{name}{}\n", LINK[0], LINK[1]);
        let print = "  <link rel=\"stylesheet\" href=\"__BUILD__/styles/print.css\" media=\"print\">\n";
        let before = [
            ("index.html".to_owned(), link("styles/base.css") + &link("styles/b.css") + &link("styles/a.css") + print),
            ("learn.html".to_owned(), link("styles/base.css") + &link("styles/learn.css")),
            ("styles/a.css".to_owned(), "a {}".to_owned()),
            ("styles/b.css".to_owned(), "b {}".to_owned()),
            ("styles/base.css".to_owned(), "p {}".to_owned()),
        ];
        let parts = before.iter().map(|(name, text)| (name.clone(), text.clone().into_bytes())).collect();
        let after: Vec<(String, String)> =
            joined(parts).into_iter().map(|(name, text)| (name, String::from_utf8(text).unwrap())).collect();
        assert_eq!(
            after,
            [
                ("index.html".to_owned(), link("styles/base.css") + &link("styles/index.css") + print),
                before[1].clone(),
                before[4].clone(),
                ("styles/index.css".to_owned(), "b {}\na {}".to_owned()),
            ]
        );
    }
}
