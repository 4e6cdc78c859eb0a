//! Every picture from invented laps, the extremes too: sound SVG, nothing that is not a number, no label over another
//! or off the page.

#[path = "../../examples/samples/synthetic.rs"]
mod synthetic;

use roxmltree::{Document, Node};
use synthetic::{KART, Lap, Mass, SALOON, airfield, climb, giant, lap, single};
use unladen_report::draw::look::Paper;
use unladen_report::draw::picture::{Picture, PlotError, save_plot};
use unladen_report::draw::png;
use unladen_report::hold::car::{Hold, Thing, hold_picture};
use unladen_report::lap::gain_map::{GainPlot, gain_picture};
use unladen_report::lap::gg::{GgPlot, gg_picture};
use unladen_report::lap::map::{MapPlot, map_picture};
use unladen_report::lap::speed::{SpeedPlot, speed_picture};
use unladen_report::lap::trace::LapTrace;
use unladen_report::worth::body::Size;
use unladen_report::worth::curve::{CurvePlot, curve_picture};
use unladen_report::worth::items::Item;
use unladen_report::worth::kilogram::{KilogramMap, kilogram_picture};
use unladen_report::worth::lens::Centre;
use unladen_study::{Quantity, Spot, Worth, WorthPlace};
use unladen_vehicle::entry::State;

const SVG_TEXT: (&str, &str) = ("http://www.w3.org/2000/svg", "text");

const AWKWARD: &str =
    "<script>alert(\"1\")</script> & 'the' bend\u{7} behind the mill by the long wall of the old brewery 日本";

fn trace<'a>(lap: &'a Lap, name: &'a str) -> LapTrace<'a> {
    LapTrace { name, rows: &lap.rows, length_m: lap.length_m, lap_time_s: lap.lap_time_s, lap_time_error_s: 4e-4 }
}

fn speed(laps: &[(&Lap, &str)], paper: Paper) -> Result<Picture, PlotError> {
    let traces: Vec<_> = laps.iter().map(|(l, name)| trace(l, name)).collect();
    speed_picture(&SpeedPlot { track: &laps[0].0.track.name, places: &laps[0].0.places, laps: &traces }, paper)
}

fn map(l: &Lap, paper: Paper) -> Result<Picture, PlotError> {
    let (track, closed) = (l.track.name.as_str(), l.track.closed);
    map_picture(&MapPlot { track, closed, places: &l.places, plan: &l.plan, lap: trace(l, "car") }, paper)
}

fn gain(first: &Lap, second: &Lap, name: &str, paper: Paper) -> Result<Picture, PlotError> {
    let (track, closed) = (first.track.name.as_str(), first.track.closed);
    let laps = [trace(first, "as it is"), trace(second, name)];
    gain_picture(&GainPlot { track, closed, places: &first.places, plan: &first.plan, laps }, paper)
}

fn curve(l: &Lap, interval: Option<[f64; 2]>, paper: Paper) -> Result<Picture, PlotError> {
    let s_m: Vec<f64> = l.rows.iter().map(|r| r.s).collect();
    let (track, s_per_kg) = (l.track.name.as_str(), &l.dt_dm[..]);
    let (places, length_m) = (&l.places[..], l.length_m);
    let plot =
        CurvePlot { car: "car", track, places, length_m, s_m: &s_m, s_per_kg, total_interval: interval, error: 1e-6 };
    curve_picture(&plot, paper)
}

