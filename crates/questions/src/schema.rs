//! What each file may hold, for an editor that completes its keys.

use unladen_garage::{car_schema, readings_schema, track_schema};

/// A kind of file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Document {
    /// car.toml
    Car,
    /// A track's TOML file
    Track,
    /// Scale readings
    Readings,
}

/// Its JSON Schema.
pub fn schema(of: Document) -> String {
    let schema = match of {
        Document::Car => car_schema(),
        Document::Track => track_schema(),
        Document::Readings => readings_schema(),
    };
    format!("{schema:#}\n")
}
