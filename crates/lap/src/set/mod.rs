//! The set of accelerations at a station: its edge, what is connected, its top, what engine and gear pull.

pub(crate) mod ceiling;
pub(crate) mod connected;
pub(crate) mod edge;
pub(crate) mod pull;
pub(crate) mod search;