/// A saloon with so many rows in its ledger, at places spread over it.
fn kilogram(count: usize, name: &str, paper: Paper) -> Picture {
    let size = Size { wheelbase_m: 2.57, track_m: [1.505, 1.5], radius_m: [0.31; 2], cg_height_m: 0.49 };
    let items: Vec<Item> = (0..count)
        .map(|i| {
            let k = i as f64;
            let at = [-0.7 + 0.067 * k, 0.7 * (2.4 * k).sin(), 0.25 + 0.137 * (k % 7.0)];
            let there = (i % 7 == 0).then_some((0.2, [at[0] + 0.3, at[1], at[2]]));
            Item {
                name: format!("{name} {i}"),
                off: Some((0.3 + k % 9.0, at)),
                on: there,
                state: if i % 3 == 0 { State::Done } else { State::Planned },
                turns: i % 5 == 0,
            }
        })
        .collect();
    let centre = |name: &str, now, x, z| Centre {
        name: name.into(),
        now,
        mass_kg: 1200.0,
        at_m: [x, 0.006, z],
        sd_m: [0.005, 0.005, 0.015],
    };
    let centres =
        [centre("was", false, 1.16, 0.489), centre("now", true, 1.13, 0.484), centre("planned", false, 1.15, 0.49)];
    let map = KilogramMap {
        car: name,
        aboard: "driver 78 kg and 30 L of fuel",
        size,
        worth: &worth(name),
        mass_kg: 1200.0,
        at_m: [1.13, 0.006, 0.484],
        items: &items,
        centres: if count == 0 { &[] } else { &centres },
    };
    kilogram_picture(&map, paper).unwrap()
}

fn worth(name: &str) -> Worth {
    let quantity = |value: f64| Quantity { sd: Some(0.05 * value.abs()), ..Quantity::new(value, 1e-6) };
    let place = |name: &str, w| WorthPlace { spot: Spot { name: name.into(), at: [0.0; 3] }, s_per_kg: quantity(w) };
    Worth {
        lap_time_interval_s: None,
        track: name.into(),
        lap_time_s: 75.0,
        lap_time_error_s: 1e-3,
        lap_time_sd_s: Some(0.5),
        s_per_kg: quantity(0.01),
        s_per_mm_height: quantity(0.0049),
        s_per_mm_rearward: quantity(-0.0012),
        s_per_mm_right: quantity(-0.0022),
        places: vec![place("roof", 0.0124), place("low behind the rear axle", 0.0068)],
        limits: [0.2, 0.1, 0.24, 0.455, 0.005, 0.0, 0.0, 0.0],
        elasticity: 0.16,
        caveats: Vec::new(),
        along: None,
        hangs_on: Vec::new(),
    }
}

fn cloud(l: &Lap) -> Picture {
    let edge = vec![(-10.0, -0.5), (0.0, 6.0), (10.0, -0.5), (0.0, -11.0)];
    gg_picture(&GgPlot {
        track: &l.track.name,
        lap: trace(l, "car"),
        level: &[],
        limits: &[(20.0, edge.clone()), (40.0, edge)],
    })
    .unwrap()
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
    [Paper::FILE, Paper::PAGE, Paper::PHONE].into_iter().flat_map(drawn_on).collect()
}

fn drawn_on(paper: Paper) -> Vec<Picture> {
    let laps = laps();
    let mut out: Vec<Picture> = laps
        .iter()
        .flat_map(|l| {
            [speed(&[(l, AWKWARD)], paper), map(l, paper), curve(l, None, paper), curve(l, Some([0.01, 0.014]), paper)]
        })
        .map(Result::unwrap)
        .collect();
    let light = lap(airfield(), Mass { kg: 1184.0, ..SALOON }, 2.7);
    let names = ["as it stands", "lighter", AWKWARD, "d", "e", "f", "g"];
    out.extend(
        [(0, "part"), (1, AWKWARD), (60, "part"), (60, AWKWARD)].map(|(count, name)| kilogram(count, name, paper)),
    );
    out.push(cloud(&laps[0]));
    let other = lap(giant(|i| format!("{i} {AWKWARD}")), Mass { kg: 1184.0, ..SALOON }, 5.0);
    let faster = lap(single(), Mass { kg: 150.0, ..KART }, 2.0);
    let pairs = [(0, &light), (4, &laps[0]), (3, &laps[0]), (2, &faster), (5, &other), (6, &other), (7, &other)];
    out.extend(pairs.into_iter().map(|(i, second)| gain(&laps[i], second, AWKWARD, paper).unwrap()));
    out.push(gain(&laps[0], &laps[0], "the same", paper).unwrap());
    // Two like laps show their difference in speed.
    let like = lap(airfield(), Mass { kg: SALOON.kg + 3.0, ..SALOON }, 3.0);
    out.push(speed(&[(&laps[0], "as it stands"), (&like, AWKWARD)], paper).unwrap());
    for count in [2, 3, 7] {
        let all: Vec<_> = (0..count).map(|i| (if i % 2 == 0 { &laps[0] } else { &light }, names[i])).collect();
        out.push(speed(&all, paper).unwrap());
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
            let known = ["svg", "title", "desc", "g", "path", "rect", "circle", "text"];
            assert!(known.contains(&name), "<{name}>");
        }
        assert!(!picture.title.is_empty() && picture.alt.len() > 20);
    }
}

