//! Parsing one file, and the hand that rules about its contents write their findings with.

use super::collect::{MAX_PROBLEMS, ShapeProblem, collect};
use super::diagnostic::{Diagnostic, LoadError, Severity, nearest, one_of};
use super::format::ron_options;
use super::scan::{Scan, scan};
use super::source::Source;
use super::tree::{Kind, Node};
use serde::de::DeserializeOwned;
use std::collections::BTreeSet;
use std::ops::{Range, RangeInclusive};

/// Names that a file's one value can have.
const FILE_KINDS: [&str; 7] =
    ["Level", "Course", "Ceramics", "MeasuredCeramics", "Cements", "Tissues", "ClinicCase"];

/// A value from a valid file, and what is odd about it.
#[derive(Debug, Clone, PartialEq)]
pub struct Loaded<T> {
    /// The value; it obeys every rule of its format.
    pub value: T,
    /// Legal but unusual things.
    pub warnings: Vec<Diagnostic>,
}

/// The name in front of the brackets of a text's one value.
pub(super) fn kind_of(source: &Source) -> Option<String> {
    scan(&source.text).root.and_then(|root| root.name().map(str::to_owned))
}

/// The byte offset of what a path names, or of the whole value.
pub(super) fn locate(source: &Source, path: &str) -> usize {
    let root = scan(&source.text).root;
    root.and_then(|root| root.find(path).map(|node| node.span.start)).unwrap_or(0)
}

/// The text that a path names, whatever else is wrong with the file.
pub(super) fn text_at(source: &Source, path: &str) -> Option<String> {
    let root = scan(&source.text).root?;
    let span = root.find(path)?.span.clone();
    ron_options().from_str(&source.text[span]).ok()
}

/// The name in front of the brackets of what a path names, whatever else is wrong with the file.
pub(super) fn name_at(source: &Source, path: &str) -> Option<String> {
    let root = scan(&source.text).root?;
    root.find(path)?.name().map(str::to_owned)
}

/// The ids in a list of entries, whatever else is wrong with the file.
pub(super) fn ids_in(source: &Source, list: &str) -> Vec<String> {
    let Some(root) = scan(&source.text).root else { return Vec::new() };
    let entries = match root.find(list) {
        Some(Node { kind: Kind::List(entries), .. }) => entries.as_slice(),
        _ => &[],
    };
    let text = |node: &Node| ron_options().from_str(&source.text[node.span.clone()]).ok();
    entries.iter().filter_map(|entry| text(entry.find("id")?)).collect()
}

