//! The bytes of a spreadsheet's text: UTF-8 with or without a mark, or the old one-byte sets (Latin-1 with the letters
//! that Windows-1252 puts where Latin-1 has none). Decoding and encoding are each other's inverse for every byte.

use crate::fault::FileProblem;

/// How a file's text is stored.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Encoding {
    Utf8 {
        /// Begins with a byte-order mark.
        mark: bool,
    },
    /// One byte a letter.
    Latin1,
}

const MARK: &[u8] = b"\xef\xbb\xbf";

/// Windows-1252 from 0x80 to 0x9f (WHATWG Encoding Standard, index windows-1252); the five without a letter stay
/// controls.
const HIGH: [char; 32] = [
    '€', '\u{81}', '‚', 'ƒ', '„', '…', '†', '‡', 'ˆ', '‰', 'Š', '‹', 'Œ', '\u{8d}', 'Ž', '\u{8f}', '\u{90}', '‘', '’',
    '“', '”', '•', '–', '—', '˜', '™', 'š', '›', 'œ', '\u{9d}', 'ž', 'Ÿ',
];

impl Encoding {
    /// The text of a file's bytes, without its mark.
    pub(crate) fn decode(bytes: &[u8]) -> Result<(Self, String), FileProblem> {
        let not_text = |byte: usize| {
            let line = bytes[..byte].iter().filter(|b| **b == b'\n').count() + 1;
            FileProblem::NotText { byte, line }
        };
        if bytes.starts_with(b"\xff\xfe") || bytes.starts_with(b"\xfe\xff") {
            return Err(not_text(0));
        }
        if let Some(nul) = bytes.iter().position(|b| *b == 0) {
            return Err(not_text(nul));
        }
        let mark = bytes.starts_with(MARK);
        let rest = if mark { &bytes[MARK.len()..] } else { bytes };
        match std::str::from_utf8(rest) {
            Ok(text) => Ok((Encoding::Utf8 { mark }, text.to_owned())),
            Err(e) if mark => Err(not_text(MARK.len() + e.valid_up_to())),
            Err(_) => Ok((Encoding::Latin1, bytes.iter().map(|b| letter(*b)).collect())),
        }
    }

    /// The bytes of a text; the first letter that this encoding has not got as the error.
    pub(crate) fn encode(self, text: &str) -> Result<Vec<u8>, char> {
        match self {
            Encoding::Utf8 { mark } => {
                let mark = if mark { MARK } else { b"" };
                Ok([mark, text.as_bytes()].concat())
            }
            Encoding::Latin1 => text.chars().map(|c| byte(c).ok_or(c)).collect(),
        }
    }
}

fn letter(byte: u8) -> char {
    match byte {
        0x80..=0x9f => HIGH[usize::from(byte - 0x80)],
        byte => char::from(byte),
    }
}

fn byte(letter: char) -> Option<u8> {
    if let Some(i) = HIGH.iter().position(|c| *c == letter) {
        return u8::try_from(0x80 + i).ok();
    }
    u8::try_from(u32::from(letter)).ok().filter(|b| !(0x80..=0x9f).contains(b))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn property_every_byte_comes_back() {
        let all: Vec<u8> = (1..=255).collect();
        let (encoding, text) = Encoding::decode(&all).unwrap();
        assert_eq!(encoding, Encoding::Latin1);
        assert_eq!(encoding.encode(&text).unwrap(), all);
        assert_eq!(Encoding::decode(b"Gep\xe4ck 5 \x80").unwrap().1, "Gepäck 5 €");
    }

    #[test]
    fn closed_form_marks_stay() {
        let (encoding, text) = Encoding::decode(b"\xef\xbb\xbfa;b\r\n").unwrap();
        assert_eq!((encoding, text.as_str()), (Encoding::Utf8 { mark: true }, "a;b\r\n"));
        assert_eq!(encoding.encode(&text).unwrap(), b"\xef\xbb\xbfa;b\r\n");
    }

    #[test]
    fn bad_input_letters_that_do_not_fit_and_wide_characters() {
        assert_eq!(Encoding::Latin1.encode("zł"), Err('ł'));
        assert_eq!(Encoding::Latin1.encode("a\u{80}"), Err('\u{80}'));
        assert!(matches!(Encoding::decode(b"\xff\xfea\0"), Err(FileProblem::NotText { byte: 0, .. })));
        assert!(matches!(Encoding::decode(b"ab\nc\0"), Err(FileProblem::NotText { byte: 4, line: 2 })));
        assert!(matches!(Encoding::decode(b"\xef\xbb\xbfa\xe4"), Err(FileProblem::NotText { byte: 4, .. })));
    }
}
