//! What every kilogram and every millimetre of centre of gravity of a car is worth in lap time: for programs that ask.
//!
//! A question names its files ([`Scene`]) and is asked of the [`Disk`], or of texts in [`Memory`]; the answer is typed,
//! in SI, and owns all that it says. Nothing is printed. An answer carries what is unlikely in the files (`warnings`)
//! and what to know before it is believed (`caveats`): look at both before the number.
//!
//! ```
//! use unladen::{Memory, Scene, lap, worth};
//!
//! let read = |path: &str| std::fs::read(format!("../../{path}")).map(|bytes| (path.to_owned(), bytes));
//! let names = ["vehicles/saloon-awd/car.toml", "tracks/airfield.toml", "tracks/airfield.csv"];
//! let files = names.into_iter().map(read).collect::<Result<Memory, _>>()?;
//!
//! let scene = Scene::new("vehicles/saloon-awd", ["tracks/airfield.toml"]);
//! let laps = lap::Question { scene: scene.clone() }.ask(&files)?;
//! assert!(laps[0].caveats.is_empty() && laps[0].error_s < 0.01);
//!
//! let worth = worth::Question::new(scene).ask(&files)?;
//! let kilogram = worth.study.mix.s_per_kg;
//! assert!(kilogram.value > 0.005 && kilogram.error < 0.1 * kilogram.value); // more mass, more time
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! | question | room | answered by |
//! |---|---|---|
//! | how quick is it, what rules where | [`lap`] | a lap, station by station |
//! | what is a kilogram or a millimetre worth | [`worth`] | derivatives with their uncertainty |
//! | mass, height, split, fuel, grip | [`sweep`] | a lap for every cell of a grid |
//! | what of my plans is worth doing | [`rank`] | seconds by change, the best set within a budget |
//! | is it worth moving | [`relocate`] | the gain over a stint |
//! | which of two builds | [`compare`] | who is quicker, where, why, and when it turns |
//!
//! The layers below are here too: [`vehicle`] and [`track`] are the model's data, [`solver`] laps them, [`study`] asks
//! many laps, [`garage`] reads the files that people edit, [`report`] makes texts and pictures of answers.

pub use unladen_garage as garage;
pub use unladen_lap as solver;
pub use unladen_questions::{AskError, Asked, Disk, Failure, Files, Kind, Memory, NoResult, Scene, Warning};
pub use unladen_questions::{compare, lap, planned, rank, relocate, sweep, worth};
pub use unladen_report as report;
pub use unladen_study as study;
pub use unladen_track as track;
pub use unladen_vehicle as vehicle;
