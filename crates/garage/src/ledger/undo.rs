//! Taking back edits exactly: a list of the stretches that changed, beside the ledger. Each knows the file before and
//! after it by a checksum, so that nothing a person has typed since is ever overwritten.

use serde_json::{Value, json};

use crate::csv_file::dialect::Sheet;
use crate::csv_file::encoding::Encoding;
use crate::fault::ledger_fault::LedgerFault;
use crate::ledger::edit::{Edit, Patch};

/// Edits that can be taken back; the oldest go first.
const KEPT: usize = 100;

/// One of them.
#[derive(Clone, Debug, PartialEq)]
struct Past {
    what: String,
    patch: Patch,
    before: u64,
    after: u64,
}

/// The list.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct History {
    past: Vec<Past>,
}

impl History {
    /// From its file's text.
    ///
    /// # Errors
    /// [`LedgerFault::UndoUnread`] where it is not what was written.
    pub fn parse(text: &str) -> Result<Self, LedgerFault> {
        let unread = |reason: &str| LedgerFault::UndoUnread { reason: reason.into() };
        let value: Value = serde_json::from_str(text).map_err(|e| unread(&e.to_string()))?;
        let Value::Array(list) = value else { return Err(unread("no list")) };
        let one = |v: &Value| {
            let text = |key: &str| v.get(key)?.as_str().map(ToOwned::to_owned);
            let sum = |key: &str| u64::from_str_radix(&text(key)?, 16).ok();
            let at = usize::try_from(v.get("at")?.as_u64()?).ok()?;
            let patch = Patch { at, old: text("old")?, new: text("new")? };
            Some(Past { what: text("what")?, patch, before: sum("before")?, after: sum("after")? })
        };
        let past: Option<Vec<Past>> = list.iter().map(one).collect();
        past.map(|past| Self { past }).ok_or_else(|| unread("an entry is incomplete"))
    }

    /// Its file's text.
    pub fn text(&self) -> String {
        let one = |p: &Past| {
            json!({ "what": p.what, "at": p.patch.at, "old": p.patch.old, "new": p.patch.new,
                "before": format!("{:016x}", p.before), "after": format!("{:016x}", p.after) })
        };
        let list: Vec<Value> = self.past.iter().map(one).collect();
        format!("{:#}\n", Value::Array(list))
    }

    /// With one more edit of this file.
    pub fn with(&self, sheet: &Sheet, edit: &Edit) -> Self {
        let now = checksum(&sheet.bytes());
        // An edit that was noted but whose file never came to be (the run was killed in between) is forgotten.
        let mut past: Vec<Past> = self.past.iter().filter(|p| p.after == now || p.before != now).cloned().collect();
        let (what, patch) = (edit.what.clone(), edit.patch.clone());
        past.push(Past { what, patch, before: now, after: checksum(&edit.bytes) });
        past.drain(..past.len().saturating_sub(KEPT));
        Self { past }
    }

    /// The file before the last edit, what that edit was, and the list without it.
    ///
    /// # Errors
    /// Where there is none, or the file is not as it left it.
    pub fn back(&self, sheet: &Sheet) -> Result<(Vec<u8>, String, Self), LedgerFault> {
        let now = checksum(&sheet.bytes());
        let mut past = self.past.clone();
        // Noted, but never written.
        if past.last().is_some_and(|p| p.after != now && p.before == now) {
            past.pop();
        }
        let Some(last) = past.pop() else { return Err(LedgerFault::NothingToUndo) };
        let changed = || LedgerFault::ChangedSince { what: last.what.clone() };
        if last.after != now {
            return Err(changed());
        }
        let (text, patch) = (&sheet.source.text, &last.patch);
        let end = patch.at + patch.new.len();
        if text.get(patch.at..end) != Some(patch.new.as_str()) {
            return Err(changed());
        }
        let old = format!("{}{}{}", &text[..patch.at], patch.old, &text[end..]);
        let bytes = Encoding::encode(sheet.encoding, &old).map_err(|letter| LedgerFault::Letter { letter })?;
        if checksum(&bytes) != last.before {
            return Err(changed());
        }
        Ok((bytes, last.what, Self { past }))
    }
}

/// FNV-1a, 64 bits (G. Fowler, L. C. Noll, K.-P. Vo): to tell files apart, not to resist anyone.
fn checksum(bytes: &[u8]) -> u64 {
    bytes.iter().fold(0xcbf2_9ce4_8422_2325, |sum, b| (sum ^ u64::from(*b)).wrapping_mul(0x0100_0000_01b3))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The published test vectors of FNV-1a 64.
    #[test]
    fn published_fnv_1a_vectors() {
        assert_eq!(checksum(b""), 0xcbf2_9ce4_8422_2325);
        assert_eq!(checksum(b"a"), 0xaf63_dc4c_8601_ec8c);
        assert_eq!(checksum(b"foobar"), 0x8594_4171_f739_67e8);
    }

    #[test]
    fn bad_input_a_list_that_is_none() {
        for text in ["", "{}", "[1]", "[{\"what\":\"x\"}]", "[{\"what\":\"x\",\"at\":-1}]"] {
            assert!(matches!(History::parse(text), Err(LedgerFault::UndoUnread { .. })), "{text}");
        }
        assert_eq!(History::parse(&History::default().text()), Ok(History::default()));
    }
}