/// Parses a file that should hold `kind_name(…)` and applies `rules` to it.
///
/// # Errors
/// All problems of notation, shape and content.
pub(super) fn parse<T: DeserializeOwned>(
    source: &Source,
    kind_name: &str,
    rules: impl FnOnce(&T, &mut Checker<'_>),
) -> Result<Loaded<T>, LoadError> {
    let Scan { root, problems, complete, .. } = scan(&source.text);
    let error = |offset: usize, message: String, help: String| {
        source.diagnostic(Severity::Error, offset, message, help)
    };
    let mut diagnostics: Vec<Diagnostic> =
        problems.into_iter().map(|p| error(p.offset, p.message, p.help)).collect();
    let Some(root) = root else {
        if diagnostics.is_empty() {
            let what = if source.text.trim().is_empty() { "is empty" } else { "holds no value" };
            let help = format!("write `{kind_name}( … )`");
            diagnostics.push(error(0, format!("the file {what}"), help));
        }
        return Err(LoadError { diagnostics });
    };
    if let Some((message, help)) = wrong_kind(&root, kind_name) {
        diagnostics.push(error(root.span.start, message, help));
        return Err(LoadError { diagnostics });
    }

    let judged = ron_options().from_str::<T>(&source.text);
    let (value, problems) = match &judged {
        // What `ron` accepts is well-formed whatever the scanner made of it.
        Ok(_) => {
            diagnostics.clear();
            (None, Vec::new())
        }
        Err(_) => {
            let collected = collect::<T>(&source.text, &root);
            (collected.value, collected.problems)
        }
    };
    let mut checker = Checker {
        source,
        root: &root,
        unusable: problems.iter().map(|problem| problem.unusable.clone()).collect(),
        complete,
        well_formed: judged.is_ok(),
        diagnostics,
    };
    for problem in &problems {
        checker.shape_problem(problem);
    }
    if let Some(value) = judged.as_ref().ok().or(value.as_ref()) {
        rules(value, &mut checker);
    }
    let mut diagnostics = checker.diagnostics;
    if let Err(problem) = &judged
        && !diagnostics.iter().any(|d| d.severity == Severity::Error)
    {
        let start = problem.span.start;
        let offset = offset_of(&source.text, start.line, start.col);
        let help = "compare this place with a file that works".to_owned();
        diagnostics.push(error(offset, problem.code.to_string(), help));
    }
    diagnostics.sort_by_key(|d| (d.position, std::cmp::Reverse(d.severity)));
    diagnostics.dedup();
    match judged {
        Ok(value) if diagnostics.iter().all(|d| d.severity == Severity::Warning) => {
            Ok(Loaded { value, warnings: diagnostics })
        }
        _ => Err(LoadError { diagnostics }),
    }
}

/// What is wrong when the root value is not the kind asked for.
fn wrong_kind(root: &Node, wanted: &str) -> Option<(String, String)> {
    let help = format!("write `{wanted}( … )`");
    match (&root.kind, root.name()) {
        (Kind::Fields { .. } | Kind::Tuple { .. }, Some(name)) if name == wanted => None,
        (_, Some(name)) if name == wanted => {
            Some((format!("`{wanted}` has no brackets with its fields"), help))
        }
        (_, Some(name)) if FILE_KINDS.contains(&name) => Some((
            format!("the file holds `{name}`, not `{wanted}`"),
            format!("give a file that starts with `{wanted}(`"),
        )),
        (_, Some(name)) => {
            let help = match nearest(name, FILE_KINDS) {
                Some(kind) => format!("did you mean `{kind}`?"),
                None => format!("start it with {} and `(`", one_of(FILE_KINDS)),
            };
            Some((format!("a file cannot hold `{name}`"), help))
        }
        (Kind::Broken, None) => None,
        (_, None) => Some((
            "the file does not say what it holds".to_owned(),
            format!("start it with {} and `(`", one_of(FILE_KINDS)),
        )),
    }
}

/// The byte offset of a line and column that both count from 1.
fn offset_of(text: &str, line: usize, column: usize) -> usize {
    let line_start: usize =
        text.split_inclusive('\n').take(line.saturating_sub(1)).map(str::len).sum();
    let rest = text.get(line_start..).unwrap_or_default();
    line_start + rest.chars().take(column.saturating_sub(1)).map(char::len_utf8).sum::<usize>()
}

/// Collects what rules find, at the place in the file that a path names.
///
/// Findings about parts that hold no usable value are dropped: those parts were reported already.
pub(super) struct Checker<'a> {
    source: &'a Source,
    root: &'a Node,
    unusable: Vec<Range<usize>>,
    /// Whether brackets match to the end.
    complete: bool,
    /// Whether `ron` accepted the file: then every part is usable.
    well_formed: bool,
    diagnostics: Vec<Diagnostic>,
}

