//! Imports run one way: no files of a crate import each other in a circle, and none from its own floor or a higher one.
//!
//! Read from the text: `use` trees and paths in code that begin with `crate::`, `super::` or `self::`, followed through re-exports to the
//! file that they come from. A `mod` line and a `pub use` are no import; unit tests at the end of a file are left out.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

/// Module path (`plant::node`, empty for the root) to its text.
type Modules = BTreeMap<String, String>;

/// The text without comments and without the unit tests that end it.
fn bare(text: &str) -> String {
    let code = text.split("#[cfg(test)]\nmod ").next().unwrap_or(text);
    code.lines().map(|line| line.split("//").next().unwrap_or(line)).collect::<Vec<_>>().join("\n")
}

fn modules(source: &Path) -> Modules {
    fn read(folder: &Path, at: &str, all: &mut Modules) {
        for entry in std::fs::read_dir(folder).expect("a source folder") {
            let path = entry.expect("an entry").path();
            let stem = path.file_stem().expect("a name").to_string_lossy().into_owned();
            let inner = |name: &str| if at.is_empty() { name.to_owned() } else { format!("{at}::{name}") };
            if path.is_dir() {
                read(&path, &inner(&stem), all);
            } else if path.extension().is_some_and(|end| end == "rs") && stem != "main" {
                let name = if stem == "mod" || stem == "lib" { at.to_owned() } else { inner(&stem) };
                all.insert(name, bare(&std::fs::read_to_string(&path).expect("a source file")));
            }
        }
    }
    let mut all = Modules::new();
    read(source, "", &mut all);
    all
}

/// The leaves of a `use` tree: `a::{b, c::d as e}` is `a::b` and `a::c::d`.
fn leaves(tree: &str) -> Vec<String> {
    let tree = tree.trim();
    let Some(open) = tree.find('{') else {
        return vec![tree.split(" as ").next().unwrap_or(tree).trim().to_owned()];
    };
    let inner = &tree[open + 1..tree.rfind('}').unwrap_or(tree.len())];
    let (mut depth, mut start, mut parts) = (0, 0, Vec::new());
    for (at, letter) in inner.char_indices() {
        match letter {
            '{' => depth += 1,
            '}' => depth -= 1,
            ',' if depth == 0 => {
                parts.push(&inner[start..at]);
                start = at + 1;
            }
            _ => {}
        }
    }
    parts.push(&inner[start..]);
    let parts = parts.into_iter().filter(|part| !part.trim().is_empty());
    parts.flat_map(|part| leaves(part).into_iter().map(|leaf| format!("{}{leaf}", &tree[..open]))).collect()
}

/// `use` trees of a text, those that are re-exports apart.
fn uses(text: &str) -> (Vec<String>, Vec<String>) {
    let find = regex_lite::Regex::new(r"(?m)^\s*(pub(?:\([a-z]+\))?\s+)?use\s+([^;]+);").expect("a pattern");
    let (mut own, mut handed) = (Vec::new(), Vec::new());
    for one in find.captures_iter(text) {
        let list = leaves(&one[2].replace(char::is_whitespace, " ").replace(" as _", ""));
        if one.get(1).is_some() { handed.extend(list) } else { own.extend(list) }
    }
    (own, handed)
}

/// The absolute form of a path seen in module `here`, without the crate; `None` where it leads out of the crate.
fn absolute(path: &str, here: &str, all: &Modules) -> Option<Vec<String>> {
    let mut parts: Vec<String> = path.split("::").map(|part| part.trim().to_owned()).collect();
    let mut base: Vec<String> = here.split("::").filter(|part| !part.is_empty()).map(str::to_owned).collect();
    match parts.first()?.as_str() {
        "crate" => base.clear(),
        "self" => {}
        "super" => {
            while parts.first().is_some_and(|part| part == "super") {
                base.pop();
                parts.remove(0);
            }
            base.extend(parts);
            return Some(base);
        }
        first => {
            let child = if here.is_empty() { first.to_owned() } else { format!("{here}::{first}") };
            all.contains_key(&child).then_some(())?;
            base.extend(parts);
            return Some(base);
        }
    }
    base.extend(parts.into_iter().skip(1));
    Some(base)
}

