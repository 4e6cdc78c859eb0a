//! What is read of a map's file: looked over once, before it is built in memory, where a position takes ten times its text.

use quick_xml::Reader;
use quick_xml::events::Event;

use super::geo::{GeoError, GeoFormat};

/// Elements or lists within one another.
const DEEP: usize = 32;
/// Positions: of a logger of 25 Hz eleven hours.
pub(super) const MOST: usize = 1_000_000;

/// Is it small enough? What is no XML or JSON at all its own reader says.
pub(super) fn look_over(bytes: &[u8], format: GeoFormat) -> Result<(), GeoError> {
    let name = match format {
        GeoFormat::Gpx => "GPX",
        GeoFormat::GeoJson => "GeoJSON",
        GeoFormat::Kml => "KML",
    };
    let (deepest, positions) = if format == GeoFormat::GeoJson { lists(bytes) } else { elements(bytes) };
    if deepest > DEEP {
        return Err(GeoError::Deep { format: name, most: DEEP });
    }
    if positions > MOST {
        return Err(GeoError::Long { format: name, most: MOST });
    }
    Ok(())
}

/// How deep, and how many elements.
fn elements(bytes: &[u8]) -> (usize, usize) {
    let mut reader = Reader::from_reader(bytes);
    reader.config_mut().check_end_names = false;
    let (mut depth, mut deepest, mut points) = (0usize, 0, 0);
    loop {
        match reader.read_event() {
            Ok(Event::Start(e)) => {
                depth += 1;
                deepest = deepest.max(depth);
                points += usize::from(point(e.local_name().as_ref()));
            }
            Ok(Event::Empty(e)) => points += usize::from(point(e.local_name().as_ref())),
            Ok(Event::End(_)) => depth = depth.saturating_sub(1),
            Ok(Event::Eof) | Err(_) => return (deepest, points),
            Ok(_) => {}
        }
        if deepest > DEEP || points > MOST {
            return (deepest, points);
        }
    }
}

fn point(name: &str) -> bool {
    ["trkpt", "rtept", "wpt", "Placemark"].contains(&name)
}

/// How deep, and how many lists.
fn lists(bytes: &[u8]) -> (usize, usize) {
    let (mut depth, mut deepest, mut count, mut text, mut escaped) = (0usize, 0, 0, false, false);
    for b in bytes {
        match (b, text) {
            _ if escaped => escaped = false,
            (b'\\', true) => escaped = true,
            (b'"', _) => text = !text,
            (b'[' | b'{', false) => {
                depth += 1;
                deepest = deepest.max(depth);
                count += usize::from(*b == b'[');
            }
            (b']' | b'}', false) => depth = depth.saturating_sub(1),
            _ => {}
        }
    }
    (deepest, count)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bad_input_what_is_nested_or_has_no_end() {
        let deep = format!("<gpx>{}", "<extensions>".repeat(100_000));
        assert!(matches!(look_over(deep.as_bytes(), GeoFormat::Gpx), Err(GeoError::Deep { .. })));
        let long = format!("<gpx><trk><trkseg>{}</trkseg></trk></gpx>", "<trkpt/>".repeat(MOST + 1));
        assert!(matches!(look_over(long.as_bytes(), GeoFormat::Gpx), Err(GeoError::Long { .. })));
        let deep = "[".repeat(1000);
        assert!(matches!(look_over(deep.as_bytes(), GeoFormat::GeoJson), Err(GeoError::Deep { .. })));
        let long = format!("[{}]", "[1,2],".repeat(MOST));
        assert!(matches!(look_over(long.as_bytes(), GeoFormat::GeoJson), Err(GeoError::Long { .. })));
        assert_eq!(look_over(br#"{"a":"[[[[[\"[["}"#, GeoFormat::GeoJson), Ok(()));
    }
}
