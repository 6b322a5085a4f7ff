//! The modules of the page, each cut where it names another part.
//!
//! A page from a file may load no other file. Its modules are therefore given
//! addresses when it opens (`web/single/loader.js`), and what names a part is
//! replaced by the part's address. Five forms name one, as bundlers know them:
//! `from './x.js'`, `import './x.js'`, `import('./x.js')`,
//! `new URL('./x', import.meta.url)` and `new Worker(new URL('./x.js',
//! import.meta.url), { type: 'module' })`. Anything else that looks like the name of
//! a part is refused: it would be missing only when a user needs it.

use std::collections::{BTreeMap, BTreeSet};

use serde::Serialize;

use crate::page::files::beside;

/// The files of the page by name, relative to the folder that they are in.
pub(super) type Files = BTreeMap<String, Vec<u8>>;

/// A part as the loader takes it.
#[derive(Debug, Serialize)]
#[serde(untagged)]
pub(super) enum Part {
    /// Its name, then its text with the names of other parts at every second place.
    Module(Vec<String>),
    /// Parts that are started as a worker, in their order, and the name for that.
    Worker { worker: String, parts: Vec<String> },
}

impl Part {
    fn name(&self) -> &str {
        match self {
            Self::Module(part) => part.first().map_or("", String::as_str),
            Self::Worker { worker, .. } => worker,
        }
    }
}

/// What stands where a part is named.
#[derive(Debug, PartialEq, Eq)]
struct Named<'a> {
    /// Where in the text.
    from: usize,
    to: usize,
    /// As it is written there.
    name: &'a str,
    /// Whether as a worker.
    works: bool,
    /// What is written before and after its address.
    around: [&'static str; 2],
}

/// Turns bytes into the text of a module that gives them.
const BYTES: [&str; 2] = ["export default bytes('", "');\n"];
/// The function it uses. One call a character is much slower than a loop.
pub(super) const BYTES_OF: &str = "function bytes(text) {
  const binary = atob(text);
  const bytes = new Uint8Array(binary.length);
  for (let i = 0; i < binary.length; i++) bytes[i] = binary.charCodeAt(i);
  return bytes;
}
";

/// The parts that `start` needs and itself, each after those that it names.
///
/// # Errors
/// Why they cannot be put into one file, with the name of the part.
pub(super) fn parts(files: &Files, start: &str) -> Result<Vec<Part>, String> {
    let mut order = Order { files, done: BTreeSet::new(), way: Vec::new(), parts: Vec::new() };
    order.take(start)?;
    Ok(order.parts)
}

struct Order<'a> {
    files: &'a Files,
    done: BTreeSet<String>,
    /// From the start to the part that is looked at.
    way: Vec<String>,
    parts: Vec<Part>,
}

impl Order<'_> {
    fn take(&mut self, name: &str) -> Result<(), String> {
        if self.done.contains(name) {
            return Ok(());
        }
        if self.way.iter().any(|before| before == name) {
            return Err(format!("{} name each other in a circle", self.way.join(", ")));
        }
        let by = self.way.last().cloned().unwrap_or_else(|| "the page".to_owned());
        let content = self.files.get(name).ok_or_else(|| format!("{by} names {name}, which is not there"))?;
        self.way.push(name.to_owned());
        let part = match name.rsplit_once('.') {
            Some((_, "js")) => self.module(name, content)?,
            Some((_, "wasm")) => {
                let text = super::base64(content);
                Part::Module(vec![name.to_owned(), format!("{BYTES_OF}{}{text}{}", BYTES[0], BYTES[1])])
            }
            _ => return Err(format!("{by} names {name}, which is neither a module nor a program")),
        };
        self.way.pop();
        self.done.insert(name.to_owned());
        self.parts.push(part);
        Ok(())
    }

    fn module(&mut self, name: &str, content: &[u8]) -> Result<Part, String> {
        let text = std::str::from_utf8(content).map_err(|_| format!("{name} is not UTF-8"))?;
        let mut part = vec![name.to_owned()];
        let mut at = 0;
        let mut before = String::new();
        for named in named(text) {
            let mut other = beside(name, named.name);
            if named.works {
                other = self.worker(&other)?;
            } else {
                self.take(&other)?;
            }
            let whole = &text[at..named.from];
            check(name, whole)?;
            part.push(format!("{before}{whole}{}", named.around[0]));
            part.push(other);
            named.around[1].clone_into(&mut before);
            at = named.to;
        }
        check(name, &text[at..])?;
        part.push(format!("{before}{}", &text[at..]));
        Ok(Part::Module(part))
    }

    /// Everything that a worker needs, since it sees nothing of the page's; its name.
    fn worker(&mut self, start: &str) -> Result<String, String> {
        let worker = format!("worker {start}");
        if self.done.insert(worker.clone()) {
            let all = parts(self.files, start)?;
            if all.iter().any(|part| matches!(part, Part::Worker { .. })) {
                return Err(format!("{start} is a worker and starts another"));
            }
            let parts = all.iter().map(|part| part.name().to_owned()).collect();
            self.parts.extend(all.into_iter().filter(|part| self.done.insert(part.name().to_owned())));
            self.parts.push(Part::Worker { worker: worker.clone(), parts });
        }
        Ok(worker)
    }
}

