//! Lines on a map from the open formats: GPX 1.1 (Topografix), GeoJSON (RFC 7946), KML (OGC 12-007r2).

use std::io::Cursor;

use geojson::{GeoJson, GeometryValue, Position};

use super::geo_limits::{MOST, look_over};

/// A line of positions.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct GeoLine {
    /// Its name, where it has one.
    pub name: Option<String>,
    /// Latitude and longitude, degrees.
    pub points: Vec<(f64, f64)>,
    /// Heights, m; NaN for none.
    pub heights: Vec<f64>,
    /// Times, s since 1970; empty where not every point has one.
    pub times: Vec<f64>,
}

/// Why a file gives no line.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[allow(missing_docs)]
pub enum GeoError {
    #[error("not {format} as it should be: {reason}")]
    Malformed { format: &'static str, reason: String },
    #[error("no line in it: a {format} file with {due} is due; single points make no track")]
    NoLine { format: &'static str, due: &'static str },
    #[error("{format} with more than {most} things within one another: no line of positions needs that")]
    Deep { format: &'static str, most: usize },
    #[error("{format} with more than {most} positions; keep those of the track, or thin them out")]
    Long { format: &'static str, most: usize },
    #[error("line {line}: the position {text:?} is none; longitude,latitude in degrees is due")]
    Position { line: usize, text: String },
}

/// The format of a text, by what it begins with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum GeoFormat {
    /// GPX 1.1.
    Gpx,
    /// RFC 7946.
    GeoJson,
    /// KML.
    Kml,
}

impl GeoFormat {
    /// `None`: some other text, a CSV most likely.
    pub fn of(bytes: &[u8]) -> Option<GeoFormat> {
        let head = String::from_utf8_lossy(&bytes[..bytes.len().min(2048)]);
        let head = head.trim_start_matches('\u{feff}').trim_start();
        if head.starts_with('{') {
            Some(GeoFormat::GeoJson)
        } else if head.starts_with('<') && head.contains("<gpx") {
            Some(GeoFormat::Gpx)
        } else if head.starts_with('<') && head.contains("<kml") {
            Some(GeoFormat::Kml)
        } else {
            None
        }
    }
}

/// Every line of a file, in its order.
///
/// # Errors
/// [`GeoError`].
pub fn read_geo(bytes: &[u8], format: GeoFormat) -> Result<Vec<GeoLine>, GeoError> {
    look_over(bytes, format)?;
    let (lines, name, due) = match format {
        GeoFormat::Gpx => (gpx(bytes)?, "GPX", "a track or a route"),
        GeoFormat::GeoJson => (geojson(bytes)?, "GeoJSON", "a LineString, a MultiLineString or a Polygon"),
        GeoFormat::Kml => (kml(bytes)?.0, "KML", "a LineString or a LinearRing"),
    };
    let lines: Vec<GeoLine> = lines.into_iter().filter(|l| l.points.len() > 1).collect();
    if lines.is_empty() { Err(GeoError::NoLine { format: name, due }) } else { Ok(lines) }
}

/// Named points of a file: GPX waypoints, GeoJSON points and KML placemarks that have a name; latitude and longitude,
/// degrees.
pub fn read_points(bytes: &[u8], format: GeoFormat) -> Vec<(String, f64, f64)> {
    match format {
        GeoFormat::Gpx => {
            let read = gpx::read(Cursor::new(bytes)).map(|g| g.waypoints).unwrap_or_default();
            read.into_iter().filter_map(|w| Some((w.name.clone()?, w.point().y(), w.point().x()))).collect()
        }
        GeoFormat::GeoJson => {
            let text = String::from_utf8_lossy(bytes);
            let Ok(GeoJson::FeatureCollection(all)) = text.trim_start_matches('\u{feff}').parse() else {
                return Vec::new();
            };
            let point = |f: &geojson::Feature| {
                let name = f.property("name")?.as_str()?.to_owned();
                let GeometryValue::Point { coordinates } = &f.geometry.as_ref()?.value else { return None };
                let p = coordinates.as_slice();
                (p.len() >= 2).then(|| (name, p[1], p[0]))
            };
            all.features.iter().filter_map(point).collect()
        }
        GeoFormat::Kml => kml(bytes).map(|read| read.1).unwrap_or_default(),
    }
}

fn gpx(bytes: &[u8]) -> Result<Vec<GeoLine>, GeoError> {
    let read =
        gpx::read(Cursor::new(bytes)).map_err(|e| GeoError::Malformed { format: "GPX", reason: e.to_string() })?;
    let line = |name: &Option<String>, points: &[gpx::Waypoint]| {
        let times: Vec<f64> = points
            .iter()
            .filter_map(|p| p.time.map(|t| time::OffsetDateTime::from(t).unix_timestamp_nanos() as f64 / 1e9))
            .collect();
        GeoLine {
            name: name.clone(),
            points: points.iter().map(|p| (p.point().y(), p.point().x())).collect(),
            heights: points.iter().map(|p| p.elevation.unwrap_or(f64::NAN)).collect(),
            times: if times.len() == points.len() { times } else { Vec::new() },
        }
    };
    let tracks = read.tracks.iter().flat_map(|t| t.segments.iter().map(|s| line(&t.name, &s.points)));
    let routes = read.routes.iter().map(|r| line(&r.name, &r.points));
    Ok(tracks.chain(routes).collect())
}

fn geojson(bytes: &[u8]) -> Result<Vec<GeoLine>, GeoError> {
    let text = String::from_utf8_lossy(bytes);
    let text = text.trim_start_matches('\u{feff}');
    let read: GeoJson =
        text.parse().map_err(|e: geojson::Error| GeoError::Malformed { format: "GeoJSON", reason: e.to_string() })?;
    let mut lines = Vec::new();
    match read {
        GeoJson::Geometry(g) => shapes(&g.value, None, &mut lines, 0),
        GeoJson::Feature(f) => feature(&f, &mut lines),
        GeoJson::FeatureCollection(c) => c.features.iter().for_each(|f| feature(f, &mut lines)),
    }
    Ok(lines)
}

fn feature(feature: &geojson::Feature, lines: &mut Vec<GeoLine>) {
    let name = feature.property("name").and_then(|n| n.as_str()).map(String::from);
    if let Some(geometry) = &feature.geometry {
        shapes(&geometry.value, name, lines, 0);
    }
}

/// Collections nested deeper than this are not looked into.
const DEEP: usize = 8;

fn shapes(value: &GeometryValue, name: Option<String>, lines: &mut Vec<GeoLine>, depth: usize) {
    let line = |positions: &[Position]| {
        let sound = positions.iter().map(|p| p.as_slice()).filter(|p| p.len() >= 2);
        let (points, heights) = sound.map(|p| ((p[1], p[0]), p.get(2).copied().unwrap_or(f64::NAN))).unzip();
        GeoLine { name: name.clone(), points, heights, times: Vec::new() }
    };
    match value {
        GeometryValue::LineString { coordinates } => lines.push(line(coordinates)),
        GeometryValue::MultiLineString { coordinates } => lines.extend(coordinates.iter().map(|l| line(l))),
        // The outer ring: holes are no track.
        GeometryValue::Polygon { coordinates } => lines.extend(coordinates.first().map(|l| line(l))),
        GeometryValue::MultiPolygon { coordinates } => {
            lines.extend(coordinates.iter().filter_map(|p| p.first()).map(|l| line(l)))
        }
        GeometryValue::GeometryCollection { geometries } if depth < DEEP => {
            geometries.iter().for_each(|g| shapes(&g.value, name.clone(), lines, depth + 1));
        }
        _ => {}
    }
}

/// Named points: name, latitude, longitude.
type Named = Vec<(String, f64, f64)>;

fn kml(bytes: &[u8]) -> Result<(Vec<GeoLine>, Named), GeoError> {
    use quick_xml::events::Event;
    let malformed = |reason: String| GeoError::Malformed { format: "KML", reason };
    let mut reader = quick_xml::Reader::from_reader(bytes);
    let mut path: Vec<String> = Vec::new();
    let (mut lines, mut points) = (Vec::new(), Vec::new());
    let (mut name, mut text) = (None::<String>, String::new());
    let (mut counted, mut line) = (0, 1);
    loop {
        let at = reader.buffer_position() as usize;
        match reader.read_event().map_err(|e| malformed(e.to_string()))? {
            Event::Start(e) => {
                path.push(e.local_name().as_ref().to_string());
                text.clear();
            }
            Event::Text(t) => text.push_str(&t),
            Event::End(_) => {
                let tag = path.pop().unwrap_or_default();
                let parent = path.last().map_or("", String::as_str);
                match &tag[..] {
                    "name" => name = Some(text.trim().to_string()),
                    "coordinates" if parent == "Point" => {
                        let at = coordinates(&text, None, 0).ok().and_then(|p| p.points.first().copied());
                        points.extend(name.clone().zip(at).map(|(name, at)| (name, at.0, at.1)));
                    }
                    "coordinates" if parent == "LineString" || parent == "LinearRing" => {
                        line += bytes[counted..at.min(bytes.len())].iter().filter(|b| **b == b'\n').count();
                        counted = at.min(bytes.len());
                        lines.push(coordinates(&text, name.clone(), line)?);
                    }
                    _ => {}
                }
                text.clear();
            }
            Event::Eof => break,
            _ => {}
        }
    }
    if path.is_empty() { Ok((lines, points)) } else { Err(malformed("it ends in the middle".into())) }
}

/// `longitude,latitude[,height]` between blanks.
fn coordinates(text: &str, name: Option<String>, line: usize) -> Result<GeoLine, GeoError> {
    let mut out = GeoLine { name, ..GeoLine::default() };
    for word in text.split_whitespace() {
        let numbers: Vec<f64> = word.split(',').map_while(|n| n.parse().ok()).filter(|x: &f64| x.is_finite()).collect();
        let [lon, lat, ..] = numbers[..] else {
            return Err(GeoError::Position { line, text: word.chars().take(60).collect() });
        };
        if out.points.len() == MOST {
            return Err(GeoError::Long { format: "KML", most: MOST });
        }
        out.points.push((lat, lon));
        out.heights.push(numbers.get(2).copied().unwrap_or(f64::NAN));
    }
    Ok(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    const GPX: &str = "<?xml version=\"1.0\"?><gpx version=\"1.1\" creator=\"t\" xmlns=\"http://www.topografix.com/GPX/1/1\"><trk><name>Loop</name><trkseg><trkpt lat=\"52.1\" lon=\"-1.5\"><ele>80.5</ele><time>2001-09-09T01:46:40Z</time></trkpt><trkpt lat=\"52.2\" lon=\"-1.4\"><ele>81</ele><time>2001-09-09T01:46:40.5Z</time></trkpt></trkseg></trk></gpx>";
    const JSON: &str = r#"{"type":"FeatureCollection","features":[{"type":"Feature","properties":{"name":"Loop"},"geometry":{"type":"LineString","coordinates":[[-1.5,52.1,80.5],[-1.4,52.2,81]]}}]}"#;
    const KML: &str = "<?xml version=\"1.0\"?>\n<kml xmlns=\"http://www.opengis.net/kml/2.2\"><Placemark><name>Loop</name><LineString><coordinates>\n -1.5,52.1,80.5\n -1.4,52.2,81 </coordinates></LineString></Placemark></kml>";

    #[test]
    fn property_one_line_in_three_formats() {
        for (text, format) in [(GPX, GeoFormat::Gpx), (JSON, GeoFormat::GeoJson), (KML, GeoFormat::Kml)] {
            assert_eq!(GeoFormat::of(text.as_bytes()), Some(format));
            let lines = read_geo(text.as_bytes(), format).unwrap();
            assert_eq!(lines.len(), 1, "{format:?}");
            assert_eq!(lines[0].name.as_deref(), Some("Loop"));
            assert_eq!(lines[0].points, [(52.1, -1.5), (52.2, -1.4)], "{format:?}");
            assert_eq!(lines[0].heights, [80.5, 81.0]);
            let times: &[f64] = if format == GeoFormat::Gpx { &[1e9, 1e9 + 0.5] } else { &[] };
            assert_eq!(lines[0].times, times);
        }
        assert_eq!(GeoFormat::of(b"time,lat"), None);
    }

    #[test]
    fn property_named_points_in_three_formats() {
        let gpx = GPX.replace("<trk>", "<wpt lat=\"52.15\" lon=\"-1.45\"><name>Hairpin</name></wpt><trk>");
        let point = r#"{"type":"Feature","properties":{"name":"Hairpin"},"geometry":{"type":"Point","coordinates":[-1.45,52.15]}},"#;
        let json = JSON.replace(r#""features":["#, &format!(r#""features":[{point}"#));
        let mark =
            "<Placemark><name>Hairpin</name><Point><coordinates>-1.45,52.15</coordinates></Point></Placemark></kml>";
        let kml = KML.replace("</kml>", mark);
        for (text, format) in [(gpx, GeoFormat::Gpx), (json, GeoFormat::GeoJson), (kml, GeoFormat::Kml)] {
            assert_eq!(read_points(text.as_bytes(), format), [("Hairpin".to_owned(), 52.15, -1.45)], "{format:?}");
            assert_eq!(read_geo(text.as_bytes(), format).unwrap().len(), 1, "{format:?}");
        }
        assert!(read_points(b"{", GeoFormat::GeoJson).is_empty());
    }

    #[test]
    fn bad_input_no_line_and_broken_files() {
        let point = r#"{"type":"Point","coordinates":[1,2]}"#;
        assert!(matches!(read_geo(point.as_bytes(), GeoFormat::GeoJson), Err(GeoError::NoLine { .. })));
        for (text, format) in [(GPX, GeoFormat::Gpx), (JSON, GeoFormat::GeoJson), (KML, GeoFormat::Kml)] {
            for cut in [20, text.len() / 2, text.len() - 3] {
                assert!(read_geo(&text.as_bytes()[..cut], format).is_err(), "{format:?} {cut}");
            }
        }
        let wrong = KML.replace("-1.4,52.2,81", "-1.4;52.2");
        assert!(matches!(read_geo(wrong.as_bytes(), GeoFormat::Kml), Err(GeoError::Position { line: 4, .. })));
    }

    /// Any change to a file: an error or lines, never a panic.
    #[test]
    fn property_mutations_never_panic() {
        let mut random = unladen_positions::Noise::new(23);
        for (text, format) in [(GPX, GeoFormat::Gpx), (JSON, GeoFormat::GeoJson), (KML, GeoFormat::Kml)] {
            for _ in 0..2000 {
                let mut bytes = text.as_bytes().to_vec();
                for _ in 0..1 + random.bits() % 4 {
                    let at = (random.bits() as usize) % bytes.len();
                    match random.bits() % 3 {
                        0 => bytes[at] = b"<>\"{}[],-9e&/"[(random.bits() % 13) as usize],
                        1 => bytes[at] = (random.bits() & 0xff) as u8,
                        _ => bytes.truncate(at.max(1)),
                    }
                }
                if let Ok(lines) = read_geo(&bytes, format) {
                    assert!(lines.iter().all(|l| l.points.len() == l.heights.len()));
                }
            }
        }
    }
}
