//! What the module has and what its types say are the same names.

use std::collections::BTreeSet;

const MODULE: &str = include_str!("../../src/lib.rs");
const TYPES: &str = include_str!("../../python/unladen/_native.pyi");

/// mypy's stubtest compares them one by one in the tests of Python; this is what a build sees without an interpreter.
#[test]
fn property_every_exported_name_has_its_type() {
    let exported = MODULE.lines().filter_map(|line| line.trim().strip_prefix("use crate::")?.strip_suffix(';'));
    // Functions of trials are the package's own, over private ones of the module.
    let names = exported.filter(|path| !path.starts_with("ask::trial::")).flat_map(|path| {
        let (_, last) = path.rsplit_once("::").unwrap_or(("", path));
        let inner = path.split_once('{').map_or(last, |(_, inner)| inner.trim_end_matches('}'));
        inner.split(',').map(|name| name.trim().to_owned()).collect::<Vec<_>>()
    });
    let names: BTreeSet<String> = names.map(|name| if name == "relocate" { "move".into() } else { name }).collect();
    let typed = TYPES.lines().filter_map(|line| {
        let rest = line.strip_prefix("class ").or(line.strip_prefix("def "))?;
        rest.split(|c: char| !c.is_alphanumeric() && c != '_').next()
    });
    let typed: BTreeSet<String> = typed.filter(|name| !name.starts_with('_')).map(str::to_owned).collect();
    assert!(names.len() > 10);
    assert_eq!(names, typed);
}
