//! One small invented file of each kind that a user may have: the same drive must come out.

use super::*;

#[test]
fn end_to_end_plain_degrees() {
    holds("plain", &surveyed(&plain(&usual()), &Ask::default()).unwrap());
}

#[test]
fn end_to_end_metres_named_with_their_unit_behind_a_mark_or_not() {
    for head in ["# t_s,x_m,y_m,up_m", "t_s,x_m,y_m,up_m"] {
        let text = csv(head, &usual(), |r| format!("{:.2},{:.3},{:.3},{:.2}", r.t, r.at[0], r.at[1], r.height));
        let found = surveyed(&text, &Ask::default()).unwrap();
        holds(head, &found);
        let z = &found.runs[0].z;
        assert!(z.len() == found.runs[0].points.len() && z.iter().all(|z| (z - 40.0).abs() < 3.01), "{head}");
        assert!(told(&found).contains("height is column \"up_m\", m"), "{}", told(&found));
    }
    let outline = csv("# x_m,y_m", &usual()[..400], |r| format!("{:.3},{:.3}", r.at[0], r.at[1]));
    let found = surveyed(&outline, &Ask::default()).unwrap();
    assert!(found.closed && found.outline, "{}", told(&found));
    assert!((area(&found.runs[0].points) / AREA - 1.0).abs() < 0.01);
}

#[test]
fn end_to_end_degrees_and_minutes_run_together() {
    let halves = |r: &Row| {
        let (lat, lon) = r.degrees();
        (minutes(lat, ['N', 'S']), minutes(lon, ['E', 'W']))
    };
    let letters = csv("time (s),Latitude,N/S,Longitude,E/W", &usual(), |r| {
        let ((lat, ns), (lon, ew)) = halves(r);
        format!("{:.2},{lat},{ns},{lon},{ew}", r.t)
    });
    let found = surveyed(&letters, &Ask::default()).unwrap();
    holds("ddmm with letters", &found);
    assert!(told(&found).contains("ddmm.mmmm") && told(&found).contains("N or S"), "{}", told(&found));
    // In the header's own words, and with a sign in place of letters.
    let signed = csv("time (s),Latitude (ddmm.mmmm),Longitude (dddmm.mmmm)", &usual(), |r| {
        let ((lat, _), (lon, _)) = halves(r);
        format!("{:.2},{lat},-{lon}", r.t)
    });
    holds("ddmm with a sign", &surveyed(&signed, &Ask::default()).unwrap());
}

#[test]
fn end_to_end_milliseconds_since_1970() {
    let text = csv("Epoch (ms),Lat,Lon", &usual(), |r| {
        let (lat, lon) = r.degrees();
        format!("{:.0},{lat:.8},{lon:.8}", 1_000_000_000_000.0 + 1000.0 * r.t)
    });
    holds("epoch", &surveyed(&text, &Ask::default()).unwrap());
}

/// A column is told by its header's own words, with or without the unit.
#[test]
fn end_to_end_columns_told_in_the_headers_own_words() {
    let text = csv("Ticks (ms),Pos A (deg),Pos B (deg)", &usual(), |r| {
        let (lat, lon) = r.degrees();
        format!("{:.0},{lat:.8},{lon:.8}", 1000.0 * r.t)
    });
    let (took, fault) = failed(&text, &Ask::default());
    assert!(fault.contains("--column") && fault.contains("Pos A (deg)"), "{fault}");
    assert!(took.contains("separated by"), "{took}");
    for columns in [
        ["time=Ticks (ms)", "latitude=Pos A (deg)", "longitude=Pos B (deg)"],
        ["time=Ticks", "latitude=pos a", "longitude=pos b"],
        ["time=1", "latitude=2", "longitude=3"],
    ] {
        holds(columns[0], &surveyed(&text, &saying(&columns, &[])).unwrap());
    }
}

