//! Source text as tokens: what is code, without comments, texts and unit tests.

use std::fs;
use std::path::{Path, PathBuf};

/// One token. Numbers and texts leave nothing behind but their place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Token {
    /// A name or keyword.
    Name(String),
    /// `::`.
    Separator,
    /// Any other sign.
    Sign(char),
    /// A number or a text.
    Literal,
}

impl Token {
    /// The name, if it is one.
    pub fn name(&self) -> Option<&str> {
        match self {
            Self::Name(name) => Some(name),
            _ => None,
        }
    }

    pub fn is(&self, name: &str) -> bool {
        self.name() == Some(name)
    }
}

/// Every `.rs` file below a folder, by path.
pub fn files_below(folder: &Path) -> Vec<PathBuf> {
    let mut files = Vec::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            files.extend(files_below(&path));
        } else if path.extension().is_some_and(|e| e == "rs") {
            files.push(path);
        }
    }
    files.sort();
    files
}

/// The folder of this package.
pub fn package() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// The tokens of a text with the lines they stand in, counted from 1.
pub fn tokens(text: &str) -> Vec<(Token, usize)> {
    let chars: Vec<char> = text.chars().collect();
    let mut found = Vec::new();
    let (mut at, mut line) = (0, 1);
    while at < chars.len() {
        let from = at;
        let token = next(&chars, &mut at);
        if let Some(token) = token {
            found.push((token, line));
        }
        line += chars[from..at].iter().filter(|c| **c == '\n').count();
    }
    found
}

/// The token at a place, or nothing for space and comments; moves beyond it.
fn next(chars: &[char], at: &mut usize) -> Option<Token> {
    let here = chars[*at];
    let ahead = |n: usize| chars.get(*at + n).copied().unwrap_or('\0');
    match here {
        c if c.is_whitespace() => {
            *at += 1;
            None
        }
        '/' if ahead(1) == '/' => {
            *at += chars[*at..].iter().position(|c| *c == '\n').unwrap_or(chars.len() - *at);
            None
        }
        '/' if ahead(1) == '*' => {
            *at = after(chars, *at + 2, &['*', '/']);
            None
        }
        'r' | 'b' if raw_hashes(chars, *at).is_some() => {
            let (start, hashes) = raw_hashes(chars, *at).unwrap();
            let mut end = vec!['"'];
            end.extend(std::iter::repeat_n('#', hashes));
            *at = after(chars, start, &end);
            Some(Token::Literal)
        }
        '"' => {
            *at = after_text(chars, *at + 1, '"');
            Some(Token::Literal)
        }
        // A character, or a lifetime, which is a sign and a name.
        '\'' if ahead(1) == '\\' || ahead(2) == '\'' => {
            *at = after_text(chars, *at + 1, '\'');
            Some(Token::Literal)
        }
        ':' if ahead(1) == ':' => {
            *at += 2;
            Some(Token::Separator)
        }
        c if c.is_ascii_digit() => {
            let rest = chars[*at..].iter();
            *at += rest.take_while(|c| c.is_alphanumeric() || **c == '_').count();
            Some(Token::Literal)
        }
        c if c.is_alphabetic() || c == '_' => {
            let rest = chars[*at..].iter();
            let name: String = rest.take_while(|c| c.is_alphanumeric() || **c == '_').collect();
            *at += name.chars().count();
            Some(Token::Name(name))
        }
        c => {
            *at += 1;
            Some(Token::Sign(c))
        }
    }
}

/// Where the text of `r"…"`, `r#"…"#` or `br"…"` begins, and its number of `#`.
fn raw_hashes(chars: &[char], at: usize) -> Option<(usize, usize)> {
    let mut place = at + usize::from(chars[at] == 'b');
    (chars.get(place) == Some(&'r')).then_some(())?;
    place += 1;
    let hashes = chars[place..].iter().take_while(|c| **c == '#').count();
    (chars.get(place + hashes) == Some(&'"')).then_some((place + hashes + 1, hashes))
}

fn after(chars: &[char], from: usize, end: &[char]) -> usize {
    let found = chars[from..].windows(end.len()).position(|window| window == end);
    found.map_or(chars.len(), |found| from + found + end.len())
}

fn after_text(chars: &[char], mut at: usize, end: char) -> usize {
    while at < chars.len() && chars[at] != end {
        at += 1 + usize::from(chars[at] == '\\');
    }
    at + 1
}

/// Where what begins at `from` ends: beyond the `;` or the `}` of its first pair of braces.
pub fn item_end(tokens: &[(Token, usize)], from: usize) -> usize {
    let mut depth = 0;
    for (place, (token, _)) in tokens.iter().enumerate().skip(from) {
        match token {
            Token::Sign('{' | '(' | '[') => depth += 1,
            Token::Sign(sign @ ('}' | ')' | ']')) => {
                depth -= 1;
                if depth == 0 && *sign == '}' {
                    return place + 1;
                }
            }
            Token::Sign(';') if depth == 0 => return place + 1,
            _ => {}
        }
    }
    tokens.len()
}

/// The tokens without what is built for unit tests alone.
pub fn without_tests(tokens: &[(Token, usize)]) -> Vec<(Token, usize)> {
    let mut kept = Vec::new();
    let mut at = 0;
    while at < tokens.len() {
        let signs: Vec<_> = tokens[at..].iter().take(7).map(|(token, _)| token.clone()).collect();
        let name = |name: &str| Token::Name(name.to_owned());
        let sign = Token::Sign;
        let test =
            [sign('#'), sign('['), name("cfg"), sign('('), name("test"), sign(')'), sign(']')];
        if signs == test {
            at = item_end(tokens, at + 7);
        } else {
            kept.push(tokens[at].clone());
            at += 1;
        }
    }
    kept
}

/// Every function with a body and its lines, from `fn` to the last brace.
pub fn functions(tokens: &[(Token, usize)]) -> Vec<(String, usize)> {
    let mut found = Vec::new();
    for (at, window) in tokens.windows(2).enumerate() {
        let (true, Some(name)) = (window[0].0.is("fn"), window[1].0.name()) else { continue };
        let end = item_end(tokens, at);
        if tokens[end - 1].0 == Token::Sign('}') {
            found.push((name.to_owned(), 1 + tokens[end - 1].1 - tokens[at].1));
        }
    }
    found
}
