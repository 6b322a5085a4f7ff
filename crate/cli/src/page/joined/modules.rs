//! The modules of the page in one file.
//!
//! In it each is a function that runs when it is first needed, after those that it imports,
//! and gives what it exports; nothing else of it changes. What something else loads too, such
//! as a worker, stays a file of its own.
//!
//! Modules are taken as they are written here, a statement a line, which begins the line:
//! `import { a, b as c } from './x.js';` (also `import d, * as e from`, and `import './x.js';`),
//! `export` before `const`, `class`, `function` or `async function`, and `export { a, b };`.
//! Anything else is refused.

use std::collections::{BTreeMap, BTreeSet};

use super::Parts;
use crate::page::files::beside;

/// The modules that the documents' first scripts load.
const STARTS: [&str; 2] = ["src/main.js", "src/learn/main.js"];
/// The file of those that were joined. It stands where the modules do.
const JOINED: &str = "src/joined.js";
const FOLDER: &str = "src/";
/// Before and after the address of a file beside a module.
const ADDRESS: [&str; 2] = ["new URL('", "', import.meta.url)"];

/// The same page with the modules joined that its starts need.
///
/// # Errors
/// A module has something that only a file of its own can have.
pub(super) fn joined(parts: Parts) -> Result<Parts, String> {
    let mut modules = Modules::new();
    for (name, content) in parts.iter().filter(|(name, _)| name.ends_with(".js")) {
        modules.insert(name, std::str::from_utf8(content).map_err(|_| format!("{name} is not UTF-8"))?);
    }
    let starts: Vec<&str> = STARTS.into_iter().filter(|name| modules.contains_key(name)).collect();
    let needed = reached(&modules, &starts)?;
    let others: Vec<&str> = modules.keys().copied().filter(|name| !needed.contains(*name)).collect();
    let alone = reached(&modules, &others)?;
    let together: BTreeSet<&str> = needed.iter().map(String::as_str).filter(|name| !alone.contains(*name)).collect();
    if together.is_empty() {
        return Ok(parts);
    }

    let mut text = String::from("const made = {};\nconst modules = {\n");
    for name in &needed {
        let function = if together.contains(name.as_str()) {
            format!("async () => {{\n{}}}", function(name, modules[name.as_str()])?)
        } else {
            format!("() => import('{}')", from_folder(name))
        };
        text.push_str(&format!("'{name}': {function},\n"));
    }
    text.push_str("};\nexport const need = (name) => made[name] ??= modules[name]();\n");

    let start = |name: &str| {
        let up = "../".repeat(name.matches('/').count() - 1);
        let here = if up.is_empty() { "./" } else { &up };
        format!("import {{ need }} from '{here}joined.js';\nawait need('{name}');\n")
    };
    let mut whole = vec![(JOINED.to_owned(), text.into_bytes())];
    whole.extend(starts.iter().map(|name| ((*name).to_owned(), start(name).into_bytes())));
    whole.extend(parts.iter().filter(|(name, _)| !together.contains(name.as_str())).cloned());
    Ok(whole)
}

type Modules<'a> = BTreeMap<&'a str, &'a str>;

/// Some modules and all that they import.
fn reached(modules: &Modules<'_>, starts: &[&str]) -> Result<BTreeSet<String>, String> {
    let mut done = BTreeSet::new();
    starts.iter().try_for_each(|name| reach(modules, name, &mut Vec::new(), &mut done))?;
    Ok(done)
}

fn reach(modules: &Modules<'_>, name: &str, way: &mut Vec<String>, done: &mut BTreeSet<String>) -> Result<(), String> {
    // Each would wait for the other.
    if way.iter().any(|before| before == name) {
        return Err(format!("{} import each other in a circle", way.join(", ")));
    }
    if done.contains(name) {
        return Ok(());
    }
    let text = modules.get(name).ok_or_else(|| format!("{} imports {name}, which is not there", way.join(", ")))?;
    way.push(name.to_owned());
    for line in text.lines() {
        if let Some((_, from)) = import(line) {
            reach(modules, &beside(name, from), way, done)?;
        }
    }
    way.pop();
    done.insert(name.to_owned());
    Ok(())
}

