//! The rules of the house, looked up in every crate.
#![allow(clippy::unwrap_used)]

mod paths;
mod rooms;
