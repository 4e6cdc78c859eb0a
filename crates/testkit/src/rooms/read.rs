//! One file's text to what it declares and what it names.

use std::iter::Peekable;

use proc_macro2::{Delimiter, Group, TokenStream, TokenTree, token_stream::IntoIter};

/// What a file, or a module written out inside it, holds apart from test code.
#[derive(Debug, Default, PartialEq)]
pub struct Text {
    /// `mod name;`
    pub files: Vec<String>,
    /// `mod name { … }`
    pub inner: Vec<(String, Text)>,
    /// Names made here.
    pub items: Vec<String>,
    /// `use` and written-out paths, segment by segment as they stand.
    pub paths: Vec<Vec<String>>,
    /// `pub use path as name`; the name is `*` for everything.
    pub shown: Vec<(String, Vec<String>)>,
}

/// Reads a file; what is wrong where it is not Rust.
pub fn read(text: &str) -> Result<Text, String> {
    let tokens: TokenStream = text.parse().map_err(|e| format!("{e}"))?;
    let mut all = Text::default();
    module(tokens, &mut all);
    Ok(all)
}

type Tokens = Peekable<IntoIter>;

const ITEMS: [&str; 9] = ["fn", "struct", "enum", "union", "trait", "type", "const", "static", "macro_rules"];

fn module(tokens: TokenStream, into: &mut Text) {
    let mut rest = tokens.into_iter().peekable();
    let (mut public, mut elsewhere) = (false, false);
    while let Some(token) = rest.next() {
        match token {
            TokenTree::Punct(p) if p.as_char() == '#' => {
                match attribute(&mut rest).as_str() {
                    "test" | "cfg(test)" => skip_item(&mut rest),
                    text if text.starts_with("cfg(all(test,") => skip_item(&mut rest),
                    // Another folder's file: nobody's room here.
                    text if text.starts_with("path=") => elsewhere = true,
                    _ => {}
                }
                continue;
            }
            TokenTree::Ident(word) => match word.to_string().as_str() {
                "pub" => {
                    public = true;
                    // `pub(crate)`
                    rest.next_if(|t| matches!(t, TokenTree::Group(g) if g.delimiter() == Delimiter::Parenthesis));
                    continue;
                }
                "mod" if elsewhere => skip_item(&mut rest),
                "mod" => declared(&mut rest, into),
                "use" => {
                    for (name, path) in uses(&mut rest, &[]) {
                        if public {
                            into.shown.push((name, path.clone()));
                        }
                        into.paths.push(path);
                    }
                }
                word if ITEMS.contains(&word) => {
                    rest.next_if(|t| matches!(t, TokenTree::Punct(p) if p.as_char() == '!'));
                    if let Some(TokenTree::Ident(name)) = rest.peek() {
                        into.items.push(name.to_string());
                    }
                }
                word => written_out(word, &mut rest, into),
            },
            TokenTree::Group(group) => inside(&group, into),
            _ => {}
        }
        (public, elsewhere) = (false, false);
    }
}

/// What stands in the attribute that follows `#`, without blanks.
fn attribute(rest: &mut Tokens) -> String {
    rest.next_if(|t| matches!(t, TokenTree::Punct(p) if p.as_char() == '!'));
    let Some(TokenTree::Group(group)) = rest.next() else { return String::new() };
    group.stream().to_string().split_whitespace().collect()
}

/// Past the item at hand: to its semicolon or its body, whichever comes first.
fn skip_item(rest: &mut Tokens) {
    for token in rest {
        match token {
            TokenTree::Punct(p) if p.as_char() == ';' => return,
            TokenTree::Group(g) if g.delimiter() == Delimiter::Brace => return,
            _ => {}
        }
    }
}

fn declared(rest: &mut Tokens, into: &mut Text) {
    let Some(TokenTree::Ident(name)) = rest.next() else { return };
    if let Some(TokenTree::Group(body)) = rest.next() {
        let mut inner = Text::default();
        module(body.stream(), &mut inner);
        into.inner.push((name.to_string(), inner));
    } else {
        into.files.push(name.to_string());
    }
}

/// Bodies, arguments and macros may hold paths and `use` of their own, but make no names that others see.
fn inside(group: &Group, into: &mut Text) {
    let mut inner = Text::default();
    module(group.stream(), &mut inner);
    into.paths.append(&mut inner.paths);
    into.files.append(&mut inner.files);
    into.inner.append(&mut inner.inner);
}