/// The module that holds what an absolute path names, followed through re-exports.
fn home(path: &[String], all: &Modules, depth: usize) -> Option<String> {
    let at = (0..=path.len()).rev().find(|&at| all.contains_key(&path[..at].join("::")))?;
    let module = path[..at].join("::");
    let Some(name) = path.get(at).filter(|_| depth < 8) else { return Some(module) };
    let (_, handed) = uses(&all[&module]);
    let through = handed.iter().filter(|one| {
        let last = one.rsplit("::").next().unwrap_or("");
        last == name || last == "*" && !all[&module].contains(&format!(" {name}"))
    });
    for one in through {
        if let Some(further) = absolute(one, &module, all).filter(|further| further.as_slice() != path) {
            return home(&further, all, depth + 1);
        }
    }
    Some(module)
}

fn imports(all: &Modules) -> BTreeMap<String, BTreeSet<String>> {
    let inline = regex_lite::Regex::new(r"\b(?:crate|super|self)(?:::[A-Za-z_][A-Za-z0-9_]*)+").expect("a pattern");
    let mut graph = BTreeMap::new();
    for (here, text) in all {
        let (own, handed) = uses(text);
        let handed: BTreeSet<&String> = handed.iter().collect();
        let seen = inline.find_iter(text).map(|one| one.as_str().to_owned());
        let paths = own.into_iter().chain(seen.filter(|one| !handed.iter().any(|path| path.starts_with(one.as_str()))));
        let targets: BTreeSet<String> = paths
            .filter_map(|path| home(&absolute(&path, here, all)?, all, 0))
            .filter(|target| target != here && !target.is_empty())
            .collect();
        graph.insert(here.clone(), targets);
    }
    graph
}

/// Everything that `start` imports, over any number of steps.
fn reach(start: &str, graph: &BTreeMap<String, BTreeSet<String>>) -> BTreeSet<String> {
    let (mut seen, mut left) = (BTreeSet::new(), vec![start.to_owned()]);
    while let Some(next) = left.pop() {
        for target in graph.get(&next).into_iter().flatten() {
            if seen.insert(target.clone()) {
                left.push(target.clone());
            }
        }
    }
    seen
}

/// Circles, each as its members.
fn circles(graph: &BTreeMap<String, BTreeSet<String>>) -> BTreeSet<BTreeSet<String>> {
    let reached: BTreeMap<&String, BTreeSet<String>> = graph.keys().map(|one| (one, reach(one, graph))).collect();
    let in_circle = reached.iter().filter(|(one, all)| all.contains(**one));
    in_circle
        .map(|(one, all)| {
            let back = |other: &&String| reached.get(*other).is_some_and(|theirs| theirs.contains(*one));
            all.iter().filter(back).cloned().collect()
        })
        .collect()
}

fn of_crate(name: &str) -> BTreeMap<String, BTreeSet<String>> {
    let source = Path::new(env!("CARGO_MANIFEST_DIR")).join("..").join(name).join("src");
    imports(&modules(&source))
}

/// Rooms by their floor, as a list under `floors of NAME` says them.
fn floors(page: &str, name: &str) -> BTreeMap<String, usize> {
    let head = format!("floors of {name}");
    let lines = page.lines().skip_while(|line| *line != head).skip(1);
    let lines = lines.take_while(|line| !line.is_empty() && !line.starts_with("```")).enumerate();
    lines.flat_map(|(floor, line)| line.split(", ").map(move |room| (room.to_owned(), floor))).collect()
}

