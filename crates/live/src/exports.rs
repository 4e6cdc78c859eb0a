//! What a browser calls. A text goes in through a buffer that the caller fills, and the answer is read from another: no
//! pointer of a caller's is followed. The attributes keep the exports' names; there is no `unsafe` block.
#![allow(unsafe_code)]

use std::cell::RefCell;

use serde_json::{Value, json};

use crate::bench::Bench;
use crate::fault::LiveError;

thread_local! {
    static INPUT: RefCell<Vec<u8>> = const { RefCell::new(Vec::new()) };
    static OUTPUT: RefCell<Vec<u8>> = const { RefCell::new(Vec::new()) };
    static BENCH: RefCell<Option<Bench>> = const { RefCell::new(None) };
}

/// Where a text of so many bytes goes.
#[unsafe(no_mangle)]
pub extern "C" fn input(bytes: usize) -> *mut u8 {
    INPUT.with_borrow_mut(|buffer| {
        buffer.clear();
        buffer.resize(bytes, 0);
        buffer.as_mut_ptr()
    })
}

/// Where the answer is.
#[unsafe(no_mangle)]
pub extern "C" fn output() -> *const u8 {
    OUTPUT.with_borrow(|buffer| buffer.as_ptr())
}

/// Opens the data of a page; the length of the answer.
#[unsafe(no_mangle)]
pub extern "C" fn open() -> usize {
    said(taken().and_then(|text| {
        let bench = Bench::open(&text)?;
        let start = bench.start();
        BENCH.set(Some(bench));
        Ok(start)
    }))
}

/// Answers a frame; the length of the answer.
#[unsafe(no_mangle)]
pub extern "C" fn frame() -> usize {
    said(asked(|bench, text| bench.frame(&serde_json::from_str(text)?)))
}

/// Says how sure a trial is; the length of the answer.
#[unsafe(no_mangle)]
pub extern "C" fn settled() -> usize {
    said(asked(|bench, text| bench.settled(&serde_json::from_str(text)?)))
}

fn taken() -> Result<String, LiveError> {
    let bytes = INPUT.take();
    String::from_utf8(bytes).map_err(|_| LiveError::Closed)
}

fn asked(answer: impl FnOnce(&mut Bench, &str) -> Result<Value, LiveError>) -> Result<Value, LiveError> {
    let text = taken()?;
    BENCH.with_borrow_mut(|bench| answer(bench.as_mut().ok_or(LiveError::Closed)?, &text))
}

fn said(answer: Result<Value, LiveError>) -> usize {
    let text = match answer {
        Ok(value) => json!({ "ok": value }).to_string(),
        Err(error) => json!({ "error": error.to_string() }).to_string(),
    };
    let length = text.len();
    OUTPUT.set(text.into_bytes());
    length
}
