//! The document of the page with everything that it points at written into it.

use sha2::{Digest, Sha256};

use super::base64;
use super::modules::Files;

/// Begins the element with the rules of what the page may load.
const RULES: &str = "<meta http-equiv=\"Content-Security-Policy\"";
/// Elements that point at a file, or say what may be loaded.
const ELEMENTS: [&str; 4] = [RULES, "<link ", "<script ", "<img "];

/// What the document is made of.
pub(super) struct Within<'a> {
    /// Styles and pictures, by the address that the document has for them.
    pub(super) files: &'a Files,
    /// The parts, as JSON.
    pub(super) parts: &'a str,
    /// The script that starts them.
    pub(super) loader: &'a str,
    /// Marks the file as one of ours; an element of its head.
    pub(super) mark: &'a str,
}

/// Writes it.
///
/// # Errors
/// Why it cannot be put into one file.
pub(super) fn whole(page: &str, within: &Within<'_>) -> Result<String, String> {
    let body = resolved(page, within)?;
    // The rules need the sums of what was written in.
    let rules = rules(within.loader, &body.styles);
    let (head, rest) = body.text.split_once(RULES_HERE).ok_or("it has no rules of what it may load")?;
    let (rest, end) = rest.rsplit_once("</body>").ok_or("its body has no end")?;
    if within.loader.contains("</script") || within.loader.contains("<!--") {
        return Err("the loader holds the end of a script".to_owned());
    }
    // As JSON, a sign that could end the element can be written otherwise.
    let parts = within.parts.replace('<', "\\u003c");
    Ok(format!(
        "{head}{rules}\n  {}{rest}<script type=\"application/json\" id=\"parts\">{parts}</script>\n\
         <script type=\"module\">{}</script>\n</body>{end}",
        within.mark, within.loader
    ))
}

/// Stands for the rules until they can be written.
const RULES_HERE: &str = "\0rules\0";

struct Resolved {
    text: String,
    styles: Vec<String>,
}

fn resolved(page: &str, within: &Within<'_>) -> Result<Resolved, String> {
    let (mut text, mut styles) = (String::new(), Vec::new());
    let mut rest = page;
    while let Some(at) = ELEMENTS.iter().filter_map(|e| rest.find(e)).min() {
        text.push_str(&rest[..at]);
        let length = rest[at..].find('>').ok_or("an element has no end")? + 1;
        let element = &rest[at..at + length];
        rest = &rest[at + length..];
        if element.starts_with(RULES) {
            text.push_str(RULES_HERE);
        } else if element.starts_with("<script ") {
            // The loader takes its place, at the end.
            rest = rest.strip_prefix("</script>").ok_or("a script of its own is not empty")?;
        } else {
            text.push_str(&pointing(element, within.files, &mut styles)?);
        }
    }
    text.push_str(rest);
    Ok(Resolved { text, styles })
}

/// What takes the place of a `link` or an `img`.
fn pointing(element: &str, files: &Files, styles: &mut Vec<String>) -> Result<String, String> {
    let name = attribute(element, "href")
        .or(attribute(element, "src"))
        .ok_or_else(|| format!("{element} points at nothing"))?;
    let content = || files.get(name).ok_or_else(|| format!("it points at {name}, which is not there"));
    match attribute(element, "rel") {
        Some("stylesheet") => {
            let style = String::from_utf8_lossy(content()?).into_owned();
            if style.contains("</style") || style.contains("url(") || style.contains("@import") {
                return Err(format!("{name} points at something else, or ends its element"));
            }
            let media = attribute(element, "media").map(|media| format!(" media=\"{media}\"")).unwrap_or_default();
            let written = format!("<style{media}>{style}</style>");
            styles.push(style);
            Ok(written)
        }
        // It is for installing a page that has an address.
        Some("manifest") => Ok(String::new()),
        Some("icon") | None if name.ends_with(".svg") => {
            Ok(element.replacen(name, &format!("data:image/svg+xml;base64,{}", base64(content()?)), 1))
        }
        _ => Err(format!("{element} is of a kind that is not known here")),
    }
}

fn attribute<'a>(element: &'a str, name: &str) -> Option<&'a str> {
    let (_, value) = element.split_once(&format!(" {name}=\""))?;
    value.split_once('"').map(|(value, _)| value)
}

