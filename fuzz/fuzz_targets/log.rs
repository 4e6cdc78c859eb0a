//! Any bytes as a log: an error that says something, or a log whose time rises and whose mapping reads back.
#![no_main]

use libfuzzer_sys::fuzz_target;
use unladen_garage::log::{Mapping, read_log};

fuzz_target!(|bytes: &[u8]| {
    match read_log(bytes, &Mapping::default()) {
        Ok(read) => {
            assert!(read.log.t.windows(2).all(|w| w[1] > w[0]));
            assert!(read.log.channels.values().all(|c| c.len() == read.log.rows() || read.log.t.is_empty()));
            assert_eq!(Mapping::parse(&read.mapping.text()), Ok(read.mapping));
        }
        Err(error) => assert!(!error.to_string().is_empty()),
    }
});
