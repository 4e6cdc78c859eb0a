//! Every picture from invented laps, the extremes too: sound SVG, nothing that is not a number, no label over another or off the page.

#![allow(clippy::unwrap_used)]

mod labels;
#[path = "../examples/samples/synthetic.rs"]
mod synthetic;

use roxmltree::{Document, Node};
use synthetic::{KART, Lap, Mass, SALOON, airfield, climb, giant, lap, single};
use unladen_report::curve::{CurvePlot, curve_picture};
use unladen_report::map::{MapPlot, map_picture};
use unladen_report::picture::{Picture, PlotError, save_plot};
use unladen_report::png;
use unladen_report::speed::{SpeedPlot, speed_picture};
use unladen_report::trace::LapTrace;

const AWKWARD: &str =
    "<script>alert(\"1\")</script> & 'the' bend\u{7} behind the mill by the long wall of the old brewery 日本";

fn trace<'a>(lap: &'a Lap, name: &'a str) -> LapTrace<'a> {
    LapTrace { name, rows: &lap.rows, length_m: lap.length_m, lap_time_s: lap.lap_time_s, lap_time_error_s: 4e-4 }
}

fn speed(laps: &[(&Lap, &str)]) -> Result<Picture, PlotError> {
    let traces: Vec<_> = laps.iter().map(|(l, name)| trace(l, name)).collect();
    speed_picture(&SpeedPlot { track: &laps[0].0.track.name, places: &laps[0].0.places, laps: &traces })
}

fn map(l: &Lap) -> Result<Picture, PlotError> {
    let (track, closed) = (l.track.name.as_str(), l.track.closed);
    map_picture(&MapPlot { track, closed, places: &l.places, plan: &l.plan, lap: trace(l, "car") })
}

fn curve(l: &Lap, sd: Option<f64>) -> Result<Picture, PlotError> {
    let s_m: Vec<f64> = l.rows.iter().map(|r| r.s).collect();
    let (track, s_per_kg) = (l.track.name.as_str(), &l.dt_dm[..]);
    let (places, length_m) = (&l.places[..], l.length_m);
    curve_picture(&CurvePlot { car: "car", track, places, length_m, s_m: &s_m, s_per_kg, total_sd: sd, error: 1e-6 })
}

/// Laps from the everyday to the extreme.
fn laps() -> Vec<Lap> {
    vec![
        lap(airfield(), SALOON, 3.0),
        lap(climb(), SALOON, 2.0),
        lap(single(), KART, 2.0),
        lap(airfield(), KART, 3.0),
        lap(airfield(), Mass { kg: 2500.0, watts: 90e3, ..SALOON }, 3.0),
        lap(giant(|i| format!("Corner {}", i + 1)), SALOON, 5.0),
        lap(giant(|i| format!("{i} {AWKWARD}")), SALOON, 5.0),
        lap(giant(|_| String::new()), SALOON, 5.0),
    ]
}

fn pictures() -> Vec<Picture> {
    let laps = laps();
    let mut out: Vec<Picture> = laps
        .iter()
        .flat_map(|l| [speed(&[(l, AWKWARD)]), map(l), curve(l, None), curve(l, Some(2e-3))])
        .map(Result::unwrap)
        .collect();
    let light = lap(airfield(), Mass { kg: 1184.0, ..SALOON }, 2.7);
    let names = ["as it stands", "lighter", AWKWARD, "d", "e", "f", "g"];
    for count in [2, 3, 7] {
        let all: Vec<_> = (0..count).map(|i| (if i % 2 == 0 { &laps[0] } else { &light }, names[i])).collect();
        out.push(speed(&all).unwrap());
    }
    out
}

#[test]
fn property_pictures_parse_and_hold_finite_numbers_only() {
    for picture in pictures() {
        let doc = Document::parse(&picture.svg).unwrap();
        for node in doc.descendants().filter(Node::is_element) {
            for a in node.attributes().filter(|a| !a.name().starts_with("data-") && !a.name().contains("label")) {
                let bad = ["NaN", "inf", "null"].iter().any(|bad| a.value().contains(bad));
                assert!(!bad, "{}: {}=\"{}\"", picture.title, a.name(), a.value());
            }
            let name = node.tag_name().name();
            let known = ["svg", "title", "desc", "defs", "g", "path", "rect", "circle", "use"];
            assert!(known.contains(&name), "<{name}>");
        }
        let ids: Vec<_> = doc.descendants().filter_map(|n| n.attribute("id")).collect();
        let link = |n: Node| n.attributes().find(|a| a.name() == "href").map(|a| a.value().to_owned());
        for used in doc.descendants().filter_map(link) {
            assert!(ids.contains(&used.trim_start_matches('#')), "{used}");
        }
        assert!(!picture.title.is_empty() && picture.alt.len() > 20);
    }
}