/// What the page may load: what is in it, and nothing else from anywhere.
fn rules(loader: &str, styles: &[String]) -> String {
    let styles: Vec<String> = styles.iter().map(|style| sum(style)).collect();
    format!(
        "{RULES} content=\"default-src 'none'; script-src {} blob: 'wasm-unsafe-eval'; style-src {}; \
         img-src data: blob:; connect-src 'none'; worker-src blob:; base-uri 'none'; form-action 'none'\">",
        sum(loader),
        styles.join(" ")
    )
}

/// The sum by which the rules let a script or a style pass (CSP level 3, section 2.3.1).
fn sum(text: &str) -> String {
    format!("'sha256-{}'", base64(&Sha256::digest(text.as_bytes())))
}

#[cfg(test)]
mod tests {
    use super::*;

    const PAGE: &str = "<head>
  <meta http-equiv=\"Content-Security-Policy\" content=\"script-src 'self'\">
  <link rel=\"icon\" href=\"icon.svg\" type=\"image/svg+xml\">
  <link rel=\"manifest\" href=\"m.webmanifest\">
  <link rel=\"stylesheet\" href=\"b/a.css\">
  <link rel=\"stylesheet\" href=\"b/print.css\" media=\"print\">
  <script type=\"module\" src=\"b/start.js\"></script>
</head>
<body><img src=\"icon.svg\" alt=\"\"></body>
";

    fn files() -> Files {
        [("icon.svg", "<svg/>"), ("b/a.css", "p {}"), ("b/print.css", "a {}")]
            .map(|(name, text)| (name.to_owned(), text.as_bytes().to_vec()))
            .into()
    }

    fn made(page: &str, parts: &str) -> Result<String, String> {
        whole(page, &Within { files: &files(), parts, loader: "go();", mark: "<meta name=\"m\">" })
    }

    #[test]
    fn everything_it_points_at_is_within() {
        let text = made(PAGE, "[[\"a.js\",\"x\"]]").unwrap();
        // `openssl dgst -sha256 -binary | base64` of the loader and of the two styles.
        let rules = "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; \
                     script-src 'sha256-bYOqbsii8BMz1hC57p5sZG4K4cMuk6QQDiwupM2aRMM=' blob: 'wasm-unsafe-eval'; \
                     style-src 'sha256-SNJDlN1Iy2mnt7DOjQIyDb2LQE6O5PQiSZomcdzawQ4=' 'sha256-mkSHzL7faOU7/U/v8Umg+058R69+vN2A2xmE3Fz1q98='; \
                     img-src data: blob:; connect-src 'none'; worker-src blob:; base-uri 'none'; form-action 'none'\">";
        assert_eq!(
            text,
            format!(
                "<head>
  {rules}
  <meta name=\"m\">
  <link rel=\"icon\" href=\"data:image/svg+xml;base64,PHN2Zy8+\" type=\"image/svg+xml\">
  
  <style>p {{}}</style>
  <style media=\"print\">a {{}}</style>
  
</head>
<body><img src=\"data:image/svg+xml;base64,PHN2Zy8+\" alt=\"\">\
<script type=\"application/json\" id=\"parts\">[[\"a.js\",\"x\"]]</script>
<script type=\"module\">go();</script>
</body>
"
            )
        );
    }

    #[test]
    fn no_part_ends_its_element() {
        let text = made(PAGE, "[[\"a.js\",\"'</script><!--'\"]]").unwrap();
        assert!(text.contains("'\\u003c/script>\\u003c!--'"), "{text}");
        assert_eq!(text.matches("</script").count(), 2);
    }

    #[test]
    fn what_would_be_missing_is_refused() {
        for (from, to, why) in [
            ("b/a.css", "b/z.css", "b/z.css, which is not there"),
            ("rel=\"manifest\"", "rel=\"preload\"", "a kind that is not known here"),
            ("\"></script>", "\">x()</script>", "a script of its own is not empty"),
            ("<meta http-equiv=\"Content-Security-Policy\" content=\"script-src 'self'\">", "", "no rules"),
            ("</body>", "", "no end"),
        ] {
            let said = made(&PAGE.replacen(from, to, 1), "[]").unwrap_err();
            assert!(said.contains(why), "{to}: {said}");
        }
    }
}
