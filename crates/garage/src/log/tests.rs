//! One drive written in many ways must read as one drive.

use super::*;

/// A circle of 80 m radius to the left at 15…25 m/s, 10 Hz for 60 s: (t, x, y, v, ax, ay, yaw).
fn drive() -> Vec<[f64; 7]> {
    let mut angle: f64 = 0.0;
    (0..600)
        .map(|i| {
            let t = 0.1 * f64::from(i);
            let (v, ax) = (20.0 + 5.0 * (0.4 * t).sin(), 2.0 * (0.4 * t).cos());
            let row = [t, 80.0 * angle.cos(), 80.0 * angle.sin(), v, ax, v * v / 80.0, v / 80.0];
            angle += 0.1 * v / 80.0;
            row
        })
        .collect()
}

fn degrees(x: f64, y: f64) -> (f64, f64) {
    unladen_positions::Plane::about(52.0, -1.0).to_degrees([x, y])
}

fn check(text: &str, what: &str) -> Imported {
    let read = read_log(text.as_bytes(), &Mapping::default()).unwrap_or_else(|e| panic!("{what}: {e}"));
    let log = &read.log;
    assert_eq!(log.rows(), 600, "{what}: {:#?}", read.notes);
    let speed = log.channel(Quantity::Speed).unwrap();
    for (i, row) in drive().iter().enumerate() {
        assert!((log.t[i] - row[0]).abs() < 2e-3, "{what}: time {i} {}", log.t[i]);
        assert!((speed[i] - row[3]).abs() < 0.02, "{what}: speed {i} {} {}: {:#?}", speed[i], row[3], read.notes);
    }
    if let Some(ay) = log.channel(Quantity::LateralAcceleration) {
        assert!((ay[100] - drive()[100][5]).abs() < 0.05, "{what}: {}: {:#?}", ay[100], read.notes);
    }
    read
}

#[test]
fn property_plain_with_units_in_brackets() {
    let mut text = String::from("Time (s),Latitude (deg),Longitude (deg),Speed (km/h),Lat Acc (g),Long Acc (g)\n");
    for [t, x, y, v, ax, ay, _] in drive() {
        let (lat, lon) = degrees(x, y);
        text += &format!("{t:.2},{lat:.8},{lon:.8},{:.3},{:.4},{:.4}\n", v * 3.6, ay / 9.80665, ax / 9.80665);
    }
    let read = check(&text, "plain");
    assert!(
        read.notes.iter().any(|n| n.text.contains("latitude is column \"Latitude (deg)\", deg")),
        "{:#?}",
        read.notes
    );
}

#[test]
fn property_semicolons_commas_metadata_units_row_and_old_encoding() {
    let mut text = String::from(
        "Fahrer;Irgendwer\r\nStrecke;Erfunden\r\n\r\nZeit;Breite;Länge;Geschwindigkeit;Gierrate\r\nhh:mm:ss;°;°;km/h;°/s\r\n",
    );
    for [t, x, y, v, .., w] in drive() {
        let (lat, lon) = degrees(x, y);
        // From 23:59:30 on: passes midnight.
        let of_day = (86_370.0 + t) % 86_400.0;
        let (h, m, s) = ((of_day / 3600.0) as u32, (of_day / 60.0) as u32 % 60, of_day % 60.0);
        let row = format!("{h:02}:{m:02}:{s:06.3};{lat:.8};{lon:.8};{:.3};{:.4}\r\n", v * 3.6, w.to_degrees());
        text += &row.replace('.', ",");
    }
    let read = read_log(&encoding_rs::WINDOWS_1252.encode(&text).0, &Mapping::default()).unwrap();
    assert!(read.notes.iter().any(|n| n.text.contains("windows-1252")), "{:#?}", read.notes);
    assert!(read.notes.iter().any(|n| n.text.contains("midnight")), "{:#?}", read.notes);
    assert!((read.log.channel(Quantity::YawRate).unwrap()[50] - drive()[50][6]).abs() < 1e-4);
    check(&text, "semicolons");
    let utf16: Vec<u8> = [0xff, 0xfe].into_iter().chain(text.encode_utf16().flat_map(u16::to_le_bytes)).collect();
    assert_eq!(read_log(&utf16, &Mapping::default()).unwrap().log.rows(), 600);
}