/// Every place that names a part.
fn named(text: &str) -> Vec<Named<'_>> {
    let mut found = Vec::new();
    for (at, quote) in text.char_indices().filter(|(_, c)| matches!(c, '\'' | '"')) {
        let start = at + quote.len_utf8();
        let Some(length) =
            text[start..].find(|c: char| !matches!(c, 'a'..='z' | 'A'..='Z' | '0'..='9' | '_' | '-' | '.' | '/'))
        else {
            continue;
        };
        let (name, after) = text[start..].split_at(length);
        let Some(after) = after.strip_prefix(quote) else { continue };
        let to = start + length + quote.len_utf8();
        let before = text[..at].trim_end();
        if let Some(before) = before.strip_suffix("new URL(") {
            let Some(tail) = one_of(after, OWN_ADDRESS) else { continue };
            let to = text.len() - tail.len();
            if let (Some(before), Some(tail)) = (before.strip_suffix("new Worker("), one_of(tail, AS_MODULE)) {
                let around = ["new Worker('", "')"];
                found.push(Named { from: before.len(), to: text.len() - tail.len(), name, works: true, around });
                continue;
            }
            // Bytes come by a module of their own: nothing is fetched.
            let around = if name.ends_with(".wasm") { ["import('", "').then((part) => part.default)"] } else { QUOTES };
            found.push(Named { from: before.len(), to, name, works: false, around });
        } else if name.starts_with('.') && ["from", "import", "import("].iter().any(|word| before.ends_with(word)) {
            found.push(Named { from: at, to, name, works: false, around: QUOTES });
        }
    }
    found
}

/// What follows one of two ways to write the same.
fn one_of<'a>(text: &'a str, ways: [&str; 2]) -> Option<&'a str> {
    ways.iter().find_map(|way| text.strip_prefix(way))
}

/// What follows the name of a part whose address is asked for, with blanks and without.
const OWN_ADDRESS: [&str; 2] = [", import.meta.url)", ",import.meta.url)"];
/// What follows the address of a worker, the same.
const AS_MODULE: [&str; 2] = [", { type: 'module' })", ",{type:'module'})"];
/// Around an address.
const QUOTES: [&str; 2] = ["'", "'"];

/// What would look for a part where there is none.
const SIGNS: [&str; 10] =
    ["import.meta", "'./", "'../", "\"./", "\"../", "`./", "`../", "fetch('", "importScripts(", "new Worker("];

