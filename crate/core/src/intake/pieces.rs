//! One tube over several files: which pieces belong together, and putting them together.

use std::collections::HashSet;

use super::heading::section_label;
use super::shown::clean;
use crate::handbook;
use crate::sorting::{places_by, sort};
use crate::sweep::{Bench, Tube, plain};

/// Names of sections that belong together, in their order.
const SERIES: [&[&str]; 5] =
    [&["1", "2", "3", "4"], &["a", "b", "c", "d"], &["i", "ii"], &["left", "right"], &["l", "r"]];
/// Sections that a tube of unknown type is taken to have at most: most that have several
/// are twins (common practice, no source).
const TWIN: usize = 2;

/// What the name of a tube's file says where the file itself names neither tube nor section:
/// `009-2.csv` is section 2 of 009.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Named {
    tube: String,
    section: String,
}

impl Named {
    fn of(tube: &Tube) -> Option<Self> {
        let [source] = tube.source.as_slice() else { return None };
        let [section] = tube.sections.as_slice() else { return None };
        let file = source.rsplit(['/', '\\']).next()?;
        let stem = file.rsplit_once('.').map_or(file, |(stem, _)| stem);
        if clean(stem) != tube.name {
            return None;
        }
        let parted = tube.name.char_indices().filter(|(_, c)| matches!(c, ' ' | '_' | '-' | '.'));
        let mut found = parted.filter_map(|(at, _)| {
            let name = tube.name[..at].trim_end_matches([' ', '_', '-', '.']);
            let label = section_label(&tube.name[at + 1..])?;
            (!name.is_empty()).then(|| Self { tube: name.to_owned(), section: label })
        });
        // Without a name a section is the first.
        found.next().filter(|named| section.name == "1" || section.name == named.section)
    }

    /// Whether a number alone tells the section: that may as well be the tube's.
    fn by_number(&self) -> bool {
        self.section.bytes().all(|b| b.is_ascii_digit())
    }
}

/// Groups of tubes that can be joined to one: the same name and type, and no section
/// that two of them have; or files that call themselves the sections of one tube
/// (`009-1.csv` and `009-2.csv`, if the type has so many; `009 left.csv`). Each is a list
/// of places in `tubes`, of at least two. A person should see them before they are joined.
pub fn joinable(tubes: &[Tube]) -> Vec<Vec<usize>> {
    let key = |tube: &Tube| {
        let named = Named::of(tube);
        let name = named.as_ref().map_or(&tube.name, |n| &n.tube);
        (plain(name), tube.kind.as_deref().map(plain), named.is_some())
    };
    let keys: Vec<_> = tubes.iter().map(key).collect();
    let mut places: Vec<usize> = (0..tubes.len()).collect();
    places_by(&mut places, &|a, b| keys[a].cmp(&keys[b]));
    let fits = |group: &&[usize]| {
        let one_bench = group.windows(2).all(|w| agree(&tubes[w[0]].bench, &tubes[w[1]].bench));
        group.len() > 1 && one_bench && (sections_apart(tubes, group) || named_apart(tubes, group))
    };
    let groups = places.chunk_by(|a, b| keys[*a] == keys[*b]).filter(fits);
    let mut groups: Vec<Vec<usize>> = groups.map(<[usize]>::to_vec).collect();
    sort(&mut groups);
    groups
}

/// A group of [`joinable`] in words: what the tube would be called, and its pieces, as in
/// `009-1.csv (section 1) and 009-2.csv (section 2)`.
pub fn told(tubes: &[Tube], group: &[usize]) -> (String, String) {
    let by_files = !sections_apart(tubes, group);
    let called = |tube: &Tube| match Named::of(tube).filter(|_| by_files) {
        Some(named) => (named.tube, named.section),
        None => {
            let sections: Vec<&str> = tube.sections.iter().map(|s| s.name.as_str()).collect();
            (tube.name.clone(), sections.join(", "))
        }
    };
    let pieces = group.iter().filter_map(|&i| tubes.get(i)).map(|tube| (called(tube), tube.source.join(", ")));
    let (names, pieces): (Vec<String>, Vec<String>) =
        pieces.map(|((name, sections), source)| (name, format!("{source} (section {sections})"))).unzip();
    (names.into_iter().next().unwrap_or_default(), pieces.join(" and "))
}

/// Whether the tubes have one name and no section twice.
fn sections_apart(tubes: &[Tube], group: &[usize]) -> bool {
    let mut seen = HashSet::new();
    let one_name = group.windows(2).all(|w| plain(&tubes[w[0]].name) == plain(&tubes[w[1]].name));
    one_name && group.iter().flat_map(|&i| &tubes[i].sections).all(|s| seen.insert(plain(&s.name)))
}

/// Whether the tubes are called as the sections of one tube are.
fn named_apart(tubes: &[Tube], group: &[usize]) -> bool {
    let Some(named) = group.iter().map(|&i| Named::of(&tubes[i])).collect::<Option<Vec<Named>>>() else { return false };
    let kind = group.first().and_then(|&i| tubes[i].kind.as_deref()).and_then(handbook::find);
    let most = match kind {
        Some(kind) => kind.section_count(),
        None if named.iter().any(Named::by_number) => return false,
        None => TWIN,
    };
    let mut sections: Vec<String> = named.iter().map(|n| plain(&n.section)).collect();
    sort(&mut sections);
    let series = |series: &&[&str]| series.get(..sections.len()).is_some_and(|first| sections == first);
    sections.len() <= most && SERIES.iter().any(series)
}