#[test]
fn end_to_end_a_clock_that_begins_again_each_lap() {
    let text = csv("Lap,Lap Time (s),Latitude,Longitude", &usual(), |r| {
        let (lat, lon) = r.degrees();
        format!("{},{:.2},{lat:.8},{lon:.8}", r.lap + 1, r.t - 40.0 * r.lap as f64)
    });
    let found = surveyed(&text, &Ask::default()).unwrap();
    holds("lap clock", &found);
    assert!(told(&found).contains("begins again 3 times"), "{}", told(&found));
    // A car that is elsewhere when the clock begins again is another drive.
    let far = csv("Time (s),Latitude,Longitude", &usual(), |r| {
        let (lat, lon) = r.degrees();
        format!("{:.2},{:.8},{lon:.8}", r.t % 40.0, lat + 0.01 * (r.t / 40.0).floor())
    });
    assert!(failed(&far, &Ask::default()).1.contains("time goes back"));
}

#[test]
fn end_to_end_times_of_day_run_together() {
    let day = csv("UTC,Latitude,Longitude", &usual(), |r| {
        let ((h, m, s), (lat, lon)) = (r.clock(), r.degrees());
        format!("{h:02}{m:02}{s:05.2},{lat:.8},{lon:.8}")
    });
    let found = surveyed(&day, &Ask::default()).unwrap();
    holds("hhmmss.ss", &found);
    assert!(told(&found).contains("hhmmss"), "{}", told(&found));
    let midnight = csv("UTC (hhmmss.ss),Latitude,Longitude", &usual(), |r| {
        let (lat, lon) = r.degrees();
        let hundredths = ((86_370.0 + r.t) * 100.0).round() as u32 % 8_640_000;
        let (h, m, s) = (hundredths / 360_000, hundredths / 6000 % 60, f64::from(hundredths % 6000) / 100.0);
        format!("{h:02}{m:02}{s:05.2},{lat:.8},{lon:.8}")
    });
    holds("over midnight", &surveyed(&midnight, &Ask::default()).unwrap());
}

/// GPX of these rows; each point with what else `more` puts into it.
fn gpx(version: &str, rows: &[Row], segments: usize, more: impl Fn(&Row) -> String) -> String {
    let namespace = version.replace('.', "/");
    let mut text = format!(
        "<?xml version=\"1.0\"?>\n<gpx version=\"{version}\" creator=\"invented\" xmlns=\"http://www.topografix.com/GPX/{namespace}\"><trk>"
    );
    for part in rows.chunks(rows.len().div_ceil(segments)) {
        text += "<trkseg>\n";
        for r in part {
            let (lat, lon) = r.degrees();
            let (height, time) = (r.height, r.instant());
            let _ = writeln!(
                text,
                "<trkpt lat=\"{lat:.8}\" lon=\"{lon:.8}\"><ele>{height:.2}</ele><time>{time}</time>{}</trkpt>",
                more(r)
            );
        }
        text += "</trkseg>";
    }
    text + "</trk></gpx>"
}

#[test]
fn end_to_end_gpx_of_both_versions_with_what_else_they_hold() {
    let old = gpx("1.0", &usual(), 1, |r| format!("<course>{:.1}</course><speed>{:.2}</speed>", 10.0 * r.yaw, r.v));
    holds("GPX 1.0", &surveyed(&old, &Ask::default()).unwrap());
    // Declination beyond what the schema allows is no matter of ours.
    let new = gpx("1.1", &usual(), 1, |_| "<magvar>400.5</magvar><extensions><x>1</x></extensions>".into());
    let found = surveyed(&new, &Ask::default()).unwrap();
    holds("GPX 1.1", &found);
    assert!(told(&found).contains("GPX, 1400 positions with times, with heights"), "{}", told(&found));
}

/// A logger that pauses begins a new segment elsewhere; times say that it is the same drive.
#[test]
fn end_to_end_segments_with_a_pause_between_them() {
    let rows = usual();
    // In the half lap before the first line: 3 s, some 60 m, without positions.
    let paused: Vec<Row> = rows.iter().copied().filter(|r| !(8.0..11.0).contains(&r.t)).collect();
    let text = gpx("1.1", &paused, 1, |_| String::new());
    let cut = paused.iter().position(|r| r.t >= 11.0).unwrap();
    let at = text.match_indices("<trkpt").nth(cut).unwrap().0;
    let two = format!("{}</trkseg><trkseg>{}", &text[..at], &text[at..]);
    let found = surveyed(&two, &Ask::default()).unwrap();
    holds("two segments", &found);
    assert!(told(&found).contains("2 lines that follow one another"), "{}", told(&found));
}