/// The room with the longest path that holds this module, with its floor.
fn room<'a>(module: &str, floors: &'a BTreeMap<String, usize>) -> Option<(&'a str, usize)> {
    let holds =
        |room: &&String| module == *room || module.strip_prefix(*room).is_some_and(|rest| rest.starts_with("::"));
    let room = floors.keys().filter(holds).max_by_key(|room| room.len())?;
    Some((room, floors[room]))
}

/// Imports that lead up or sideways, and modules of no room.
fn climbs(graph: &BTreeMap<String, BTreeSet<String>>, floors: &BTreeMap<String, usize>) -> Vec<String> {
    let mut found = Vec::new();
    for (module, targets) in graph.iter().filter(|(module, _)| !module.is_empty()) {
        let Some((own, floor)) = room(module, floors) else {
            found.push(format!("{module} stands on no floor"));
            continue;
        };
        for target in targets {
            if room(target, floors).is_some_and(|(other, at)| other != own && at >= floor) {
                found.push(format!("{module} imports {target}"));
            }
        }
    }
    found
}

#[test]
fn core_and_simulator_import_one_way_floor_by_floor() {
    let page =
        std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("../DEVELOPERS.md")).expect("the map");
    for name in ["core", "sim-host"] {
        let (graph, floors) = (of_crate(name), floors(&page, name));
        assert!(graph.len() > 30 && floors.len() > 5, "{name}: {} files, {} rooms", graph.len(), floors.len());
        assert_eq!(circles(&graph), BTreeSet::new(), "{name}");
        assert_eq!(climbs(&graph, &floors), Vec::<String>::new(), "{name}: see Floors in DEVELOPERS.md");
    }
}

#[test]
fn an_import_up_sideways_or_of_no_floor_is_found() {
    let floors = floors("x\nfloors of a\nlow, side\nlow::odd, high\n\nfloors of b\nother\n", "a");
    assert_eq!(floors.len(), 4);
    let graph = |pairs: &[(&str, &str)]| -> BTreeMap<String, BTreeSet<String>> {
        pairs.iter().map(|(from, to)| ((*from).to_owned(), BTreeSet::from([(*to).to_owned()]))).collect()
    };
    let fine = [("high::x", "low::y"), ("low::a", "low::b"), ("low::odd::a", "low"), ("high", "side")];
    assert_eq!(climbs(&graph(&fine), &floors), Vec::<String>::new());
    let wrong = [("low::y", "high::x"), ("low", "side"), ("low::a", "low::odd"), ("lower", "side")];
    assert_eq!(climbs(&graph(&wrong), &floors).len(), 4);
}

#[test]
fn a_circle_is_found_through_braces_re_exports_and_inline_paths() {
    let text = |pairs: &[(&str, &str)]| -> Modules {
        pairs.iter().map(|(name, text)| ((*name).to_owned(), bare(text))).collect()
    };
    let found = |pairs: &[(&str, &str)]| circles(&imports(&text(pairs)));
    let one_way = [("", "mod a; mod b;"), ("a", "pub struct A;"), ("b", "use super::a::{A, self};\n// use crate::b;")];
    assert_eq!(found(&one_way), BTreeSet::new());
    let braces = [("", ""), ("a", "use crate::{b::{B as X}, c};"), ("b", "use super::a::A;\npub struct B;"), ("c", "")];
    assert_eq!(found(&braces).len(), 1);
    let handed = [
        ("", ""),
        ("r", "pub use b::B;"),
        ("r::a", "use crate::r::B;\npub struct A;"),
        ("r::b", "fn f() { super::a::A; }"),
    ];
    let circle: BTreeSet<String> = ["r::a", "r::b"].map(str::to_owned).into();
    assert_eq!(found(&handed), BTreeSet::from([circle]));
    let tests_only =
        [("", ""), ("a", "use crate::b::B;"), ("b", "pub struct B;\n#[cfg(test)]\nmod tests { use crate::a::A; }")];
    assert_eq!(found(&tests_only), BTreeSet::new());
}
