//! What must be set again.

use std::path::PathBuf;

use unladen_garage::{CarFile, FileErrors, Files, Overrides, TrackFile, Warning, written};
use unladen_lap::STEP_M;
use unladen_study::ledger::reset::{Springs, Stage, stage};
use unladen_study::retune::{Retuned, retune};
use unladen_vehicle::car::{AntiLock, Brakes};

use crate::error::{AskError, Asked, Failure};
use crate::read::Reader;
use crate::roads::{Roads, mixed};
use crate::stands::load::{Aboard, Others, carrying};
use crate::stands::standing::Standing;
use crate::stands::state::{As, State};

/// A car and its ledger.
#[derive(Clone, Debug, PartialEq)]
pub struct Question {
    /// A car: its car.toml, or the folder that holds one; its ledger.csv is beside it.
    pub car: PathBuf,
    /// The state that is shown besides the car as weighed and as it stands.
    pub state: State,
    /// Values of the car's file to be changed, as `KEY=VALUE` with a unit.
    pub set: Vec<String>,
    /// Tracks, with their weights, for which the shares are set that can be; none: that is not asked.
    pub tracks: Vec<(PathBuf, f64)>,
}

/// The question with its files read.
#[derive(Clone, Debug)]
pub struct Ready {
    /// What is unlikely in them.
    pub warnings: Vec<Warning>,
    /// The car in each state, with what that is called; as weighed first.
    stands: Vec<(&'static str, Standing)>,
    tracks: Vec<(TrackFile, f64)>,
}

/// The shares that are quickest somewhere, stage by stage.
#[derive(Clone, Debug, PartialEq)]
pub struct Tuned {
    /// The tracks in words.
    pub tracks: String,
    /// A stage, and what re-tuning did to the car of it.
    pub stages: Vec<(&'static str, Retuned)>,
}

/// A limit that the owner has entered, and the load against it, kg; most and least where it is a band.
#[derive(Clone, Debug, PartialEq)]
pub struct Checked {
    /// What: "front tyres, each".
    pub what: String,
    /// At which stage.
    pub stage: &'static str,
    /// kg.
    pub load: f64,
    /// kg.
    pub least: Option<f64>,
    /// kg.
    pub most: f64,
    /// Which paper says so.
    pub document: Option<String>,
}

/// What must be set again.
#[derive(Clone, Debug)]
#[must_use = "an answer may come with warnings"]
pub struct Answer {
    /// The car.
    pub car: String,
    /// What is aboard.
    pub aboard: Aboard,
    /// As weighed, now, planned.
    pub stages: Vec<Stage>,
    /// Anti-lock brakes are fitted.
    pub anti_lock: bool,
    /// The brakes as fitted.
    pub brakes: Brakes,
    /// m.
    pub wheelbase_m: f64,
    /// Limits and loads.
    pub limits: Vec<Checked>,
    /// Set for the tracks that were named.
    pub tuned: Option<Tuned>,
    /// What is unlikely in the files.
    pub warnings: Vec<Warning>,
}

impl Question {
    /// Reads the files.
    ///
    /// # Errors
    /// [`Failure`] with every fault of all of them, or where the ledger has no such row.
    pub fn read(&self, files: &dyn Files) -> Result<Ready, Failure> {
        Reader::run(files, |r| {
            let mut stands = Vec::new();
            let (mut tracks, mut faults): (Vec<(TrackFile, f64)>, Vec<FileErrors>) = (Vec::new(), Vec::new());
            let overrides = Overrides::parse(&self.set)?;
            for (path, weight) in &self.tracks {
                match files.track(path, &overrides, None) {
                    Ok(track) => tracks.push((track, *weight)),
                    Err(e) => faults.push(e),
                }
            }
            if !faults.is_empty() {
                return Err(AskError::Files(faults));
            }
            r.warn(tracks.iter().flat_map(|(track, _)| track.warnings.iter().cloned()));
            for state in [State::of(As::Weighed), State::of(As::Now), self.state.clone()] {
                let plain = state.with.is_empty() && state.without.is_empty();
                let name = match state.of {
                    _ if !plain => "as asked",
                    As::Weighed => "as weighed",
                    As::Now => "now",
                    As::Planned => "planned",
                    As::Ideas => "with ideas",
                };
                if stands.iter().all(|(known, _)| *known != name) {
                    stands.push((name, r.standing(&self.car, &self.set, &state)?));
                }
            }
            Ok(Ready { warnings: r.warnings(), stands, tracks })
        })
    }
}

impl Ready {
    /// Says what must be set again.
    ///
    /// # Errors
    /// [`AskError`] where masses leave no car, or one has no lap of the tracks.
    pub fn answer(&self) -> Result<Answer, AskError> {
        let Some((_, first)) = self.stands.first() else { return Err(Asked::NoCar.into()) };
        let car = &first.file;
        let springs = car.shop.springs.map(|s| Springs {
            wheel_rate: s.wheel_rate,
            tyre_rate: s.tyre_rate,
            unsprung: s.unsprung,
        });
        let weighed = first.mass_with(&[])?;
        let of = |(name, standing): &(&'static str, Standing)| {
            Ok(stage(name, &standing.car, &weighed, &standing.mass_with(&[])?, springs.as_ref()))
        };
        let stages = self.stands.iter().map(of).collect::<Result<Vec<Stage>, AskError>>()?;
        let limits = self.limits(car, &stages)?;
        Ok(Answer {
            car: car.name.clone(),
            aboard: Aboard::on_track(car),
            stages,
            anti_lock: car.car.brakes.anti_lock != AntiLock::None,
            brakes: car.car.brakes,
            wheelbase_m: car.car.chassis.l,
            limits,
            tuned: self.tuned()?,
            warnings: self.warnings.clone(),
        })
    }

