//! What a study is asked about: uncertain numbers, tracks of a mix, laps that are sound.

pub(crate) mod caveat;
pub(crate) mod error;
pub(crate) mod leg;
pub(crate) mod sound;
pub(crate) mod unknown;
