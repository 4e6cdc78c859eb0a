//! A seal: a file's first lines carry the hash of all that stands below, so that a later edit is seen.

use std::sync::Arc;

use sha2::{Digest, Sha256};

use crate::fault::Fault;
use crate::fault::finding::Faults;
use crate::fault::source::Source;
use crate::fault::trial_fault::TrialFault;
use crate::toml_file::tree::{Item, Node};

/// SHA-256, hexadecimal.
pub(crate) fn hash(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().map(|b| format!("{b:02x}")).collect()
}

/// A body under its seal.
pub(crate) fn sealed(title: &str, body: &str) -> String {
    format!("# {title} Any edit below breaks the seal.\nschema = 1\nseal = \"{}\"\n{body}", hash(body.as_bytes()))
}

/// Looks whether a file still is what was sealed; an editor's other line ends are none of its business.
pub(crate) fn check(source: &Arc<Source>, root: &Node, faults: &mut Faults) {
    let text = source.text.replace("\r\n", "\n");
    let body = text.find("\nseal").and_then(|at| text[at + 1..].find('\n').map(|end| &text[at + end + 2..]));
    let (Some(body), Some(node)) = (body, root.at("seal")) else {
        faults.push(Fault::Trial(TrialFault::NoSeal), &root.place);
        return;
    };
    if !matches!(&node.item, Item::Text(seal) if *seal == hash(body.as_bytes())) {
        faults.push(Fault::Trial(TrialFault::Edited), &node.place);
    }
}
