//! Edits of a ledger in every dialect: nothing but the meant characters change, and taking back is exact to the byte.

use crate::common::root;
use proptest::prelude::*;
use unladen_garage::{
    Areas, Edit, FileErrors, History, Ledger, LedgerFault, Sheet, add, day, done, not_done, parse_ledger, read_ledger,
};
use unladen_vehicle::entry::State;

/// The same ledger as different spreadsheets and people write it: (name, bytes).
fn dialects() -> Vec<(&'static str, Vec<u8>)> {
    let point = "item,state,mass_before_kg,x_before_mm,y_before_mm,z_before_mm,mass_after_kg,date,excludes,needs,note\n\
                 seat,planned,14.5,1380,-350,430,,,,,\n\
                 Gepäckabdeckung,done,3.25,2400,0,900,,2026-01-02,,,\n";
    let comma = "item;state;mass_before_kg;x_before_mm;y_before_mm;z_before_mm;mass_after_kg;date;excludes;needs;note;;\r\n\
                 seat;planned;14,5;1380;-350;430;;;;;;;\r\n\
                 ;;;;;;;;;;;;\r\n\
                 Gepäckabdeckung;done;3,25;2400;0;900;;2.1.2026;;;;;\r\n\
                 ;;;;;;;;;;;;\r\n";
    let latin: Vec<u8> = comma.chars().map(|c| u8::try_from(u32::from(c)).unwrap()).collect();
    let tabs = point.replace(',', "\t").trim_end().to_owned();
    let marked = format!("\u{feff}{comma}");
    let person = format!(
        "# my car, do not sort\n\nmine,{}",
        point.replace("\nseat", "\n\"x, y\",  seat").replace("\nGep", "\n,Gep").replace("planned", " planned ")
    );
    let quoted: String = point
        .lines()
        .map(|l| l.split(',').map(|f| format!("\"{f}\"")).collect::<Vec<_>>().join(",") + "\r\n")
        .collect();
    vec![
        ("comma", point.into()),
        ("semicolon, decimal comma, CRLF, blank rows, trailing columns", comma.into()),
        ("Latin-1", latin),
        ("byte-order mark", marked.into()),
        ("tabs, no last line end", tabs.into()),
        ("old Mac", point.replace('\n', "\r").into()),
        ("a person's", person.into()),
        ("all in quotes", quoted.into()),
    ]
}

fn read(bytes: &[u8]) -> Ledger {
    parse_ledger(Sheet::parse("l.csv", bytes).unwrap(), None, None).unwrap_or_else(|e| panic!("{e}"))
}

/// The bytes of `new` where they differ from `old`.
fn changed(old: &[u8], new: &[u8]) -> (String, String) {
    let front = old.iter().zip(new).take_while(|(a, b)| a == b).count();
    let back = old[front..].iter().rev().zip(new[front..].iter().rev()).take_while(|(a, b)| a == b).count();
    let text = |b: &[u8]| String::from_utf8_lossy(&b[front..b.len() - back]).into_owned();
    (text(old), text(new))
}

#[test]
fn property_every_dialect_is_read_alike_and_comes_back_byte_for_byte() {
    for (name, bytes) in dialects() {
        let ledger = read(&bytes);
        assert_eq!(ledger.sheet.bytes(), bytes, "{name}");
        let [seat, cover] = &ledger.entries[..] else { panic!("{name}: {:?}", ledger.entries) };
        assert_eq!((seat.item.as_str(), seat.state, seat.change.mass()), ("seat", State::Planned, -14.5), "{name}");
        assert_eq!((cover.item.as_str(), cover.day), ("Gepäckabdeckung", day("2026-01-02")), "{name}");
        assert_eq!(cover.change.before.map(|p| (p.m, p.x)), Some((3.25, 2.4)), "{name}");
    }
}