fn separator(rest: &mut Tokens) -> bool {
    let colon = |t: &TokenTree| matches!(t, TokenTree::Punct(p) if p.as_char() == ':');
    let mut ahead = rest.clone();
    let double = ahead.next().is_some_and(|t| colon(&t)) && ahead.next().is_some_and(|t| colon(&t));
    if double {
        *rest = ahead;
    }
    double
}

/// A path in running code that begins at the crate or beside it.
fn written_out(first: &str, rest: &mut Tokens, into: &mut Text) {
    if !["crate", "super", "self"].contains(&first) {
        return;
    }
    let mut path = vec![first.to_owned()];
    while separator(rest) {
        let Some(TokenTree::Ident(word)) = rest.next_if(|t| matches!(t, TokenTree::Ident(_))) else { break };
        path.push(word.to_string());
    }
    if path.len() > 1 {
        into.paths.push(path);
    }
}

/// The paths of a `use`, each with the name that it gets here.
fn uses(rest: &mut Tokens, before: &[String]) -> Vec<(String, Vec<String>)> {
    let mut path = before.to_vec();
    loop {
        match rest.next() {
            Some(TokenTree::Ident(word)) if word == "as" => {
                let name = rest.next().map(|t| t.to_string()).unwrap_or_default();
                return vec![(name, path)];
            }
            Some(TokenTree::Ident(word)) if word == "self" && !path.is_empty() => {}
            Some(TokenTree::Ident(word)) => path.push(word.to_string()),
            Some(TokenTree::Group(group)) => {
                let mut inner = group.stream().into_iter().peekable();
                let mut all = Vec::new();
                while inner.peek().is_some() {
                    all.append(&mut uses(&mut inner, &path));
                    inner.next_if(|t| matches!(t, TokenTree::Punct(p) if p.as_char() == ','));
                }
                return all;
            }
            Some(TokenTree::Punct(p)) if p.as_char() == '*' => return vec![("*".into(), path)],
            Some(TokenTree::Punct(p)) if p.as_char() == ':' => {}
            _ => {
                let name = path.last().cloned().unwrap_or_default();
                return if name.is_empty() { vec![] } else { vec![(name, path)] };
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn paths(text: &str) -> Vec<String> {
        read(text).unwrap().paths.iter().map(|p| p.join("::")).collect()
    }

    #[test]
    fn closed_form_trees_of_use() {
        let text = "use crate::a::{self, B, c::{D as E, *}}; pub use super::f; use std::io;";
        assert_eq!(paths(text), ["crate::a", "crate::a::B", "crate::a::c::D", "crate::a::c", "super::f", "std::io"]);
        let shown = read("pub use a::{B as C, d::*}; pub(crate) use e::F; use g::H;").unwrap().shown;
        let shown: Vec<_> = shown.iter().map(|(name, path)| format!("{name}={}", path.join("::"))).collect();
        assert_eq!(shown, ["C=a::B", "*=a::d", "F=e::F"]);
    }

    #[test]
    fn closed_form_paths_in_code_count_and_words_about_them_do_not() {
        let text = "//! crate::no\n/// [`crate::no::X`]\nfn f(x: crate::a::B<super::c::D>) -> u8 {\n// crate::no\n
                    println!(\"crate::no {}\", crate::d::e()); use crate::g; 1 }";
        assert_eq!(paths(text), ["crate::a::B", "super::c::D", "crate::d::e", "crate::g"]);
    }

    #[test]
    fn closed_form_test_code_is_left_out() {
        let text = "#[cfg(test)] use crate::no; #[cfg(test)] mod tests { use crate::no; } #[cfg(test)] mod far;
                    #[test] fn f() { crate::no::g() } #[cfg(all(test, unix))] fn h() -> [crate::no::X; 2] { crate::no::g() }
                    #[cfg(feature = \"x\")] mod x; #[path = \"../far.rs\"] mod far; mod y { use crate::yes; }";
        let all = read(text).unwrap();
        assert_eq!((all.paths.len(), all.files), (0, vec!["x".to_owned()]));
        assert_eq!((all.inner[0].0.as_str(), all.inner[0].1.paths[0].join("::")), ("y", "crate::yes".to_owned()));
    }

    #[test]
    fn closed_form_names_made_here() {
        let text =
            "pub struct A(B); pub(crate) const C: f64 = 1.0; fn d() { fn hidden() {} } macro_rules! e { () => {} }";
        assert_eq!(read(text).unwrap().items, ["A", "C", "d", "e"]);
    }

    #[test]
    fn bad_input_no_rust() {
        assert!(read("fn f( {").is_err());
    }
}
