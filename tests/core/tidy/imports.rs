//! Which file uses which, and the circles among them.
//!
//! A path is followed through re-exports to the file that defines what it names. A file that only
//! passes a name on (`pub use child::Name`) or only declares a child does not use it; one that
//! passes a name on and also writes it in its own code does. Unit tests are left out.

use super::source::{Token, files_below, tokens, without_tests};
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

/// A module as the names from the root on: `["bake", "map"]`; the root itself has none.
type Module = Vec<String>;

/// One name brought into a file by `use`.
#[derive(Debug, Clone)]
struct Import {
    /// From the root on; the last one is the imported name, `*` for all.
    path: Vec<String>,
    /// What it is called here.
    name: String,
    /// Whether others may have it from here.
    passed_on: bool,
}

/// What one file imports, writes and defines.
#[derive(Debug, Default)]
struct Contents {
    imports: Vec<Import>,
    /// Paths in code, from the root on, and those that begin with an imported name.
    paths: Vec<Vec<String>>,
    /// Paths in code that begin with some name of this file.
    local: Vec<Vec<String>>,
    /// Every name in code that no `::` stands before.
    names: BTreeSet<String>,
    defined: BTreeSet<String>,
}

/// All files of a source folder with what they use of each other.
pub struct Graph {
    files: BTreeMap<Module, (String, Contents)>,
}

/// Where a path leads.
enum Place {
    Module(Module),
    Item(Module),
    Outside,
}

impl Graph {
    /// Reads every file below `source`, except those that `left_out` names, such as `app`.
    pub fn read(source: &Path, left_out: &[&str]) -> Self {
        let mut files = BTreeMap::new();
        for file in files_below(source) {
            let relative = file.strip_prefix(source).unwrap();
            let shown = relative.to_string_lossy().replace('\\', "/");
            let module = module_of(&shown);
            let first = module.first().map_or("", String::as_str);
            let is_tests = module.last().is_some_and(|last| last == "tests");
            if left_out.contains(&first) || is_tests {
                continue;
            }
            let text = std::fs::read_to_string(&file).unwrap();
            let contents = contents(&without_tests(&tokens(&text)), &module);
            files.insert(module, (shown, contents));
        }
        Self { files }
    }

    /// For each file the files that it uses.
    pub fn uses(&self) -> BTreeMap<String, BTreeSet<String>> {
        self.files
            .iter()
            .map(|(module, (shown, _))| {
                let used = self.used_by(module);
                let used = used.iter().filter(|other| *other != module);
                (shown.clone(), used.map(|other| self.files[other].0.clone()).collect())
            })
            .collect()
    }

    fn used_by(&self, module: &Module) -> BTreeSet<Module> {
        let contents = &self.files[module].1;
        let mut used = BTreeSet::new();
        let mut note = |path: &[String]| match self.place(path) {
            Place::Item(item) => {
                used.insert(item);
            }
            Place::Module(_) | Place::Outside => {}
        };
        for import in contents.imports.iter().filter(|import| import.name != "*") {
            if !import.passed_on || contents.names.contains(&import.name) {
                note(&import.path);
            }
        }
        // Of all names of another file (`use super::*`) those count that stand in the code.
        let globs: Vec<Module> = self.globs(contents).collect();
        for (of, name) in globs.iter().flat_map(|of| contents.names.iter().map(move |n| (of, n))) {
            if self.knows(of, name) {
                note(&[of.clone(), vec![name.clone()]].concat());
            }
        }
        contents.paths.iter().for_each(|path| note(path));
        for path in &contents.local {
            let import = contents.imports.iter().find(|import| import.name == path[0]);
            let from = globs.iter().find(|of| self.knows(of, &path[0])).unwrap_or(module);
            let head = match import {
                Some(import) => import.path.clone(),
                None => [from.clone(), vec![path[0].clone()]].concat(),
            };
            // Only modules go on from here: what an imported type has is the type's own.
            if let Place::Module(head) = self.place(&head) {
                note(&[head, path[1..].to_vec()].concat());
            }
        }
        used
    }

    /// The files all names of which are imported.
    fn globs(&self, contents: &Contents) -> impl Iterator<Item = Module> {
        let all = contents.imports.iter().filter(|import| import.name == "*");
        all.filter_map(|import| match self.place(&import.path[..import.path.len() - 1]) {
            Place::Module(of) if self.files.contains_key(&of) => Some(of),
            _ => None,
        })
    }