#[test]
fn property_units_nobody_wrote_swapped_and_flipped_axes() {
    // mph without a unit, 1e-7 integers, ms, accelerations swapped and the lateral one to the right.
    let mut text = String::from("t\tlat\tlon\tv\tacc_lat\tacc_long\n");
    for [t, x, y, v, ax, ay, _] in drive() {
        let (lat, lon) = degrees(x, y);
        text +=
            &format!("{:.0}\t{:.0}\t{:.0}\t{:.4}\t{:.4}\t{:.4}\n", t * 1e3, lat * 1e7, lon * 1e7, v / 0.44704, ax, -ay);
    }
    let read = check(&text, "swapped");
    let told = |word: &str| read.notes.iter().any(|n| n.text.contains(word));
    assert!(told("speed in m/s") || told("speed in mph"), "{:#?}", read.notes);
    assert!(
        told("swapped") && told("right as positive") && told("1e-7 deg") && told("time in ms"),
        "{:#?}",
        read.notes
    );
    // What was guessed is kept, and read again without a guess.
    let again = read_log(text.as_bytes(), &Mapping::parse(&read.mapping.text()).unwrap()).unwrap();
    assert_eq!(again.log.channel(Quantity::Speed), read.log.channel(Quantity::Speed));
}

#[test]
fn property_repeated_positions_and_blanks_of_mixed_rates() {
    let mut text = String::from("time [s],lat,lon,speed [m/s],yaw rate [rad/s]\n");
    for (i, [t, x, y, v, .., w]) in drive().into_iter().enumerate() {
        let k = i - i % 5;
        let (lat, lon) = degrees(drive()[k][1], drive()[k][2]);
        let _ = (x, y);
        let yaw = if i % 2 == 0 { format!("{w:.4}") } else { String::new() };
        text += &format!("{t:.2},{lat:.8},{lon:.8},{v:.3},{yaw}\n");
    }
    let read = check(&text, "repeats");
    let lat = read.log.channel(Quantity::Latitude).unwrap();
    assert_eq!(lat.iter().filter(|x| x.is_finite()).count(), 120);
    let yaw = read.log.channel(Quantity::YawRate).unwrap();
    assert_eq!(yaw.iter().filter(|x| x.is_finite()).count(), 300);
}

#[test]
fn bad_input_each_says_what_would_be_right() {
    let fails = |text: &str| read_log(text.as_bytes(), &Mapping::default()).unwrap_err().to_string();
    assert!(fails("time,oil temp\n1,90\n2,91\n3,92\n4,93\n").contains("neither positions nor speed"));
    assert!(fails("hello\nworld\n").contains("no table"));
    assert!(fails("").contains("no table"));
    assert!(fails("a,b,c\n\n1,2,3\n").contains("no table"));
    assert!(fails("time,speed\n0,1\n1,2\n2,3\n3,4\n0,5\n1,6\n").contains("line 6: time goes back by 3.000 s"));
    assert!(fails("time,lat,lon\n0,0,0\n1,0,0\n2,0,0\n3,0,0\n").contains("no fix"));
    assert!(fails("1,2,3\n4,5,6\n7,8,9\n").contains("--column"));
    assert!(matches!(read_log(b"\x00\x01\x02", &Mapping::default()), Err(LogError::NotText { .. })));
    let mut mapping = Mapping::default();
    assert!(mapping.set_column("colour=V").is_err());
    mapping.set_column("speed=V GPS").unwrap();
    let error = read_log(b"time,v\n0,1\n1,2\n2,3\n3,4\n", &mapping).unwrap_err();
    assert!(error.to_string().contains("no such column; the columns are time, v"), "{error}");
    let mut mapping = Mapping::default();
    mapping.set_unit("speed=parsec").unwrap();
    let error = read_log(b"time,v\n0,1\n1,2\n2,3\n3,4\n", &mapping).unwrap_err();
    assert!(error.to_string().contains("possible are m/s, km/h, mph, kn"), "{error}");
}

/// Any bytes: an error or a log whose time rises; never a panic. (Open-ended in fuzz/fuzz_targets/log.rs.)
#[test]
fn property_mutations_never_panic() {
    let base: String = "Name;x\nTime (s),Lat,Lon,Speed,AccLat\n".to_string()
        + &(0..40).map(|i| format!("{},52.00{i},-1.00{i},{i},0.{i}\n", i)).collect::<String>();
    let mut random = unladen_positions::Noise::new(11);
    for _ in 0..3000 {
        let mut bytes = base.clone().into_bytes();
        for _ in 0..1 + random.bits() % 6 {
            let at = (random.bits() as usize) % bytes.len().max(1);
            if bytes.is_empty() {
                break;
            }
            match random.bits() % 4 {
                0 => bytes[at] = b",;\t\n\"0-:.eN"[(random.bits() % 11) as usize],
                1 => bytes[at] = (random.bits() & 0xff) as u8,
                2 => drop(bytes.drain(at..(at + 9).min(bytes.len()))),
                _ => bytes.truncate(at + 1),
            }
        }
        if let Ok(read) = read_log(&bytes, &Mapping::default()) {
            assert!(read.log.t.windows(2).all(|w| w[1] > w[0]));
        }
    }
}