#[test]
fn property_done_then_undone_is_the_file_as_it_was() {
    for (name, bytes) in dialects() {
        let ledger = read(&bytes);
        let edit = done(&ledger, "seat", None, day("2026-03-01")).unwrap();
        let after = read(&edit.bytes);
        assert_eq!((after.entries[0].state, after.entries[0].day), (State::Done, day("2026-03-01")), "{name}");
        let (old, new) = changed(&bytes, &edit.bytes);
        assert!(old.len() < 60 && new.len() < 70 && !new.contains('\n'), "{name}: {old:?} {new:?}");
        assert_eq!(after.entries[1], ledger.entries[1], "{name}");
        let history = History::default().with(&ledger.sheet, &edit);
        let history = History::parse(&history.text()).unwrap();
        let (back, what, rest) = history.back(&after.sheet).unwrap();
        assert_eq!((back, what.as_str()), (bytes.clone(), "done seat"), "{name}");
        assert_eq!(rest, History::default());
        // By name it is planned again, which is what it was.
        let planned = not_done(&after, "SEAT", None).unwrap();
        assert_eq!(read(&planned.bytes).entries, ledger.entries, "{name}");
    }
}

#[test]
fn property_a_row_is_added_in_the_dialect_of_the_file() {
    for (name, bytes) in dialects() {
        let ledger = read(&bytes);
        let cells = vec![
            ("item", "horn, front".to_owned()),
            ("state", "planned".into()),
            ("mass_before_kg", "2.5 lb".into()),
            ("x_before_mm", "-0.5 m".into()),
            ("y_before_mm", "10".into()),
            ("z_before_mm", "400.5".into()),
        ];
        let edit = add(&ledger, &cells).unwrap_or_else(|e| panic!("{name}: {e}"));
        let after = read(&edit.bytes);
        assert_eq!(after.entries[..2], ledger.entries[..], "{name}");
        let part = after.entries[2].change.before.unwrap();
        assert!((part.m - 1.133_980_925).abs() < 1e-9, "{name}: {part:?}");
        assert_eq!((part.x, part.y, part.z), (-0.5, 0.01, 0.4005), "{name}");
        // Nothing that was there has moved or gone.
        let (old, _) = changed(&bytes, &edit.bytes);
        assert_eq!(old, "", "{name}");
        let history = History::default().with(&ledger.sheet, &edit);
        assert_eq!(history.back(&after.sheet).unwrap().0, bytes, "{name}");
    }
}

fn fault(result: Result<Edit, FileErrors>) -> String {
    result.unwrap_err().to_string()
}

