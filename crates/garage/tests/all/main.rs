//! The readers on demo files, on bad ones and on damaged ones.
#![allow(clippy::unwrap_used)]

mod assumed;
mod bad_car;
mod bad_track;
mod common;
mod demo;
mod ledger_edit;
mod ledger_messages;
mod ledger_mutation;
mod mutation;
mod schema;
mod warnings;