/// Whether two benches may be one: nothing that both state differs.
fn agree(a: &Bench, b: &Bench) -> bool {
    fn same<T: PartialEq>(a: Option<T>, b: Option<T>) -> bool {
        a.is_none() || b.is_none() || a == b
    }
    same(a.grid_source_resistance, b.grid_source_resistance)
        && same(a.current_meter, b.current_meter)
        && same(a.heater_voltage, b.heater_voltage)
        && same(a.screen_voltage, b.screen_voltage)
        && same(a.current_limit, b.current_limit)
        && same(a.current_resolution, b.current_resolution)
}

/// Joins tubes by groups of [`joinable`]: sections in the order given, notes and
/// sources added up, and of the bench what the first that says it says. Tubes in no
/// group stay as they are.
pub fn join(tubes: Vec<Tube>, groups: &[Vec<usize>]) -> Vec<Tube> {
    let mut tubes = tubes;
    let mut head: Vec<usize> = (0..tubes.len()).collect();
    for group in groups {
        if group.len() > 1 && !sections_apart(&tubes, group) {
            group.iter().for_each(|&i| rename(&mut tubes[i]));
        }
        for &i in group {
            if let (Some(to), Some(first)) = (head.get_mut(i), group.first()) {
                *to = *first;
            }
        }
    }
    let mut out: Vec<Option<Tube>> = tubes.iter().map(|_| None).collect();
    for (tube, head) in tubes.into_iter().zip(head) {
        match &mut out[head] {
            Some(to) => add(to, tube),
            none => *none = Some(tube),
        }
    }
    out.into_iter().flatten().collect()
}

/// Calls a piece what the name of its file says.
fn rename(tube: &mut Tube) {
    let Some(named) = Named::of(tube) else { return };
    tube.name = named.tube;
    for section in &mut tube.sections {
        section.name.clone_from(&named.section);
    }
}

fn add(to: &mut Tube, tube: Tube) {
    to.sections.extend(tube.sections);
    for source in tube.source {
        if !to.source.contains(&source) {
            to.source.push(source);
        }
    }
    for note in tube.notes {
        if !to.notes.contains(&note) {
            to.notes.push(note);
        }
    }
    let (bench, more) = (&mut to.bench, tube.bench);
    bench.grid_source_resistance = bench.grid_source_resistance.or(more.grid_source_resistance);
    bench.current_meter = bench.current_meter.or(more.current_meter);
    bench.heater_voltage = bench.heater_voltage.or(more.heater_voltage);
    bench.screen_voltage = bench.screen_voltage.or(more.screen_voltage);
    bench.current_limit = bench.current_limit.or(more.current_limit);
    bench.current_resolution = bench.current_resolution.or(more.current_resolution);
    bench.heater_cathode.extend(more.heater_cathode);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::intake::read;

    fn piece(file: &str, head: &str) -> Tube {
        let text = format!("{head}Va [V],Vg [V],Ia [mA]\n100,-3,1\n100,-2,2\n100,-1,3\n");
        read(file, text.as_bytes()).unwrap().remove(0)
    }

    #[test]
    fn files_that_are_called_as_the_sections_of_one_tube_may_be_one() {
        let twin = "# type: 12AX7\n";
        for (files, head, tube, sections) in [
            (["d/009-1.csv", "d/009-2.csv"], twin, "009", ["1", "2"]),
            (["009_B.csv", "009_A.csv"], twin, "009", ["B", "A"]),
            (["B-17 section 1.csv", "B-17 section 2.csv"], twin, "B-17", ["1", "2"]),
            (["B-17 left.csv", "B-17 right.csv"], "", "B-17", ["left", "right"]),
        ] {
            let tubes: Vec<Tube> = files.map(|f| piece(f, head)).into();
            let groups = joinable(&tubes);
            assert_eq!(groups, [vec![0, 1]], "{files:?}");
            let [(a, first), (b, second)] = [(files[0], sections[0]), (files[1], sections[1])];
            let pieces = format!("{a} (section {first}) and {b} (section {second})");
            assert_eq!(told(&tubes, &groups[0]), (tube.to_owned(), pieces));
            let joined = join(tubes, &groups);
            let names: Vec<&str> = joined[0].sections.iter().map(|s| s.name.as_str()).collect();
            assert_eq!((joined.len(), joined[0].name.as_str(), names.as_slice()), (1, tube, &sections[..]));
        }
    }

    #[test]
    fn numbered_tubes_are_not_sections() {
        let none = |files: &[(&str, &str)]| {
            let tubes: Vec<Tube> = files.iter().map(|(file, head)| piece(file, head)).collect();
            assert_eq!(joinable(&tubes), Vec::<Vec<usize>>::new(), "{files:?}");
        };
        let twin = "# type: 12AX7\n";
        // A type of one section; an unknown one; more than the type has; others between them.
        none(&[("EL34-1.csv", "# type: EL34\n"), ("EL34-2.csv", "# type: EL34\n")]);
        none(&[("B-1.csv", ""), ("B-2.csv", "")]);
        none(&[("B-1.csv", twin), ("B-2.csv", twin), ("B-3.csv", twin)]);
        none(&[("B-2.csv", twin), ("B-3.csv", twin)]);
        none(&[("B-1.csv", twin), ("B-B.csv", twin)]);
        none(&[("B-1.csv", twin), ("B-2.csv", "# type: 12AU7\n")]);
        none(&[("B-1.csv", twin), ("B-2.csv", "# type: 12AX7\n# tube: 7\n")]);
        none(&[("B-1.csv", twin), ("C-2.csv", twin)]);
        none(&[("1.csv", twin), ("2.csv", twin)]);
    }
}
