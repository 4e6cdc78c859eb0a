//! What a page carries to answer: the module, the files, the script; and the part of the page that it brings to life.

use std::cell::RefCell;
use std::path::{Path, PathBuf};

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use maud::{Markup, PreEscaped, html};
use unladen_garage::{FileProblem, Files, Limit};
use unladen_questions::read::Reader;
use unladen_questions::{Failure, Scene};

use crate::bench::Data;

/// The module, made by `crates/live/module.sh` and compressed by gzip.
pub const MODULE: &[u8] = include_bytes!("../module/unladen.wasm.gz");
const SCRIPT: &str = include_str!("page.js");
const WORKER: &str = include_str!("worker.js");
const STYLE: &str = include_str!("page.css");

/// Files as they are read, kept.
struct Keeping<'f> {
    from: &'f dyn Files,
    kept: RefCell<Vec<(PathBuf, Vec<u8>)>>,
}

impl Files for Keeping<'_> {
    fn bytes(&self, path: &Path, limit: Limit) -> Result<Vec<u8>, FileProblem> {
        let bytes = self.from.bytes(path, limit)?;
        let mut kept = self.kept.borrow_mut();
        if kept.iter().all(|(known, _)| known != path) {
            kept.push((path.to_owned(), bytes.clone()));
        }
        Ok(bytes)
    }

    fn is_file(&self, path: &Path) -> bool {
        self.from.is_file(path)
    }

    fn is_dir(&self, path: &Path) -> bool {
        self.from.is_dir(path)
    }

    fn list(&self, folder: &Path) -> Vec<PathBuf> {
        self.from.list(folder)
    }

    fn joined(&self, folder: &Path, path: &str) -> PathBuf {
        self.from.joined(folder, path)
    }

    fn outside(&self, path: &Path, folder: &Path) -> bool {
        self.from.outside(path, folder)
    }
}

/// All that a page carries of a car and its tracks: the files that laps of it read, cars that its rows make of it too.
///
/// # Errors
/// [`Failure`] with every fault of the files.
pub fn pack(files: &dyn Files, scene: &Scene, (spread_s, laps): (f64, u32)) -> Result<Data, Failure> {
    let keeping = Keeping { from: files, kept: RefCell::default() };
    Reader::run(&keeping, |r| {
        let inputs = r.inputs(scene)?;
        let rows: Vec<usize> = (0..inputs.car.entries.len()).collect();
        // Where one can't be read, whoever switches to it is told.
        let _ = r.others(&scene.car, &[], inputs.car.ledger.as_ref(), &rows);
        Ok(())
    })?;
    let kept = keeping.kept.into_inner();
    let plain = plain(&scene.car, files, &kept);
    let [with, without] = [&scene.state.with, &scene.state.without].map(Clone::clone);
    Ok(Data {
        files: kept.iter().map(|(path, bytes)| (plain(path), STANDARD.encode(bytes))).collect(),
        car: plain(&scene.car),
        tracks: scene.tracks.iter().map(|(path, weight)| (plain(path), *weight)).collect(),
        state: scene.state.of.word().into(),
        with_without: [with, without],
        moved: scene.state.moved.iter().map(|m| (m.item.clone(), m.by)).collect(),
        set: scene.set.clone(),
        grip: scene.grip,
        step_m: scene.step_m,
        watch: (spread_s, laps),
    })
}

/// Paths as a stranger may see them: relative ones as they were typed; of absolute ones the car's folder and what is in and
/// beside it, of all others their last folder, each of those by a name of its own.
fn plain<'a>(car: &'a Path, files: &dyn Files, kept: &'a [(PathBuf, Vec<u8>)]) -> impl Fn(&Path) -> String + use<'a> {
    let folder = if files.is_dir(car) { Some(car) } else { car.parent() }.unwrap_or(car);
    let beside = folder.parent().unwrap_or(folder);
    let mut others: Vec<&Path> = Vec::new();
    for parent in kept.iter().filter(|(path, _)| !path.starts_with(beside)).filter_map(|(path, _)| path.parent()) {
        if !others.contains(&parent) {
            others.push(parent);
        }
    }
    move |path: &Path| {
        let text =
            |path: &Path| path.components().map(|c| c.as_os_str().to_string_lossy()).collect::<Vec<_>>().join("/");
        if path.is_relative() {
            return text(path);
        }
        if let Ok(rest) = path.strip_prefix(beside) {
            return text(rest);
        }
        let last = |path: &Path| path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
        let parent = path.parent().unwrap_or(path);
        let number = others.iter().position(|other| *other == parent).map_or(0, |i| i + 1);
        format!("{number}-{}/{}", last(parent), last(path))
    }
}

/// The part of a page that takes hold of the car; without scripts nothing of it shows.
pub fn section(data: &Data) -> Markup {
    let data = serde_json::to_string(data).unwrap_or_default().replace('<', "\\u003c");
    html! {
        style { (PreEscaped(STYLE)) }
        section #live hidden aria-labelledby="live-title" {
            h2 #live-title { "Take hold of the car" }
            p.live-how { "Drag what sits in the car, or give it the focus and use the arrow keys: 10 mm a step, 1 mm with shift; up and down \
                move it up and down in the side view, right and left in the view from above." }
            div #live-verdict role="status" aria-live="polite" {
                p #live-says { "…" }
                p #live-sure {}
            }
            p #live-lap {}
            p #live-fault role="alert" hidden {}
            div #live-car {}
            details #live-facts-part hidden { summary { "How sure that is, and what it hangs on" } ul #live-facts {} }
            p #live-stands {}
            p #live-unlikely role="status" {}
            p #live-even {}
            div #live-cautions {}
            div.live-buttons {
                button type="button" #live-undo { "Undo" }
                button type="button" #live-reset { "Reset" }
                button type="button" #live-pin { "Keep this trial" }
                button type="button" #live-link { "Copy a link" }
                button type="button" #live-command { "Copy the command" }
                span #live-done role="status" {}
            }
            details { summary { "The same answer by the command line" } p { code #live-command-text {} }
                p.note { "Where this page was made. Of folders that only that machine has, the last names stand here." }
            }
            div #live-laps-part {
                h3 { "Along the lap" }
                label #live-track-part hidden { "Track " select #live-track {} }
                div #live-laps {}
            }
            details open { summary { "What is turned" } div #live-controls {} }
            details { summary { "What is in the car, and what is not" } div #live-switches {} }
            details { summary { "What sits where, in mm" } div #live-places {} }
            details #live-kept-part hidden { summary { "Trials that were kept" } div #live-kept {} }
            details { summary { "My own car: its numbers instead" }
                p.note { "These go into the car as it is and into what is tried." }
                div #live-own {}
            }
            p.note { "Answers while one drags are by one lap a track, as set; once the hand rests, by the laps that say how sure that is, \
                re-tuned where the car's limits let something be set. Laps at the limit are for a closed track and a sound car." }
        }
        script type="application/json" #live-data { (PreEscaped(data)) }
        script type="text/plain" #live-module { (STANDARD.encode(MODULE)) }
        script type="text/plain" #live-worker { (PreEscaped(WORKER)) }
        script { (PreEscaped(SCRIPT)) }
    }
}
