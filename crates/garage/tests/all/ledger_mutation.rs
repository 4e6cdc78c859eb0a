//! Damaged ledgers, areas and readings: read or refused with a message, none panics, and every CSV comes back byte for
//! byte. A quarter of 10⁵ ledgers, and a quarter as many of the others, run with every test (`parts`); by hand 10⁷ and
//! more:
//!
//!     UNLADEN_TEST_PARTS=all UNLADEN_MUTATIONS=10000000 cargo test -p unladen-garage --test all ledger_mutation --
//! --nocapture
//!
//! `fuzz/` holds the same readers as open-ended targets.

use unladen_garage::{
    Fault, FileErrors, History, Sheet, Source, Style, day, done, parse_areas, parse_ledger, parse_readings,
};
use unladen_testkit::parts;
use unladen_testkit::random::Rng;

const PIECES: &[&[u8]] = &[
    b",",
    b";",
    b"\t",
    b"\"",
    b"\"\"",
    b"\n",
    b"\r\n",
    b"\r",
    b"#",
    b"\xef\xbb\xbf",
    b"\xff",
    b"\x80",
    b"\0",
    b"1,5",
    b"1.5",
    b"1.500",
    b"1,500",
    b"-0",
    b"1e308",
    b"nan",
    b"inf",
    "−3".as_bytes(),
    "é".as_bytes(),
    b"done",
    b"planned",
    b"idea",
    b"item",
    b"area",
    b"weighed",
    b"2026-02-30",
    b"1.2.2026",
    b"0",
    b"99999999",
    b"[[level]]\n",
    b"[[lift]]\n",
    b"raised = \"rear\"\n",
    b"[scales]\n",
    b" kg\"",
    b" mm\"",
    "±".as_bytes(),
    b"]",
    b"[",
    b"{",
    b"}",
    b"=",
    b"a|b",
    b" ",
];

fn damage(bytes: &mut Vec<u8>, random: &mut Rng) {
    for _ in 0..1 + random.below(2) * random.below(2) {
        let at = random.below(bytes.len());
        match random.below(5) {
            0 => drop(bytes.drain(at..(at + 1 + random.below(12)).min(bytes.len()))),
            1 => drop(bytes.splice(at..at, PIECES[random.below(PIECES.len())].iter().copied())),
            2 => {
                if let Some(byte) = bytes.get_mut(at) {
                    *byte = (random.below(256)) as u8;
                }
            }
            3 => {
                let piece = bytes[at..(at + 1 + random.below(20)).min(bytes.len())].to_vec();
                let to = random.below(bytes.len());
                drop(bytes.splice(to..to, piece));
            }
            _ => {
                let piece = PIECES[random.below(PIECES.len())];
                let end = (at + piece.len()).min(bytes.len());
                drop(bytes.splice(at..end, piece.iter().copied()));
            }
        }
    }
}

fn said(errors: &FileErrors, draw: bool) {
    assert!(!errors.faults.is_empty());
    assert!(errors.faults.iter().all(|f| f.what != Fault::Unreadable), "{errors}");
    if draw {
        assert!(!errors.render(Style::PLAIN).is_empty());
    }
}

/// This run's cases of so many thousandths of all, each with its own stream.
fn cases(thousandths: u64) -> impl Iterator<Item = (usize, Rng)> {
    let all = std::env::var("UNLADEN_MUTATIONS").ok().and_then(|n| n.parse().ok()).unwrap_or(100_000u64);
    parts::seeds(0..all * thousandths / 1000, 4).map(|seed| (seed as usize, Rng::new(seed)))
}

const LEDGERS: &[&str] = &[
    "item,area,state,mass_before_kg,x_before_mm,y_before_mm,z_before_mm,mass_after_kg,source,date,group,excludes,needs\n\
     seat,cabin,planned,14.5,1380,-350,430,,weighed,,,,\nlid,boot,done,3.25,,,,2,quoted,2026-01-02,g,,seat\n",
    "\u{feff}item;state;mass_before_kg;x_before_mm;y_before_mm;z_before_mm;mass_after_kg;;\r\n\"a;b\";idea;1,5;0;0;1;;;\r\n;;;;;;;;\r\n",
];

