//! Any bytes as `ledger.csv` and as `areas.csv`: the file comes back byte for byte; rows are read or refused with a message;
//! an edit is taken back to the byte.
#![no_main]

use libfuzzer_sys::fuzz_target;
use unladen_garage::{History, Sheet, Style, done, parse_areas, parse_ledger};

fuzz_target!(|bytes: &[u8]| {
    let Ok(sheet) = Sheet::parse("l.csv", bytes) else { return };
    assert_eq!(sheet.bytes(), bytes);
    if let Err(errors) = parse_areas(&sheet) {
        assert!(!errors.render(Style::PLAIN).is_empty());
    }
    match parse_ledger(sheet, None, None) {
        Ok(ledger) => {
            assert!(ledger.entries.iter().all(|entry| entry.change.mass().is_finite()));
            for entry in ledger.entries.iter().take(2) {
                if let Ok(edit) = done(&ledger, &entry.item, None, Some(1)) {
                    let history = History::default().with(&ledger.sheet, &edit);
                    let back = Sheet::parse("l.csv", &edit.bytes).ok().and_then(|s| history.back(&s).ok());
                    assert_eq!(back.map(|b| b.0).as_deref(), Some(bytes));
                }
            }
        }
        Err(errors) => assert!(!errors.faults.is_empty() && !errors.render(Style::PLAIN).is_empty()),
    }
});
