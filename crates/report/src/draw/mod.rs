//! What every picture is drawn with: canvas, lettering, colours, axes, labels.

pub mod backend;
pub mod colour;
pub mod frame;
pub mod header;
pub mod interval;
pub mod labels;
pub mod look;
pub mod map_key;
pub mod measure;
pub mod picture;
pub mod place_labels;
pub mod png;
pub mod svg;
pub mod theme;
pub(crate) mod thin;