#[test]
fn property_damaged_ledgers_are_read_or_refused() {
    let areas =
        parse_areas(&Sheet::parse("a", b"area,x_mm,y_mm,z_mm\ncabin,1,2,3\nboot,3000,0,500\n").unwrap()).unwrap();
    let (mut read, mut refused) = (0, 0);
    for (i, mut random) in cases(1000) {
        let mut bytes = LEDGERS[i % LEDGERS.len()].as_bytes().to_vec();
        damage(&mut bytes, &mut random);
        let Ok(sheet) = Sheet::parse("l.csv", &bytes) else { continue };
        assert_eq!(sheet.bytes(), bytes);
        match parse_ledger(sheet, Some(&areas), None) {
            Ok(ledger) => {
                read += 1;
                for entry in &ledger.entries {
                    assert!(entry.change.mass().is_finite());
                }
                if let Some(entry) = ledger.entries.first()
                    && let Ok(edit) = done(&ledger, &entry.item, None, day("2026-05-01"))
                {
                    let history = History::default().with(&ledger.sheet, &edit);
                    let back = history.back(&Sheet::parse("l.csv", &edit.bytes).unwrap());
                    assert_eq!(back.unwrap().0, bytes);
                }
            }
            Err(errors) => {
                refused += 1;
                said(&errors, i % 16 == 0);
            }
        }
    }
    println!("ledgers: {read} read, {refused} refused");
    assert!(read * 50 > refused && refused * 50 > read, "{read} {refused}");
}

const AREAS: &str = "area;x_mm;y_mm;z_mm;note\nnose;-550;0;480;\"ahead, of it\"\n\nboot;2950,5;-10;560;\n";

#[test]
fn property_damaged_areas_are_read_or_refused() {
    let (mut read, mut refused) = (0, 0);
    for (i, mut random) in cases(250) {
        let mut bytes = AREAS.as_bytes().to_vec();
        damage(&mut bytes, &mut random);
        let Ok(sheet) = Sheet::parse("a.csv", &bytes) else { continue };
        match parse_areas(&sheet) {
            Ok(areas) => {
                read += 1;
                assert!(areas.0.iter().all(|a| !a.name.is_empty() && a.at.iter().all(|x| x.is_finite())));
            }
            Err(errors) => {
                refused += 1;
                said(&errors, i % 16 == 0);
            }
        }
    }
    println!("areas: {read} read, {refused} refused");
    assert!(read * 100 > refused && refused * 10 > read, "{read} {refused}");
}

const READINGS: &str = "schema = 1\nname = \"n\"\ndate = \"2026-01-01\"\n[car]\nwheelbase = \"2600 ± 3 mm\"\ntrack_front = \"1500 mm\"\n\
    track_rear = \"1500 mm\"\nwheel_centre_front = \"298 mm\"\nwheel_centre_rear = \"298 mm\"\n[scales]\nresolution = \"0.5 kg\"\n\
    [[level]]\nfront = \"646 kg\"\nrear = \"554 kg\"\n[[lift]]\nraised = \"rear\"\nheight = \"450 mm\"\nfront = \"668 kg\"\n\
    [[fluid]]\nmass = \"15 kg\"\nlength = \"0.4 m\"\ndepth = \"8 cm\"\n";

#[test]
fn property_damaged_readings_are_read_or_refused() {
    let (mut read, mut refused) = (0, 0);
    for (i, mut random) in cases(250) {
        let mut bytes = READINGS.as_bytes().to_vec();
        damage(&mut bytes, &mut random);
        let Ok(text) = String::from_utf8(bytes) else { continue };
        match parse_readings(&Source::new("r.toml", text)) {
            Ok(file) => {
                read += 1;
                assert!(file.readings.iter().all(|r| r.corners.is_some() || r.axles != [None, None]));
                assert!(file.wheelbase.sd > 0.0 && file.scales[0] > 0.0);
            }
            Err(errors) => {
                refused += 1;
                said(&errors, i % 16 == 0);
            }
        }
    }
    println!("readings: {read} read, {refused} refused");
    assert!(read * 100 > refused && refused * 10 > read, "{read} {refused}");
}