#[test]
fn property_no_label_lies_over_another_or_off_the_page() {
    let faults: Vec<String> = pictures().iter().flat_map(crate::labels::faults).collect();
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

/// Wherever a thing is dragged to, with another moved before: the names of what was moved keep off those that stay.
#[test]
fn property_names_keep_off_each_other_while_one_drags() {
    let size = Size { wheelbase_m: 2.57, track_m: [1.505, 1.5], radius_m: [0.31; 2], cg_height_m: 0.49 };
    let was = |i: usize| [-0.7 + 0.19 * i as f64, 0.6 * (2.4 * i as f64).sin(), 0.25 + 0.137 * (i % 5) as f64];
    let mut named = 0;
    for (i, width_px) in [310.0, 690.0, 1024.0].into_iter().flat_map(|w| (0..40).map(move |i| (i, w))) {
        let place = |k: usize| match k {
            3 => [was(20)[0] - 0.09 * i as f64, was(20)[1] - 0.02 * i as f64, 0.2 + 0.02 * i as f64],
            7 => [was(7)[0] + 0.25, was(7)[1], was(7)[2]],
            k => was(k),
        };
        let things: Vec<Thing> = (0..21)
            .map(|k| Thing { name: format!("thing {k}"), kg: 2.0 + 3.7 * (k % 6) as f64, at: place(k), was: was(k) })
            .collect();
        let at_m = [[1.13, 0.006, 0.484]; 2];
        let hold = Hold { car: "car", size, worth: &worth("car"), mass_kg: 1200.0, at_m, things: &things, width_px };
        let layers = hold_picture(&hold).unwrap().layers;
        named += layers[2].svg.matches(">thing ").count();
        let faults = crate::labels::faults_of(&layers.each_ref());
        assert!(faults.is_empty(), "{}", faults.join("\n"));
    }
    assert!(named > 150, "{named}");
}

#[test]
fn property_pictures_repeat_to_the_byte() {
    assert_eq!(pictures(), pictures());
    let one = speed(&[(&laps()[0], "car")], Paper::FILE).unwrap();
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
        speed(&[(&l, "a")], Paper::FILE).unwrap(),
        &["header", "corners", "grid", "names", "series", "speeds", "limits", "distance"],
    );
    has(speed(&[(&l, "a"), (&l, "b")], Paper::FILE).unwrap(), &["laps", "faster", "gap"]);
    has(speed(&[(&l, "a"), (&l, "b")], Paper::PHONE).unwrap(), &["laps", "faster", "gap"]);
    has(map(&l, Paper::FILE).unwrap(), &["road", "marks", "places", "key", "scale"]);
    has(gain(&l, &l, "b", Paper::FILE).unwrap(), &["road", "lost", "marks", "places", "key", "scale"]);
    has(curve(&l, None, Paper::FILE).unwrap(), &["series", "parts", "total"]);
    has(kilogram(60, "part", Paper::FILE), &["side", "above", "items", "lens", "key"]);
    has(kilogram(60, "part", Paper::PHONE), &["side", "above", "items", "list", "lens", "key"]);
    has(cloud(&l), &["cloud", "limits", "grid", "key"]);
}

