//! By what results are known as ours, where they don't say so in words.

/// Who drew it, as a chunk of text: `Software`, by the standard's own keyword (W3C, *PNG*, 2003, 11.3.4). Its last four bytes
/// are the checksum of the rest, which every reader of the picture verifies.
pub const PNG: &[u8] = b"\0\0\0\x10tEXtSoftware\0unladen\x1b\xa6\x92\xd3";

/// The columns of a sweep. The first seven are those of the project's file formats, the rest is more.
pub const SWEEP: [&str; 13] = [
    "mass_kg",
    "cg_height_mm",
    "front_share",
    "lap_time_s",
    "delta_s",
    "s_per_kg",
    "s_per_mm_height",
    "s_per_mm_rearward",
    "lap_time_error_s",
    "fuel_l",
    "grip",
    "status",
    "reason",
];
