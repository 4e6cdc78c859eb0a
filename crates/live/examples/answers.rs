//! Answers natively what the module answers: a page's data in the first file, a list of questions in the second, each
//! `["frame", {…}]` or `["settled", {…}]`. `tests/browser/module.mjs` holds both against each other.
#![allow(clippy::unwrap_used)]

use serde_json::{Value, json};
use unladen_live::bench::Bench;
use unladen_live::fault::LiveError;

fn main() {
    let [data, asks] = [1, 2].map(|i| std::fs::read_to_string(std::env::args().nth(i).unwrap()).unwrap());
    let mut bench = Bench::open(&data).unwrap();
    let mut all = vec![json!({ "ok": bench.start() })];
    for (what, ask) in serde_json::from_str::<Vec<(String, Value)>>(&asks).unwrap() {
        let ask = ask.to_string();
        let answer = || -> Result<Value, LiveError> {
            match what.as_str() {
                "frame" => bench.frame(&serde_json::from_str(&ask)?),
                _ => bench.settled(&serde_json::from_str(&ask)?),
            }
        };
        all.push(answer().map_or_else(|e| json!({ "error": e.to_string() }), |ok| json!({ "ok": ok })));
    }
    println!("{}", Value::from(all));
}