/// Refuses text that has one of them.
fn check(name: &str, text: &str) -> Result<(), String> {
    for sign in SIGNS {
        for (at, _) in text.match_indices(sign) {
            let found = &text[at..];
            // The name of a property: the glue's list of what it gives to the program.
            let quoted = found.chars().next().and_then(|quote| found[1..].split_once(quote));
            if quoted.is_some_and(|(_, after)| after.starts_with(':')) {
                continue;
            }
            let line: String = found.lines().next().unwrap_or(sign).chars().take(60).collect();
            return Err(format!("{name} has {line}, which a page in one file cannot answer"));
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn files(all: &[(&str, &str)]) -> Files {
        all.iter().map(|&(name, text)| (name.to_owned(), text.as_bytes().to_vec())).collect()
    }

    /// The text of a part with `<name>` for the addresses.
    fn shown(part: &Part) -> String {
        let Part::Module(part) = part else { return format!("{part:?}") };
        let pieces = part[1..].iter().enumerate();
        pieces.map(|(at, piece)| if at % 2 == 1 { format!("<{piece}>") } else { piece.clone() }).collect()
    }

    #[test]
    fn each_part_comes_after_those_it_names_and_once() {
        let files = files(&[
            ("src/start.js", "import { a } from './a.js';\nimport \"../b.js\";\nawait import('./c/c.js');"),
            ("src/a.js", "import '../b.js';"),
            ("b.js", "export {};"),
            ("src/c/c.js", "export { d } from '../a.js';"),
            ("unused.js", "fetch('x')"),
        ]);
        let parts = parts(&files, "src/start.js").unwrap();
        let names: Vec<&str> = parts.iter().map(Part::name).collect();
        assert_eq!(names, ["b.js", "src/a.js", "src/c/c.js", "src/start.js"]);
        assert_eq!(
            shown(&parts[3]),
            "import { a } from '<src/a.js>';\nimport '<b.js>';\nawait import('<src/c/c.js>');"
        );
    }

    #[test]
    fn a_worker_has_all_its_parts_and_a_program_is_its_bytes() {
        let files = files(&[
            ("src/start.js", "import './c.js';\nnew Worker(new URL('./w.js', import.meta.url), { type: 'module' });"),
            ("src/w.js", "import './c.js';\ninit({ module_or_path: new URL(\"../p_bg.wasm\", import.meta.url) });"),
            ("src/c.js", "const glue = new URL('../g.js', import.meta.url);"),
            ("g.js", ""),
            ("p_bg.wasm", "\0asm"),
        ]);
        let parts = parts(&files, "src/start.js").unwrap();
        let names: Vec<&str> = parts.iter().map(Part::name).collect();
        assert_eq!(names, ["g.js", "src/c.js", "p_bg.wasm", "src/w.js", "worker src/w.js", "src/start.js"]);
        assert_eq!(shown(&parts[1]), "const glue = '<g.js>';");
        assert!(shown(&parts[2]).ends_with("export default bytes('AGFzbQ==');\n"), "{}", shown(&parts[2]));
        let worker =
            "import '<src/c.js>';\ninit({ module_or_path: import('<p_bg.wasm>').then((part) => part.default) });";
        assert_eq!(shown(&parts[3]), worker);
        assert_eq!(
            serde_json::to_string(&parts[4]).unwrap(),
            r#"{"worker":"worker src/w.js","parts":["g.js","src/c.js","p_bg.wasm","src/w.js"]}"#
        );
        assert_eq!(shown(&parts[5]), "import '<src/c.js>';\nnew Worker('<worker src/w.js>');");
    }

    #[test]
    fn words_and_names_in_sentences_stay_as_they_are() {
        let text = "// the browser's own, from 'afar'; it isn't ./here\nconst o = { \"./b.js\": 1 }, a = Array.from('b.c'); 'x' + \"y\";";
        assert_eq!(named(text), []);
        let parts = parts(&files(&[("a.js", text)]), "a.js").unwrap();
        assert_eq!(shown(&parts[0]), text);
    }

    #[test]
    fn what_would_be_missed_only_when_it_is_needed_is_refused() {
        for (text, why) in [
            ("import './gone.js';", "a.js names gone.js, which is not there"),
            ("import './a.js';", "a.js name each other in a circle"),
            ("new Worker(new URL('./w.js', import.meta.url));", "a.js has new Worker("),
            (
                "new Worker(new URL('./v.js', import.meta.url), { type: 'module' })",
                "v.js is a worker and starts another",
            ),
            ("const path = './b.js';", "a.js has './b.js';,"),
            ("await import(`./${x}.js`);", "a.js has `./${x}.js`);,"),
            ("const here = import.meta.url;", "a.js has import.meta.url;,"),
            ("new URL('b.png', import.meta.url)", "which is neither a module nor a program"),
            ("await fetch('b.json');", "a.js has fetch('b.json');,"),
        ] {
            let v = "new Worker(new URL('./w.js', import.meta.url), { type: 'module' })";
            let all = files(&[("a.js", text), ("b.js", ""), ("b.png", ""), ("v.js", v), ("w.js", "")]);
            let said = parts(&all, "a.js").unwrap_err();
            assert!(said.contains(why), "{text}: {said}");
        }
    }
}