#[test]
fn property_no_label_lies_over_another_or_off_the_page() {
    for picture in pictures() {
        labels::apart(&picture);
    }
}

#[test]
fn property_pictures_repeat_to_the_byte() {
    assert_eq!(pictures(), pictures());
    let one = speed(&[(&laps()[0], "car")]).unwrap();
    assert_eq!(png::render(&one, 1.0).unwrap(), png::render(&one, 1.0).unwrap());
}

#[test]
fn property_every_part_is_there() {
    let l = lap(airfield(), SALOON, 3.0);
    let parts = |p: Picture| -> Vec<String> {
        let doc = Document::parse(&p.svg).unwrap();
        doc.descendants().filter_map(|n| n.attribute("data-part").map(str::to_owned)).collect()
    };
    let has = |p: Picture, want: &[&str]| {
        let got = parts(p);
        assert!(want.iter().all(|w| got.iter().any(|g| g == w)), "{want:?} in {got:?}");
    };
    has(
        speed(&[(&l, "a")]).unwrap(),
        &["header", "corners", "grid", "names", "series", "speeds", "limits", "distance"],
    );
    has(speed(&[(&l, "a"), (&l, "b")]).unwrap(), &["laps", "gap"]);
    has(map(&l).unwrap(), &["road", "marks", "places", "key", "scale"]);
    has(curve(&l, None).unwrap(), &["series", "parts", "total"]);
}

#[test]
fn property_the_road_has_no_gaps_between_its_shades() {
    let svg = map(&lap(airfield(), SALOON, 3.0)).unwrap().svg;
    let doc = Document::parse(&svg).unwrap();
    let road = doc.descendants().find(|n| n.attribute("data-part") == Some("road")).unwrap();
    let lines: Vec<&str> = road.children().filter_map(|n| n.attribute("d")).skip(1).collect();
    assert!((20..400).contains(&lines.len()), "{} lines", lines.len());
    for pair in lines.windows(2) {
        // The next shade starts before the last point of this one.
        let point = |p: &str| -> (f64, f64) {
            let (x, y) = p.split_once(' ').unwrap();
            (x.parse().unwrap(), y.parse().unwrap())
        };
        let (start, end) = (point(pair[1][1..].split('L').next().unwrap()), point(pair[0].rsplit('L').next().unwrap()));
        let shared = (end.0 - start.0).hypot(end.1 - start.1);
        assert!((1.0..4.0).contains(&shared), "{shared} px shared by {} and {}", pair[0], pair[1]);
    }
}

#[test]
fn bad_input_a_number_that_is_none_is_an_error_and_no_file() {
    let folder = tempfile::tempdir().unwrap();
    for column in 0..3 {
        let mut l = lap(airfield(), SALOON, 3.0);
        match column {
            0 => l.rows[7].v = f64::NAN,
            1 => l.plan[7].x = f64::INFINITY,
            _ => l.dt_dm[7] = f64::NAN,
        }
        let path = folder.path().join("a.svg");
        let saved = match column {
            0 => save_plot(&path, || speed(&[(&l, "a")])),
            1 => save_plot(&path, || map(&l)),
            _ => save_plot(&path, || curve(&l, None)),
        };
        assert!(matches!(saved, Err(PlotError::NotFinite { .. })), "{column}: {saved:?}");
    }
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 0);
}

#[test]
fn bad_input_empty_laps_are_refused() {
    let mut l = lap(airfield(), SALOON, 3.0);
    l.rows.clear();
    assert!(matches!(speed(&[(&l, "a")]), Err(PlotError::Empty { .. })));
    assert!(matches!(map(&l), Err(PlotError::Empty { .. })));
    let none = SpeedPlot { track: "t", places: &[], laps: &[] };
    assert!(matches!(speed_picture(&none), Err(PlotError::Empty { .. })));
}

#[test]
fn property_a_huge_lap_makes_a_modest_file() {
    let l = lap(giant(|i| format!("Corner {i}")), SALOON, 0.3);
    assert!(l.rows.len() > 90_000);
    for picture in [speed(&[(&l, "a")]), map(&l), curve(&l, None)].map(Result::unwrap) {
        assert!(picture.svg.len() < 700_000, "{} bytes", picture.svg.len());
    }
}