/// What a line imports, as it is written, and from where.
fn import(line: &str) -> Option<(&str, &str)> {
    let rest = line.strip_prefix("import ")?.trim_end().strip_suffix("';")?;
    let (names, from) = rest.rsplit_once('\'')?;
    match names.strip_suffix(" from ") {
        Some(names) => Some((names, from)),
        None => names.is_empty().then_some(("", from)),
    }
}

/// The body of a module's function.
fn function(name: &str, text: &str) -> Result<String, String> {
    let refuse = |what: &str| format!("{name} has {}", what.chars().take(60).collect::<String>());
    let (mut body, mut exports) = (String::new(), Vec::new());
    for line in text.lines() {
        if let Some((names, from)) = import(line) {
            body.push_str(&taken(names, &beside(name, from)).ok_or_else(|| refuse(line))?);
        } else if let Some(rest) = line.strip_prefix("export ") {
            let (names, kept) = exported(rest).ok_or_else(|| refuse(line))?;
            exports.extend(names);
            body.push_str(&format!("{kept}\n"));
        } else {
            body.push_str(line);
            body.push('\n');
        }
    }
    let body = addressed(name, &body);
    // What is left of them are forms that are not known.
    for sign in ["import ", "export ", "import(", "import{", "export{"] {
        for (at, _) in body.match_indices(sign) {
            // A statement begins its line; a call does not, and is no method of that name.
            let before = body[..at].chars().next_back().unwrap_or('\n');
            let method = matches!(before, '#' | '.' | '_' | '$') || before.is_alphanumeric();
            if before == '\n' || (sign == "import(" && !method) {
                return Err(refuse(body[at..].lines().next().unwrap_or(sign)));
            }
        }
    }
    if body.matches("import.meta").count() != body.matches(ADDRESS[1]).count() {
        return Err(refuse("import.meta"));
    }
    Ok(format!("{body}return {{ {} }};\n", exports.join(", ")))
}

/// Takes what is imported from the module of that name.
fn taken(names: &str, from: &str) -> Option<String> {
    let module = format!("await need('{from}')");
    if names.is_empty() {
        return Some(format!("{module};\n"));
    }
    let (mut whole, mut fields) = (None, Vec::new());
    let (others, braced) = match names.split_once('{') {
        Some((others, braced)) => (others, braced.strip_suffix('}')?),
        None => (names, ""),
    };
    for other in others.split(',').map(str::trim).filter(|other| !other.is_empty()) {
        match other.strip_prefix("* as ") {
            Some(name) => whole = Some(name),
            None => fields.push(format!("default: {other}")),
        }
    }
    for field in braced.split(',').map(str::trim).filter(|field| !field.is_empty()) {
        fields.push(field.replace(" as ", ": "));
    }
    let whole = whole.map(|name| format!("const {name} = {module};\n")).unwrap_or_default();
    let fields =
        if fields.is_empty() { String::new() } else { format!("const {{ {} }} = {module};\n", fields.join(", ")) };
    Some(whole + &fields)
}

/// What follows `export`: the names that are given, and what stays in the function.
fn exported(rest: &str) -> Option<(Vec<String>, &str)> {
    let plain = |c: char| c.is_ascii_alphanumeric() || c == '_' || c == '$';
    let listed = |list: &str| -> Option<Vec<String>> {
        let names = list.split(',').map(|name| name.rsplit(':').next().unwrap_or(name).trim());
        names.map(|name| name.chars().all(plain).then(|| name.to_owned())).collect()
    };
    if let Some(list) = rest.strip_prefix('{') {
        return Some((listed(list.trim_end().strip_suffix("};")?)?, ""));
    }
    let after = ["const ", "class ", "function ", "async function "].iter().find_map(|word| rest.strip_prefix(word))?;
    if let Some(pattern) = after.strip_prefix('{') {
        return Some((listed(pattern.split_once('}')?.0)?, rest));
    }
    let name: String = after.chars().take_while(|c| plain(*c)).collect();
    (!name.is_empty()).then(|| (vec![name], rest))
}

/// The text with the addresses of files as they are from where the modules were joined.
fn addressed(name: &str, text: &str) -> String {
    let mut pieces = text.split(ADDRESS[0]);
    let mut out = pieces.next().unwrap_or_default().to_owned();
    for piece in pieces {
        out.push_str(ADDRESS[0]);
        match piece.split_once(ADDRESS[1]) {
            Some((file, rest)) if !file.contains('\'') => {
                out.push_str(&from_folder(&beside(name, file)));
                out.push_str(ADDRESS[1]);
                out.push_str(rest);
            }
            _ => out.push_str(piece),
        }
    }
    out
}