#[test]
fn end_to_end_kml_track() {
    let mut text = String::from(
        "<?xml version=\"1.0\"?>\n<kml xmlns=\"http://www.opengis.net/kml/2.2\" xmlns:gx=\"http://www.google.com/kml/ext/2.2\"><Placemark><name>Invented</name><gx:Track>\n",
    );
    usual().iter().for_each(|r| {
        let _ = writeln!(text, "<when>{}</when>", r.instant());
    });
    usual().iter().for_each(|r| {
        let (lat, lon) = r.degrees();
        let _ = writeln!(text, "<gx:coord>{lon:.8} {lat:.8} {:.2}</gx:coord>", r.height);
    });
    let found = surveyed(&(text + "</gx:Track></Placemark></kml>"), &Ask::default()).unwrap();
    holds("gx:Track", &found);
    assert_eq!(found.name.as_deref(), Some("Invented"));
}

#[test]
fn end_to_end_geojson_points_with_times() {
    let point = |r: &Row| {
        let ((lat, lon), time) = (r.degrees(), r.instant());
        format!(
            r#"{{"type":"Feature","properties":{{"time":"{time}"}},"geometry":{{"type":"Point","coordinates":[{lon:.8},{lat:.8}]}}}}"#
        )
    };
    let all: Vec<String> = usual().iter().map(point).collect();
    let text = format!(r#"{{"type":"FeatureCollection","features":[{}]}}"#, all.join(",\n"));
    holds("GeoJSON points", &surveyed(&text, &Ask::default()).unwrap());
}

/// RMC and GGA of every second, with a third kind between them that says nothing, and one line broken.
#[test]
fn end_to_end_a_receivers_sentences() {
    let sentence = |body: String| format!("${body}*{:02X}\r\n", body.bytes().fold(0u8, |a, b| a ^ b));
    let mut text = String::new();
    for (i, r) in usual().iter().enumerate() {
        let ((h, m, s), (lat, lon)) = (r.clock(), r.degrees());
        let ((lat, ns), (lon, ew)) = (minutes(lat, ['N', 'S']), minutes(lon, ['E', 'W']));
        let time = format!("{h:02}{m:02}{s:05.2}");
        let knots = r.v * 3600.0 / 1852.0;
        text += &sentence(format!("GPRMC,{time},A,{lat},{ns},0{lon},{ew},{knots:.2},84.4,090901,,"));
        text += &sentence(format!("GPGGA,{time},{lat},{ns},0{lon},{ew},1,08,0.9,{:.1},M,46.9,M,,", r.height));
        text += &sentence("GPGSA,A,3,04,05,,09,12,,,24,,,,,2.5,1.3,2.1".into());
        if i == 700 {
            text += "$GPRMC,105940.00,A,4712.0000,S,03024.0000,E,1.0,0,090901,,*00\r\n";
        }
    }
    let found = surveyed(&text, &Ask::default()).unwrap();
    holds("sentences", &found);
    assert!(told(&found).contains("1400 fixes, 1 sentences broken"), "{}", told(&found));
    let void = text.replace(",A,", ",V,").replace(",1,08,", ",0,08,");
    let unsummed: String = void.lines().map(|l| format!("{}\n", l.split('*').next().unwrap())).collect();
    let (took, fault) = failed(&unsummed, &Ask::default());
    assert!(took.contains("0 fixes") && fault.contains("no fix"), "{took} {fault}");
    let speed = found.logs[0].channel(crate::log::Quantity::Speed).unwrap();
    assert!((speed[100] - usual()[100].v).abs() < 0.01);
}

#[test]
fn end_to_end_a_forward_acceleration_in_german() {
    // Faster and slower, so that there is some.
    let rows = noisy(drive(&[40.0; 4], 10.0), 0.05, 2);
    let forward = |i: usize| {
        let (a, b) = (rows[i.saturating_sub(1)], rows[(i + 1).min(rows.len() - 1)]);
        (b.v - a.v) / (b.t - a.t)
    };
    let mut text = String::from("Zeit [s];Breite [°];Länge [°];Geschwindigkeit [km/h];Längsbeschleunigung [g]\n");
    for (i, r) in rows[..1400].iter().enumerate() {
        let (lat, lon) = r.degrees();
        let line = format!("{:.2};{lat:.8};{lon:.8};{:.3};{:.4}\n", r.t, 3.6 * r.v, forward(i) / 9.80665);
        text += &line.replace('.', ",");
    }
    let found = surveyed(&text, &Ask::default()).unwrap();
    holds("Längsbeschleunigung", &found);
    assert!(told(&found).contains("acceleration_forward is column \"Längsbeschleunigung [g]\", g"), "{}", told(&found));
}

/// Any damage to a file of any dialect: a survey of finite positions, or an error that says something; never a panic.
#[test]
fn property_damaged_files_of_every_kind_never_panic() {
    let rows = &drive(&[40.0, 40.0, 40.0], 1.0);
    let (lat, lon) = (|r: &Row| minutes(r.degrees().0, ['N', 'S']), |r: &Row| minutes(r.degrees().1, ['E', 'W']));
    let mut kml = String::from("<kml xmlns:gx=\"x\"><Placemark><name>A</name><gx:Track>");
    let mut json = String::from("{\"type\":\"FeatureCollection\",\"features\":[");
    let mut nmea = String::new();
    for r in rows {
        let (a, b) = r.degrees();
        let _ = write!(kml, "<when>{}</when><gx:coord>{b:.7} {a:.7} 40</gx:coord>", r.instant());
        let _ = write!(
            json,
            "{{\"type\":\"Feature\",\"properties\":{{\"time\":{}}},\"geometry\":{{\"type\":\"Point\",\"coordinates\":[{b:.7},{a:.7}]}}}},",
            1e9 + r.t
        );
        let ((h, m, s), (a, b)) = (r.clock(), (lat(r), lon(r)));
        let _ = writeln!(nmea, "$GPRMC,{h:02}{m:02}{s:05.2},A,{},{},{},{},55.1,84.4,090901,,", a.0, a.1, b.0, b.1);
    }
    let texts = [
        gpx("1.0", rows, 2, |_| "<course>1</course>".into()),
        kml + "</gx:Track></Placemark></kml>",
        json.trim_end_matches(',').to_owned() + "]}",
        nmea,
        csv("# t_s,x_m,y_m,lap", rows, |r| format!("{:.1},{:.2},{:.2},{}", r.t % 40.0, r.at[0], r.at[1], r.lap)),
        csv("UTC,Lat,N/S,Lon,E/W,yaw", rows, |r| {
            let ((h, m, s), (a, b)) = (r.clock(), (lat(r), lon(r)));
            format!("{h:02}{m:02}{s:05.2},{},{},{},{},{:.3}", a.0, a.1, b.0, b.1, r.yaw)
        }),
    ];
    let mut random = Noise::new(17);
    for text in texts {
        for _ in 0..250 {
            let mut bytes = text.clone().into_bytes();
            for _ in 0..1 + random.bits() % 5 {
                let at = (random.bits() as usize) % bytes.len().max(1);
                match random.bits() % 5 {
                    _ if bytes.is_empty() => break,
                    0 => bytes[at] = b",;<>\"/$*0-:.eN{"[(random.bits() % 15) as usize],
                    1 => bytes[at] = (random.bits() & 0xff) as u8,
                    2 => drop(bytes.drain(at..(at + 30).min(bytes.len()))),
                    3 => bytes.splice(at..at, *b"180.5").for_each(drop),
                    _ => bytes.truncate(at.max(bytes.len() / 2)),
                }
            }
            match survey(&[("damaged".into(), bytes)], &Ask::default()) {
                Ok(found) => assert!(found.runs.iter().flat_map(|r| &r.points).flatten().all(|x| x.is_finite())),
                Err(error) => assert!(!error.to_string().is_empty()),
            }
        }
    }
}