impl Checker<'_> {
    fn shape_problem(&mut self, problem: &ShapeProblem) {
        // Where brackets do not match, whatever is open at the end lost its remaining parts.
        let cut_off = |span: &Range<usize>| !self.complete && span.end >= self.source.text.len();
        if cut_off(&problem.unusable) || problem.absent_from.as_ref().is_some_and(cut_off) {
            return;
        }
        self.diagnostics.push(self.source.diagnostic(
            Severity::Error,
            problem.offset,
            problem.message.clone(),
            problem.help.clone(),
        ));
    }

    /// The file stem that the text was read under.
    pub fn file_stem(&self) -> Option<String> {
        self.source.file.file_stem().map(|stem| stem.to_string_lossy().into_owned())
    }

    /// Where to point for `path`, or `None` when nothing usable stands there.
    fn offset(&self, path: &str) -> Option<usize> {
        if self.well_formed {
            let mut path = path;
            loop {
                if let Some(node) = self.root.find(path) {
                    return Some(node.span.start);
                }
                path = path.rfind(['.', '[']).map_or("", |end| &path[..end]);
            }
        }
        let node = self.root.find(path)?;
        let span = &node.span;
        let apart = |bad: &Range<usize>| bad.start >= span.end || bad.end <= span.start;
        let usable = self.entire(path) && !node.has_broken() && self.unusable.iter().all(apart);
        usable.then_some(span.start)
    }

    /// Whether what stands at `path` reaches its closing bracket, usable or not.
    pub fn entire(&self, path: &str) -> bool {
        let end = self.root.find(path).map(|node| node.span.end);
        self.well_formed || end.is_some_and(|end| self.complete || end < self.source.text.len())
    }

    /// Whether a usable value stands at `path`.
    pub fn usable(&self, path: &str) -> bool {
        self.offset(path).is_some()
    }

    /// Whether anything wrong was found so far.
    pub fn has_errors(&self) -> bool {
        !self.well_formed || self.diagnostics.iter().any(|d| d.severity == Severity::Error)
    }

    /// Reports an error at `path`.
    pub fn error(&mut self, path: &str, message: impl Into<String>, help: impl Into<String>) {
        self.report(Severity::Error, path, message, help);
    }

    /// Reports something odd at `path`.
    pub fn warning(&mut self, path: &str, message: impl Into<String>, help: impl Into<String>) {
        self.report(Severity::Warning, path, message, help);
    }

    fn report(
        &mut self,
        severity: Severity,
        path: &str,
        message: impl Into<String>,
        help: impl Into<String>,
    ) {
        // Counted apart, so that no number of warnings hides an error.
        let alike = self.diagnostics.iter().filter(|d| d.severity == severity).count();
        if alike < MAX_PROBLEMS
            && let Some(offset) = self.offset(path)
        {
            self.diagnostics.push(self.source.diagnostic(severity, offset, message, help));
        }
    }

    /// Requires a number within limits; `unit` is appended to what is said, such as ` mm`.
    pub fn within(&mut self, path: &str, value: f64, limits: RangeInclusive<f64>, unit: &str) {
        if !limits.contains(&value) {
            let (low, high) = (limits.start(), limits.end());
            let name = last_name(path);
            self.error(
                path,
                format!("{name} is {value}{unit}, outside {low} to {high}{unit}"),
                format!("choose a value from {low} to {high}{unit}"),
            );
        }
    }

    /// Requires a text with something in it.
    pub fn not_blank(&mut self, path: &str, text: &str) {
        if text.trim().is_empty() {
            let name = last_name(path);
            self.error(path, format!("{name} is empty"), "write something here");
        }
    }

    /// Requires lower-case words joined by single hyphens.
    pub fn id(&mut self, path: &str, id: &str) {
        let word = |word: &str| {
            !word.is_empty() && word.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit())
        };
        if id.len() > 64 || !id.split('-').all(word) {
            self.error(
                path,
                format!("id \"{id}\" is not made of lower-case words joined by hyphens"),
                "use a to z, 0 to 9 and single hyphens, at most 64 characters: \"dark-central\"",
            );
        }
    }

    /// Requires ids to differ; `paths` names the place of each.
    pub fn unique<'i>(&mut self, ids: impl IntoIterator<Item = (String, &'i str)>) {
        let mut seen = BTreeSet::new();
        for (path, id) in ids {
            if seen.contains(id) {
                let help = "give every entry an id of its own";
                self.error(&path, format!("id \"{id}\" is used twice"), help);
            } else if self.usable(&path) {
                seen.insert(id);
            }
        }
    }

    /// Requires the format number that this build reads.
    pub fn format(&mut self, found: u32, supported: u32) {
        if found != supported {
            self.error(
                "format",
                format!("format is {found}, but this build reads format {supported}"),
                if found > supported {
                    "the file is newer than the program: update the program".to_owned()
                } else {
                    format!("write `format: {supported}` and check every value")
                },
            );
        }
    }
}

/// The field name at the end of a path, for a message.
fn last_name(path: &str) -> &str {
    let path = path.split('[').next().filter(|_| path.ends_with(']')).unwrap_or(path);
    path.rsplit('.').next().unwrap_or(path)
}
