//! Whether a file is a result that this program wrote, by how it begins. Files that people edit (cars, tracks, ledgers) are
//! none, whoever made them first.

use std::fs::File;
use std::io::{self, Read, Seek, SeekFrom};
use std::path::Path;

use crate::files::marks::{MARK, SWEEP};

/// First lines of tables that are results; each goes on or ends there.
const TABLES: [&str; 7] = [
    // lap, worth, rank, move, ledger, compare and its map.
    "s_m,t_s,v_mps,",
    "track,s_m,s_per_kg,s_per_mm_height,",
    "name,place_best,place_worst,resolved,change_kg,",
    "fuel_l,lap_time_before_s,lap_time_after_s,",
    "item,area,state,source,date,change_kg,mass_kg,mass_kg_sd",
    "day,track,s_m,t_first_s,t_second_s,gain_s,",
    "power_factor,grip,lap_time_first_s,lap_time_second_s,gain_s",
];
/// A log that was invented: its head, and the ocean where no road is, in the first row; or its own words.
const LOG: &str = "Time (s),Latitude (deg),Longitude (deg),Altitude (m),Speed (km/h),";
const QUIRKY: &str = "Invented log;not of a real drive";
/// Of a sweep that was stopped, which question its rows answer.
const CARD: &str = "{ \"schema\": 1, \"sweep\": \"";
/// Bytes from which a file is known.
const HEAD: u64 = 4096;

/// The text of a small file of our own; none where it is something else.
pub(crate) fn small(path: &Path) -> Option<String> {
    let mut text = String::new();
    File::open(path).ok()?.take(1 << 20).read_to_string(&mut text).ok().map(|_| text)
}

/// Is it? An empty file is nobody's work.
pub(super) fn ours(path: &Path) -> io::Result<bool> {
    let mut file = File::open(path)?;
    let mut head = Vec::new();
    file.by_ref().take(HEAD).read_to_end(&mut head)?;
    if head.is_empty() || head.windows(MARK.len()).any(|w| w == MARK) && head.starts_with(b"\x89PNG") {
        return Ok(true);
    }
    if head.starts_with(b"PAR1") {
        return parquet(&mut file);
    }
    let text = String::from_utf8_lossy(&head);
    Ok(table(&text) || log(&text) || picture(&text) || page(&text) || text.starts_with(CARD) || manual(&text))
}

fn table(text: &str) -> bool {
    let first = text.lines().next().unwrap_or_default();
    TABLES.iter().any(|t| if t.ends_with(',') { first.starts_with(t) } else { first == *t }) || first == SWEEP.join(",")
}

fn log(text: &str) -> bool {
    let nowhere = |row: &str| {
        let mut fields = row.split(',').skip(1).map(str::parse::<f64>);
        matches!((fields.next(), fields.next()), (Some(Ok(lat)), Some(Ok(lon))) if (lat - 47.0).abs() < 2.0 && (lon + 30.0).abs() < 2.0)
    };
    text.starts_with(QUIRKY) || text.starts_with(LOG) && text.lines().skip(1).any(nowhere)
}

fn picture(text: &str) -> bool {
    let labelled = text.split_once(" role=\"img\" aria-labelledby=\"").and_then(|(_, rest)| rest.split_once('"'));
    let own = labelled.and_then(|(ids, _)| ids.split_once(' ')).is_some_and(
        |(title, alt)| matches!((title.strip_suffix("-title"), alt.strip_suffix("-alt")), (Some(a), Some(b)) if a == b),
    );
    // Until 0.1 letters were outlines, drawn through links.
    let heads = [
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"",
        "<svg xmlns=\"http://www.w3.org/2000/svg\" xmlns:xlink=\"http://www.w3.org/1999/xlink\" width=\"",
    ];
    heads.iter().any(|head| text.starts_with(head)) && own
}

fn page(text: &str) -> bool {
    text.starts_with("<!DOCTYPE html>") && text.contains("<meta name=\"generator\" content=\"unladen ")
}

fn manual(text: &str) -> bool {
    text.lines().take(5).any(|line| line.starts_with(".TH unladen"))
}

/// The columns stand at the end.
fn parquet(file: &mut File) -> io::Result<bool> {
    let size = file.seek(SeekFrom::End(0))?;
    file.seek(SeekFrom::Start(size.saturating_sub(1 << 16)))?;
    let mut tail = Vec::new();
    file.take(1 << 16).read_to_end(&mut tail)?;
    let holds = |name: &str| tail.windows(name.len()).any(|w| w == name.as_bytes());
    Ok(SWEEP.iter().all(|name| holds(name)))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn of(bytes: &[u8]) -> bool {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("x");
        std::fs::write(&path, bytes).unwrap();
        ours(&path).unwrap()
    }

    #[test]
    fn property_results_are_known_by_how_they_begin() {
        for text in [
            "",
            "s_m,t_s,v_mps,ax\n1,2,3,4\n",
            "day,track,s_m,t_first_s,t_second_s,gain_s,v_first_mps\n",
            "Invented log;not of a real drive\r\n",
            "Time (s),Latitude (deg),Longitude (deg),Altitude (m),Speed (km/h),Gear\n0.0,,,,3,1\n0.1,47.01,-30.02,1,2,1\n",
            "{ \"schema\": 1, \"sweep\": \"x\" }\n",
        ] {
            assert!(of(text.as_bytes()), "{text}");
        }
        assert!(of((SWEEP.join(",") + "\n").as_bytes()));
    }

    #[test]
    fn bad_input_what_others_wrote_is_not_ours() {
        for text in [
            "item,area,state,mass_before_kg\n",
            "length_m,curvature_start_1pm,curvature_end_1pm\n",
            "schema = 1\n",
            "# Fitted by `unladen fit` to laps 1, 2 of a log\nschema = 1\n",
            "time,s_m,t_s,v_mps,\n",
            // A logger that names its columns so, on a road.
            "Time (s),Latitude (deg),Longitude (deg),Altitude (m),Speed (km/h),Gear\n0.0,52.0,-1.0,1,2,1\n",
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"10\"><title>mine</title></svg>",
            "<!DOCTYPE html><html><head><meta name=\"generator\" content=\"other\"></head>",
            "\u{89}PNG and no mark",
            "PAR1 of somebody else PAR1",
            ".TH other 1",
        ] {
            assert!(!of(text.as_bytes()), "{text}");
        }
    }
}
