//! Rooms that look at each other.

use std::collections::{BTreeMap, BTreeSet};

use super::tree::{Crate, Place};

/// Every circle that a folder is in, between rooms that stand beside each other, at any level: which, and the looks
/// that make it, the rarest first (taking that one away is likely the cure).
pub fn circles(of: &Crate) -> Vec<String> {
    // By the folder around them, then by the two rooms: what is looked at.
    let mut levels = BTreeMap::<Place, BTreeMap<(String, String), Vec<String>>>::new();
    for look in of.looks() {
        let shared = look.from.iter().zip(&look.into).take_while(|(a, b)| a == b).count();
        if let (Some(from), Some(into)) = (look.from.get(shared), look.into.get(shared)) {
            let level = levels.entry(look.from[..shared].to_vec()).or_default();
            level.entry((from.clone(), into.clone())).or_default().push(look.says);
        }
    }
    let mut all = Vec::new();
    for (level, edges) in &levels {
        let mut reach = BTreeMap::<&String, BTreeSet<&String>>::new();
        for room in edges.keys().map(|(from, _)| from) {
            reach.insert(room, reached(room, edges));
        }
        let inside = |(from, into): &(String, String)| reach.get(into).is_some_and(|all| all.contains(from));
        let mut told = BTreeSet::new();
        for (room, reachable) in &reach {
            if !reachable.contains(room) || told.contains(room) {
                continue;
            }
            let ring: BTreeSet<&String> = reachable
                .iter()
                .copied()
                .filter(|other| reach.get(other).is_some_and(|back| back.contains(room)))
                .collect();
            told.extend(ring.iter().copied());
            // Files of one folder may lean on each other: it is read as a whole.
            if !ring.iter().any(|room| of.is_folder(&[level.as_slice(), &[(*room).clone()]].concat())) {
                continue;
            }
            let mut guilty: Vec<_> = edges.iter().filter(|(edge, _)| ring.contains(&edge.0) && inside(edge)).collect();
            guilty.sort_by_key(|(_, says)| says.len());
            let names: Vec<&str> = ring.iter().map(|r| r.as_str()).collect();
            let place = if level.is_empty() { "the crate".into() } else { level.join("/") };
            let mut text = format!("in {place} these rooms look at each other in a circle: {}", names.join(", "));
            for ((from, into), says) in guilty {
                text += &format!("\n  {from} -> {into} ({} times): {}", says.len(), says[0]);
            }
            all.push(text);
        }
    }
    all
}

fn reached<'a>(from: &'a String, edges: &'a BTreeMap<(String, String), Vec<String>>) -> BTreeSet<&'a String> {
    let mut seen = BTreeSet::new();
    let mut open = vec![from];
    while let Some(room) = open.pop() {
        for (_, into) in edges.keys().filter(|(from, _)| from == room) {
            if seen.insert(into) {
                open.push(into);
            }
        }
    }
    seen
}

#[cfg(test)]
mod tests {
    use super::*;

    fn circles_of(files: &[(&str, &str)]) -> Vec<String> {
        let text = |file: &str| files.iter().find(|f| f.0 == file).map(|f| f.1.to_owned());
        circles(&Crate::of("lib.rs", &text).unwrap())
    }

    #[test]
    fn closed_form_one_way_is_no_circle() {
        let all = circles_of(&[
            ("lib.rs", "mod a; mod b; mod c;"),
            ("a.rs", "use crate::b::X; use crate::c;"),
            ("b.rs", "use super::c::Y; pub struct X;"),
            ("c.rs", "pub struct Y; #[cfg(test)] mod tests { use crate::a; }"),
        ]);
        assert!(all.is_empty(), "{all:?}");
    }

    #[test]
    fn closed_form_a_circle_of_folders_names_its_rarest_look_first() {
        let all = circles_of(&[
            ("lib.rs", "mod draw; mod words; mod other;"),
            ("draw/mod.rs", "pub mod svg; pub mod pen;"),
            ("draw/svg.rs", "use crate::words::{table, number}; fn f() { crate::words::number::g() }"),
            ("draw/pen.rs", "use super::svg;"),
            ("words/mod.rs", "pub mod table; pub mod number;"),
            ("words/table.rs", "use crate::draw::pen;"),
            ("words/number.rs", "use super::table;"),
            ("other.rs", "use crate::draw; use crate::words;"),
        ]);
        let want = "in the crate these rooms look at each other in a circle: draw, words\n  \
                    words -> draw (1 times): words/table.rs: crate::draw::pen\n  \
                    draw -> words (3 times): draw/svg.rs: crate::words::table";
        assert_eq!(all, [want]);
    }

    #[test]
    fn closed_form_three_folders_in_a_ring_but_not_three_files() {
        let ring = |x: &'static str, y: &'static str, z: &'static str| {
            circles_of(&[
                ("lib.rs", "mod a;"),
                ("a.rs", "mod x; mod y; mod z;"),
                (x, "mod own; use super::y::Y;"),
                (y, "mod own; use super::z::Z;"),
                (z, "mod own; fn f() { super::x::g() }"),
                ("a/x/own.rs", ""),
                ("a/y/own.rs", ""),
                ("a/z/own.rs", ""),
            ])
        };
        let all = ring("a/x/mod.rs", "a/y/mod.rs", "a/z/mod.rs");
        assert!(all.len() == 1 && all[0].starts_with("in a these rooms") && all[0].contains("x, y, z"), "{all:?}");
        let files = [("a/x.rs", "use super::y::Y;"), ("a/y.rs", "use super::z::Z;"), ("a/z.rs", "use super::x::X;")];
        let all = circles_of(&[&[("lib.rs", "mod a;"), ("a.rs", "mod x; mod y; mod z;")], &files[..]].concat());
        assert!(all.is_empty(), "{all:?}");
    }

    /// `crate::X` is in the room that makes X, through one door or two; a folder's own file is beside nothing below it.
    #[test]
    fn closed_form_shown_names_are_looked_up_where_they_are() {
        let files = |lib: &'static str| {
            circles_of(&[
                ("lib.rs", lib),
                ("a.rs", "use crate::Y; pub struct X;"),
                ("b/mod.rs", "pub mod far; pub use far::Y; pub fn own() {}"),
                ("b/far.rs", "pub struct Y; use super::own; use crate::X;"),
            ])
        };
        for lib in ["mod a; mod b; pub use a::X; pub use b::Y;", "mod a; mod b; pub use a::*; pub use crate::b::*;"] {
            assert!(files(lib).len() == 1 && files(lib)[0].contains("a, b"), "{lib}");
        }
        assert!(files("mod a; mod b; pub use b::Y; pub struct X;").is_empty());
    }

    #[test]
    fn closed_form_modules_within_a_file_are_part_of_it() {
        let all = circles_of(&[
            ("lib.rs", "mod a; mod b;"),
            ("a.rs", "mod inner { use crate::b::Y; use super::X; } pub struct X; use inner::Z;"),
            ("b/mod.rs", "mod own; pub struct Y; use crate::a::inner::Z;"),
            ("b/own.rs", ""),
        ]);
        assert!(all.len() == 1 && all[0].contains("a, b"), "{all:?}");
    }

    #[test]
    fn bad_input_a_file_that_is_not_there() {
        let of = |files: &'static str| Crate::of("lib.rs", &|f| (f == "lib.rs").then(|| files.to_owned())).map(|_| ());
        let missing = of("mod a;").unwrap_err();
        assert!(missing.contains("neither a.rs nor a/mod.rs is there"), "{missing}");
        assert!(of("fn (").unwrap_err().starts_with("lib.rs: "));
    }
}