#[test]
fn bad_input_edits_that_are_refused() {
    let text = "item,state,mass_before_kg,x_before_mm,y_before_mm,z_before_mm,mass_after_kg,excludes,needs\n\
                seat,planned,14.5,1380,-350,430,,,\n\
                tank A,planned,,2600,0,400,6,tank B,\n\
                tank B,done,8,2600,0,400,6,,\n\
                shaft,planned,9,900,0,300,,,diff\n\
                diff,idea,9,0,0,300,,,\n\
                lid,planned,9,0,0,300,,,\n\
                lid,planned,8,3000,0,300,,,\n";
    // An added part needs a place of its own.
    let text = text.replace("tank A,planned,,2600,0,400,6", "tank A,planned,1,2600,0,400,6");
    let ledger = read(text.as_bytes());
    for (item, message) in [
        ("saet", "no item is called `saet`"),
        ("tank A", "l.csv:3:1: tank A excludes tank B, which is done"),
        ("tank b", "l.csv:4:1: tank B is done already"),
        ("shaft", "l.csv:5:1: shaft needs diff, which is not done"),
        ("lid", "l.csv:7:1: 2 rows are called `lid`, in lines 7, 8"),
    ] {
        assert_eq!(fault(done(&ledger, item, None, None)), message);
    }
    assert!(done(&ledger, "lid", Some(8), None).is_ok());
    assert_eq!(fault(not_done(&ledger, "seat", None)), "l.csv:2:1: seat is planned already");
    let cells = |extra: &[(&'static str, &str)]| {
        let mut all = vec![("item", "new".to_owned()), ("state", "planned".into())];
        all.extend(extra.iter().map(|(c, v)| (*c, (*v).to_owned())));
        all
    };
    for (extra, message) in [
        (&[("mass_before_kg", "5 mm")][..], "mass_before_kg: a length where a mass is due"),
        (&[("mass_before_kg", "x")], "mass_before_kg: not a number"),
        (&[("cost", "5")], "no column `cost` to write it into"),
        (&[], "the edit would break the ledger: l.csv:9:1: new: no mass before and none after; nothing was written"),
        (
            &[("mass_before_kg", "5 kg")],
            "the edit would break the ledger: l.csv:9:13: new: no position before, and no area either; nothing was written",
        ),
    ] {
        assert_eq!(fault(add(&ledger, &cells(extra))), message);
    }
    assert_eq!(fault(add(&ledger, &[("item", "Seat".into())])), "l.csv:2:1: Seat is in the ledger already, line 2");
    // A day without a column for it is told, and the rest is done.
    assert!(done(&ledger, "seat", None, Some(0)).unwrap().remark.is_some());
}

#[test]
fn bad_input_letters_that_the_file_has_not_got() {
    let latin = dialects().into_iter().find(|d| d.0 == "Latin-1").unwrap().1;
    let cells = [("item", "zbiornik żółty".to_owned()), ("state", "idea".into()), ("mass_after_kg", "1".into())];
    let refused = add(&read(&latin), &cells).unwrap_err();
    assert_eq!(refused.to_string(), "this file's letters have no `ż`");
}

#[test]
fn bad_input_a_file_that_changed_since_is_never_overwritten() {
    let (_, bytes) = dialects().remove(0);
    let ledger = read(&bytes);
    let edit = done(&ledger, "seat", None, None).unwrap();
    let history = History::default().with(&ledger.sheet, &edit);
    let typed = [edit.bytes.as_slice(), b"# a person was here\n"].concat();
    let refused = history.back(&Sheet::parse("l.csv", &typed).unwrap());
    assert!(matches!(refused, Err(LedgerFault::ChangedSince { .. })), "{refused:?}");
    // Killed between the list and the file: the edit never was.
    assert_eq!(history.back(&ledger.sheet), Err(LedgerFault::NothingToUndo));
    let again = history.with(&ledger.sheet, &edit);
    assert_eq!(again.back(&read(&edit.bytes).sheet).unwrap().0, bytes);
    assert_eq!(again, history);
}

#[test]
fn end_to_end_the_demo_ledger() {
    let path = root().join("vehicles/saloon-awd/ledger.csv");
    let (ledger, areas) = read_ledger(&path, None).unwrap();
    assert!((38..=50).contains(&ledger.entries.len()), "{}", ledger.entries.len());
    assert!(areas.is_some_and(|a: Areas| a.0.len() >= 8));
    assert_eq!(ledger.sheet.bytes(), std::fs::read(&path).unwrap());
    // Every row that can be done is done and taken back, to the byte.
    let mut edited = 0;
    for entry in &ledger.entries {
        if let Ok(edit) = done(&ledger, &entry.item, None, day("2026-05-01")) {
            let history = History::default().with(&ledger.sheet, &edit);
            let sheet = Sheet::parse("l.csv", &edit.bytes).unwrap();
            assert_eq!(history.back(&sheet).unwrap().0, ledger.sheet.bytes());
            edited += 1;
        }
    }
    assert!(edited > 15, "{edited}");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 2000, failure_persistence: None, ..ProptestConfig::default() })]

    /// Whatever stands in the cells, in whatever dialect: read or refused, and an edit is taken back to the byte.
    #[test]
    fn property_any_cells_are_read_or_refused(
        which in 0..8usize,
        at in any::<usize>(),
        piece in "[\\PC]{0,6}|[0-9.,;\"\n\r\t#-]{0,6}|done|idea|1e999|nan|-0|1.234|1,234",
    ) {
        let (_, bytes) = dialects().remove(which);
        let at = at % bytes.len();
        let damaged = [&bytes[..at], piece.as_bytes(), &bytes[at..]].concat();
        let Ok(sheet) = Sheet::parse("l.csv", &damaged) else { return Ok(()) };
        prop_assert_eq!(sheet.bytes(), damaged.clone());
        match parse_ledger(sheet, None, None) {
            Ok(ledger) => {
                for entry in &ledger.entries {
                    prop_assert!(entry.change.mass().is_finite() && !entry.item.is_empty());
                    if let Ok(edit) = done(&ledger, &entry.item, None, Some(1)) {
                        let history = History::default().with(&ledger.sheet, &edit);
                        let sheet = Sheet::parse("l.csv", &edit.bytes).unwrap();
                        prop_assert_eq!(history.back(&sheet).unwrap().0, damaged.clone());
                    }
                }
            }
            Err(errors) => prop_assert!(!errors.render(unladen_garage::Style::PLAIN).is_empty()),
        }
    }
}