    fn tuned(&self) -> Result<Option<Tuned>, AskError> {
        if self.tracks.is_empty() {
            return Ok(None);
        }
        let roads = Roads::new(&self.tracks, STEP_M)?;
        let of = |(name, standing): &(&'static str, Standing)| {
            Ok((*name, retune(&standing.car, &roads.legs(), &standing.reach())?))
        };
        let stages = self.stands.iter().map(of).collect::<Result<Vec<_>, AskError>>()?;
        Ok(Some(Tuned { tracks: mixed(&self.tracks), stages }))
    }

    /// Loads against the limits that the owner has entered. A tyre carries half its axle, or the heavier corner where
    /// those are known.
    fn limits(&self, car: &CarFile, stages: &[Stage]) -> Result<Vec<Checked>, AskError> {
        let limits = &car.shop.limits;
        let mut all = Vec::new();
        for (i, axle) in ["front", "rear"].into_iter().enumerate() {
            for s in stages {
                if let Some(most) = limits.tyre_load[i] {
                    let load = s.corners.map_or(0.5 * s.axles[i], |c| c[2 * i].max(c[2 * i + 1]));
                    let what = format!("{axle} tyres, the heavier");
                    all.push(Checked { what, stage: s.name, load, least: None, most, document: None });
                }
                if let Some(most) = limits.axle_load[i] {
                    let what = format!("{axle} axle");
                    all.push(Checked { what, stage: s.name, load: s.axles[i], least: None, most, document: None });
                }
            }
        }
        if let Some(r) = &limits.registered {
            let weighed = Aboard::as_weighed(car);
            let (fuel, driver) = (r.fuel.unwrap_or(weighed.fuel), r.driver.unwrap_or(weighed.driver));
            let papers = carrying(car, Aboard { fuel, driver, others: Others::None })?;
            let document = format!("{} ({})", r.document, written(r.day));
            for (name, standing) in &self.stands {
                let s = standing.mass_on(&papers, &[])?;
                all.push(Checked {
                    what: "mass by the papers".into(),
                    stage: name,
                    load: s.part.m,
                    least: Some(r.mass - r.tolerance),
                    most: r.mass + r.tolerance,
                    document: Some(document.clone()),
                });
            }
        }
        Ok(all)
    }
}