    /// Whether a file defines or imports a name, or has a child of that name.
    fn knows(&self, module: &Module, name: &str) -> bool {
        let child = [module.clone(), vec![name.to_owned()]].concat();
        let contents = &self.files[module].1;
        let imported = contents.imports.iter().any(|import| import.name == name);
        imported || contents.defined.contains(name) || self.files.contains_key(&child)
    }

    /// Follows a path from the root to a module or to the file that defines an item.
    fn place(&self, path: &[String]) -> Place {
        self.follow(path, 0, &mut Vec::new())
    }

    /// The same, `depth` re-exports on. `sought` are the names that are being looked for among all
    /// names of other files: the way to those files does not lead through the same name again.
    fn follow(&self, path: &[String], depth: usize, sought: &mut Vec<(Module, String)>) -> Place {
        // Far more than any chain of re-exports: two that lead to each other end here.
        if depth > 16 {
            return Place::Outside;
        }
        let mut module = Module::new();
        for (at, name) in path.iter().enumerate() {
            let child = [module.clone(), vec![name.clone()]].concat();
            if self.files.contains_key(&child) {
                module = child;
                continue;
            }
            let Some((_, contents)) = self.files.get(&module) else { return Place::Outside };
            let rest = &path[at + 1..];
            if let Some(import) = contents.imports.iter().find(|import| import.name == *name) {
                return match self.follow(&import.path, depth + 1, sought) {
                    Place::Module(of) => {
                        self.follow(&[of, rest.to_vec()].concat(), depth + 1, sought)
                    }
                    found => found,
                };
            }
            let here = (module.clone(), name.clone());
            if !contents.defined.contains(name) && !sought.contains(&here) {
                sought.push(here);
                let all = contents.imports.iter().filter(|import| import.name == "*");
                let found =
                    all.map(|import| &import.path[..import.path.len() - 1]).find_map(|of| {
                        let Place::Module(of) = self.follow(of, depth + 1, sought) else {
                            return None;
                        };
                        self.files.get(&of)?.1.defined.contains(name).then_some(of)
                    });
                sought.pop();
                if let Some(of) = found {
                    return Place::Item(of);
                }
            }
            return if module.is_empty() { Place::Outside } else { Place::Item(module) };
        }
        Place::Module(module)
    }
}

/// The circles: every set of names each of which uses, at some remove, all others of it.
pub fn circles(uses: &BTreeMap<String, BTreeSet<String>>) -> Vec<Vec<String>> {
    let reach: BTreeMap<_, _> = uses.keys().map(|name| (name, reached(uses, name))).collect();
    let mut circles: BTreeSet<Vec<String>> = BTreeSet::new();
    for (name, others) in &reach {
        let back = |other: &&String| reach.get(other).is_some_and(|back| back.contains(*name));
        let circle: BTreeSet<String> = others.iter().filter(back).cloned().collect();
        if circle.len() > 1 {
            circles.insert(circle.into_iter().collect());
        }
    }
    circles.into_iter().collect()
}

fn reached(uses: &BTreeMap<String, BTreeSet<String>>, from: &String) -> BTreeSet<String> {
    let mut found = BTreeSet::new();
    let mut open = vec![from];
    while let Some(file) = open.pop() {
        for other in uses.get(file).into_iter().flatten() {
            if found.insert(other.clone()) {
                open.push(other);
            }
        }
    }
    found
}

/// `bake/map.rs` is `["bake", "map"]`; `bake/mod.rs` is `["bake"]`, `lib.rs` the root.
fn module_of(file: &str) -> Module {
    let path = file.trim_end_matches(".rs");
    let path = path.strip_suffix("/mod").unwrap_or(path);
    if path == "lib" { Vec::new() } else { path.split('/').map(str::to_owned).collect() }
}