/// A regression of structure: how much of what is in the kilogram map, not where to the pixel.
#[test]
fn regression_the_kilogram_map_by_its_structure() {
    let picture = kilogram(60, "part", Paper::FILE);
    let doc = Document::parse(&picture.svg).unwrap();
    let part = |name: &str| doc.descendants().filter(|n| n.attribute("data-part") == Some(name)).collect::<Vec<_>>();
    assert_eq!((part("side").len(), part("above").len(), part("items").len(), part("lens").len()), (1, 1, 2, 2));
    let discs = |n: &Node| n.children().filter(|c| c.tag_name().name() == "circle").count();
    // Each row is drawn in both views: discs for its place's colour, its paper and ink, one more inside an open one; moved ones
    // twice.
    let spots =
        |done: bool| (0..60).filter(|i| (i % 3 == 0) == done).map(|i| if i % 7 == 0 { 2 } else { 1 }).sum::<usize>();
    let want = 4 * spots(true) + 3 * spots(false);
    assert_eq!(part("items").iter().map(discs).collect::<Vec<_>>(), [want, want]);
    // Lines of equal cost rise from shade to shade: as many as levels, with their values beside them.
    let values: Vec<f64> = part("side")[0]
        .descendants()
        .filter(|n| n.has_tag_name(SVG_TEXT))
        .filter_map(|n| n.text()?.parse::<f64>().ok())
        .collect();
    assert!(values.len() >= 4 && values.windows(2).all(|w| w[0] < w[1]), "{values:?}");
    assert!(
        picture.title.starts_with(
            "A kilogram costs 10.00 ms a lap at the centre of gravity, 14.4 where it is dearest (at the roof)"
        ),
        "{}",
        picture.title
    );
    assert!(picture.alt.contains("20 rows of the ledger are done, 40 planned"), "{}", picture.alt);
}

#[test]
fn property_the_road_has_no_gaps_between_its_shades() {
    let svg = map(&lap(airfield(), SALOON, 3.0), Paper::FILE).unwrap().svg;
    let doc = Document::parse(&svg).unwrap();
    let road = doc.descendants().find(|n| n.attribute("data-part") == Some("road")).unwrap();
    let lines: Vec<&str> = road.children().filter_map(|n| n.attribute("d")).skip(1).collect();
    assert!((20..400).contains(&lines.len()), "{} lines", lines.len());
    for pair in lines.windows(2) {
        // The next shade starts before the last point of this one: from point to point from the first on.
        let points = |path: &str| -> Vec<(f64, f64)> {
            let spaced = path.trim_start_matches('M').replace('l', " ").replace('-', " -");
            let numbers: Vec<f64> = spaced.split_whitespace().map(|n| n.parse().unwrap()).collect();
            let on = |at: &mut (f64, f64), by: &[f64]| {
                *at = (at.0 + by[0], at.1 + by[1]);
                Some(*at)
            };
            numbers.chunks(2).scan((0.0, 0.0), on).collect()
        };
        let (start, end) = (points(pair[1])[0], *points(pair[0]).last().unwrap());
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
            0 => save_plot(&path, || speed(&[(&l, "a")], Paper::FILE)),
            1 => save_plot(&path, || map(&l, Paper::FILE)),
            _ => save_plot(&path, || curve(&l, None, Paper::FILE)),
        };
        assert!(matches!(saved, Err(PlotError::NotFinite { .. })), "{column}: {saved:?}");
    }
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 0);
}

#[test]
fn bad_input_empty_laps_are_refused() {
    let mut l = lap(airfield(), SALOON, 3.0);
    l.rows.clear();
    assert!(matches!(speed(&[(&l, "a")], Paper::FILE), Err(PlotError::Empty { .. })));
    assert!(matches!(map(&l, Paper::FILE), Err(PlotError::Empty { .. })));
    assert!(matches!(gain(&l, &l, "b", Paper::FILE), Err(PlotError::Empty { .. })));
    let none = SpeedPlot { track: "t", places: &[], laps: &[] };
    assert!(matches!(speed_picture(&none, Paper::FILE), Err(PlotError::Empty { .. })));
}

#[test]
fn property_a_huge_lap_makes_a_modest_file() {
    let l = lap(giant(|i| format!("Corner {i}")), SALOON, 0.3);
    assert!(l.rows.len() > 90_000);
    let light = lap(giant(|i| format!("Corner {i}")), Mass { kg: 1184.0, ..SALOON }, 0.3);
    for picture in [
        speed(&[(&l, "a")], Paper::FILE),
        map(&l, Paper::FILE),
        curve(&l, None, Paper::FILE),
        gain(&l, &light, "b", Paper::FILE),
    ]
    .map(Result::unwrap)
    {
        assert!(picture.svg.len() < 700_000, "{} bytes", picture.svg.len());
    }
}