/// How [`JOINED`] names a file.
fn from_folder(name: &str) -> String {
    name.strip_prefix(FOLDER).map_or_else(|| format!("../{name}"), |rest| format!("./{rest}"))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn page(all: &[(&str, &str)]) -> Parts {
        all.iter().map(|&(name, text)| (name.to_owned(), text.as_bytes().to_vec())).collect()
    }

    #[test]
    fn what_only_the_starts_need_is_in_one_file_and_means_the_same() {
        let before = page(&[
            ("src/start.js", "import { $ } from './dom.js';\nawait import('./main.js');\n"),
            ("src/dom.js", "export const $ = 1;\n"),
            (
                "src/main.js",
                "import { $ } from './dom.js';\nimport './b.js';\nimport { x as y } from './learn/c.js';\n",
            ),
            ("src/b.js", "import glue, * as all from '../glue.js';\nexport const { a, b: d } = all;\n"),
            ("src/learn/main.js", "import { C } from './c.js';\n"),
            (
                "src/learn/c.js",
                "/** C. */\nexport class C {\n  w = new Worker(new URL('../w.js', import.meta.url), { type: 'module' });\n}\n\
                 export async function x() {}\nfunction z() {}\nexport { z };\n",
            ),
            ("src/w.js", "import glue from '../glue.js';\n"),
            ("glue.js", "export { glue as default };\n"),
            ("a.css", "p {}"),
        ]);
        let after = joined(before.clone()).unwrap();
        let names: Vec<&str> = after.iter().map(|(name, _)| name.as_str()).collect();
        let kept = ["src/start.js", "src/dom.js", "src/w.js", "glue.js", "a.css"];
        assert_eq!(names[..3], [JOINED, "src/main.js", "src/learn/main.js"]);
        assert_eq!(names[3..], kept);
        let text = |name: &str| String::from_utf8(after.iter().find(|p| p.0 == name).unwrap().1.clone()).unwrap();
        assert_eq!(
            text("src/learn/main.js"),
            "import { need } from '../joined.js';\nawait need('src/learn/main.js');\n"
        );
        assert_eq!(text("src/main.js"), "import { need } from './joined.js';\nawait need('src/main.js');\n");
        assert_eq!(
            text(JOINED),
            "const made = {};
const modules = {
'glue.js': () => import('../glue.js'),
'src/b.js': async () => {
const all = await need('glue.js');
const { default: glue } = await need('glue.js');
const { a, b: d } = all;
return { a, d };
},
'src/dom.js': () => import('./dom.js'),
'src/learn/c.js': async () => {
/** C. */
class C {
  w = new Worker(new URL('./w.js', import.meta.url), { type: 'module' });
}
async function x() {}
function z() {}

return { C, x, z };
},
'src/learn/main.js': async () => {
const { C } = await need('src/learn/c.js');
return {  };
},
'src/main.js': async () => {
const { $ } = await need('src/dom.js');
await need('src/b.js');
const { x: y } = await need('src/learn/c.js');
return {  };
},
};
export const need = (name) => made[name] ??= modules[name]();
"
        );
    }

    #[test]
    fn what_only_a_file_of_its_own_can_have_is_refused() {
        for (text, why) in [
            ("export let a = 1;", "src/main.js has export let a = 1;"),
            ("export default 1;", "src/main.js has export default 1;"),
            ("export * from './b.js';", "src/main.js has export * from './b.js';"),
            ("import { a\n} from './b.js';", "src/main.js has import { a"),
            ("this.#import(a), import('./b.js');", "src/main.js has import('./b.js');"),
            ("const here = import.meta.url;", "src/main.js has import.meta"),
            ("import { a } from './gone.js';", "src/main.js imports src/gone.js, which is not there"),
            ("import { a } from './main.js';", "src/main.js import each other in a circle"),
        ] {
            let text = format!("{text}\n");
            let said = joined(page(&[("src/main.js", &text), ("src/b.js", "")])).unwrap_err();
            assert_eq!(said, why, "{text}");
        }
    }

    #[test]
    fn a_page_without_modules_stays_as_it_is() {
        let page = page(&[("a.css", "p {}")]);
        assert_eq!(joined(page.clone()), Ok(page));
    }
}