fn contents(code: &[(Token, usize)], module: &Module) -> Contents {
    let mut it = Contents::default();
    let mut inner: Vec<usize> = Vec::new();
    let mut depth = 0;
    let mut at = 0;
    while at < code.len() {
        let token = &code[at].0;
        match token {
            Token::Sign('{') => depth += 1,
            Token::Sign('}') => {
                depth -= 1;
                if inner.last() == Some(&depth) {
                    inner.pop();
                }
            }
            Token::Name(name) if name == "use" && !is_capture(code, at) => {
                let passed_on = is_visible(code, at);
                let mut tree = Vec::new();
                at = use_tree(code, at + 1, &[], &mut tree);
                for (path, name) in tree {
                    let path = from_root(&path, module, inner.len());
                    if let Some(path) = path {
                        it.imports.push(Import { path, name, passed_on });
                    }
                }
                continue;
            }
            Token::Name(name) if DEFINES.contains(&name.as_str()) => {
                let defined = code.get(at + 1).and_then(|(next, _)| next.name());
                it.defined.extend(defined.map(str::to_owned));
                let opens = matches!(code.get(at + 2), Some((Token::Sign('{'), _)));
                if name == "mod" && opens {
                    inner.push(depth);
                }
                // A name that is defined is not one that is used.
                at += if name == "mod" { 2 } else { 1 };
                continue;
            }
            Token::Name(name)
                if !before(code, at, &Token::Separator) && !before(code, at, &Token::Sign('.')) =>
            {
                it.names.insert(name.clone());
                let path = path_at(code, at);
                if path.len() > 1 && ["crate", "super", "self"].contains(&path[0].as_str()) {
                    it.paths.extend(from_root(&path, module, inner.len()));
                } else if path.len() > 1 {
                    it.local.push(path);
                }
            }
            _ => {}
        }
        at += 1;
    }
    it
}

const DEFINES: [&str; 9] =
    ["fn", "struct", "enum", "trait", "type", "const", "static", "mod", "union"];

fn before(code: &[(Token, usize)], at: usize, token: &Token) -> bool {
    at > 0 && code[at - 1].0 == *token
}

/// Whether a `use` only says which lifetimes a type captures: `use<'a>`.
fn is_capture(code: &[(Token, usize)], at: usize) -> bool {
    code.get(at + 1).is_some_and(|(next, _)| *next == Token::Sign('<'))
}

/// Whether `pub` or `pub(…)` stands before a `use`.
fn is_visible(code: &[(Token, usize)], at: usize) -> bool {
    let last = at.checked_sub(1).map(|before| &code[before].0);
    last.is_some_and(|token| token.is("pub") || *token == Token::Sign(')'))
}

fn path_at(code: &[(Token, usize)], mut at: usize) -> Vec<String> {
    let mut path = Vec::new();
    while let Some(name) = code.get(at).and_then(|(token, _)| token.name()) {
        path.push(name.to_owned());
        if code.get(at + 1).map(|(token, _)| token) != Some(&Token::Separator) {
            break;
        }
        at += 2;
    }
    path
}

/// Reads one branch of a `use` and those below it; the place beyond it.
fn use_tree(
    code: &[(Token, usize)],
    mut at: usize,
    stem: &[String],
    found: &mut Vec<(Vec<String>, String)>,
) -> usize {
    let mut path = stem.to_vec();
    loop {
        match &code[at].0 {
            Token::Name(name) if name == "as" => {
                let name = code[at + 1].0.name().unwrap_or_default().to_owned();
                found.push((path, name));
                return at + 2;
            }
            Token::Name(name) => path.push(name.clone()),
            Token::Sign('*') => {
                path.push("*".to_owned());
                found.push((path, "*".to_owned()));
                return at + 1;
            }
            Token::Sign('{') => {
                at += 1;
                while code[at].0 != Token::Sign('}') {
                    at = use_tree(code, at, &path, found);
                    at += usize::from(code[at].0 == Token::Sign(','));
                }
                return at + 1;
            }
            Token::Separator => {}
            _ => {
                if path.last().is_some_and(|last| last == "self") {
                    path.pop();
                }
                let name = path.last().cloned().unwrap_or_default();
                found.push((path, name));
                return at;
            }
        }
        at += 1;
    }
}

/// A path as written in a module, `inner` inline modules deep, from the root on. Nothing where
/// it stays within the file.
fn from_root(path: &[String], module: &Module, inner: usize) -> Option<Vec<String>> {
    let up = path.iter().take_while(|name| *name == "super").count();
    match path.first().map(String::as_str) {
        Some("crate") => Some(path[1..].to_vec()),
        Some("self") => (inner == 0).then(|| [module.clone(), path[1..].to_vec()].concat()),
        Some("super") if up <= inner => None,
        Some("super") => {
            let stem = module.len() - (up - inner);
            Some([module[..stem].to_vec(), path[up..].to_vec()].concat())
        }
        // Another crate, or a child: followed only as far as files go.
        _ => Some([module.clone(), path.to_vec()].concat()),
    }
}
