//! The ten numbers: what is asked for, and what may be typed.

use std::ops::Range;

use unladen_garage::{Clash, Fault, FileErrors, Located, Measured, Place, Source, Span, Wrong, argument, within};
use unladen_vehicle::car::Layout;

use crate::error::AskError;
use crate::estimate::{Class, about};

/// What its owner knows of a car. A number that was typed without ± has the one that such a number usually has.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Given {
    /// As it stands, without driver, kg.
    pub mass: Measured,
    /// Front axle's share of it.
    pub front_share: Option<Measured>,
    /// m.
    pub wheelbase: Measured,
    /// To the roof, m.
    pub height: Measured,
    /// Track width, m.
    pub track: Option<Measured>,
    /// Most power at the crank, W.
    pub power: Measured,
    /// Engine speed of it, rad/s.
    pub power_at: f64,
    /// Most torque, N m, and its engine speed, rad/s.
    pub torque: Option<(Measured, f64)>,
    /// Driven axles.
    pub layout: Layout,
    /// Tyres.
    pub tyres: Kind,
    /// m/s.
    pub top_speed: Option<Measured>,
    /// kg.
    pub driver: Option<Measured>,
    /// Aboard when the mass was taken, m³.
    pub fuel: Option<Measured>,
}

/// A kind of tyre.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Summer road tyres.
    Road,
    /// Soft ones that may be driven on the road.
    TrackDay,
    /// Without tread.
    Slick,
}

/// One thing that is asked for.
#[derive(Clone, Copy, Debug)]
pub struct Wish {
    /// Its option.
    pub option: &'static str,
    /// What it is, for a question and for help.
    pub what: &'static str,
    /// How it looks.
    pub example: &'static str,
    /// It can't be left out.
    pub due: bool,
}

const fn wish(option: &'static str, what: &'static str, example: &'static str, due: bool) -> Wish {
    Wish { option, what, example, due }
}

/// All that is asked for, in that order.
pub const WISHES: [Wish; 12] = [
    wish("--mass", "mass of the car as it stands, without driver", "980kg", true),
    wish("--front-share", "the front axle's share of it", "61%", false),
    wish("--wheelbase", "wheelbase", "2510mm", true),
    wish("--height", "height to the roof", "1430mm", true),
    wish("--track", "track width, middle to middle of the front tyres", "1450mm", false),
    wish("--power", "most power at the crank, at its engine speed", "96kW@6200rpm", true),
    wish("--torque", "most torque, at its engine speed", "165Nm@4500rpm", false),
    wish("--layout", "driven axles: front, rear or all", "front", true),
    wish("--tyres", "tyres: road, track-day or slick", "road", true),
    wish("--top-speed", "top speed on the level, where drag ends it", "195km/h", false),
    wish("--driver", "the driver with helmet", "78kg", false),
    wish("--fuel", "fuel that was in the tank when the mass was taken", "20L", false),
];

const LAYOUTS: &[&str] = &["front", "rear", "all"];
const TYRES: &[&str] = &["road", "track-day", "slick"];

const MASS: Span = within("kg", 150.0, 10_000.0);
const SHARE: Span = Span { unit: "%", ..within("", 20.0, 80.0) };
const WHEELBASE: Span = within("mm", 1200.0, 6000.0);
const HEIGHT: Span = within("mm", 600.0, 3000.0);
const TRACK: Span = within("mm", 800.0, 2500.0);
const POWER: Span = within("kW", 5.0, 1500.0);
const TORQUE: Span = within("Nm", 10.0, 3000.0);
const ENGINE_SPEED: Span = within("rpm", 1000.0, 20_000.0);
const TOP_SPEED: Span = within("km/h", 60.0, 450.0);
const DRIVER: Span = within("kg", 30.0, 250.0);
const FUEL: Span = within("L", 0.0, 55.0);

/// Drag areas that cars have, m².
const DRAG_AREAS: std::ops::RangeInclusive<f64> = 0.3..=1.8;

/// What was typed: option and text.
pub type Typed = [(&'static str, String)];

impl Given {
    /// Reads what was typed.
    ///
    /// # Errors
    /// Every fault of it: what can't be, what is missing, what contradicts something else.
    pub fn read(typed: &Typed) -> Result<Self, AskError> {
        let mut reader = Reader { typed, errors: Vec::new() };
        let given = reader.all();
        match given {
            Some(given) if reader.errors.is_empty() => given.sound(typed).map_err(AskError::from).map(|()| given),
            _ => Err(AskError::Files(reader.errors)),
        }
    }

    /// A top speed that power and size of such a car allow.
    fn sound(&self, typed: &Typed) -> Result<(), FileErrors> {
        let Some(top) = self.top_speed else { return Ok(()) };
        let area = Class::of(*self).drag_area.value;
        if DRAG_AREAS.contains(&area) {
            return Ok(());
        }
        let kmh = |v: f64| format!("{:.0} km/h", 3.6 * v);
        let reach = Class::of(Given { top_speed: None, ..*self }).top_speed;
        let (power, area) = (kw(self.power.value), format!("{area:.2} m2"));
        let what =
            Clash::TopSpeed { reached: format!("{power} reach about {}", kmh(reach)), given: kmh(top.value), area };
        Err(clash("--top-speed", typed, what))
    }
}

/// Most torque and most power of one engine.
fn one_engine((power, power_at): (f64, f64), (torque, at): (f64, f64)) -> Result<(), Clash> {
    let rpm = |w: f64| format!("{:.0} rpm", w * 30.0 / std::f64::consts::PI);
    let newton_metres = |t: f64| format!("{t:.0} Nm");
    if at > 1.03 * power_at {
        return Err(Clash::TorqueTooHigh { speed: rpm(power_at) });
    }
    if torque * at > 1.03 * power {
        return Err(Clash::TorqueAbovePower { torque: newton_metres(torque), power: kw(torque * at), most: kw(power) });
    }
    let least = power / power_at;
    if torque < 0.98 * least {
        let (power, speed) = (kw(power), rpm(power_at));
        return Err(Clash::TorqueBelowPower { power, speed, due: newton_metres(least) });
    }
    Ok(())
}

fn kw(watt: f64) -> String {
    format!("{:.0} kW", watt / 1e3)
}

fn clash(option: &'static str, typed: &Typed, clash: Clash) -> FileErrors {
    let source = Source::new(option, text(typed, option).unwrap_or_default());
    FileErrors::one(Fault::Clash { key: option, clash }, &Place::new(&source, 0..source.text.len()))
}

fn text(typed: &Typed, option: &str) -> Option<String> {
    typed.iter().find(|(name, _)| *name == option).map(|(_, text)| text.clone())
}

struct Reader<'a> {
    typed: &'a Typed,
    errors: Vec<FileErrors>,
}

impl Reader<'_> {
    fn all(&mut self) -> Option<Given> {
        let mass = self.number("--mass", MASS, |x| 0.01 * x);
        let front_share = self.number("--front-share", SHARE, |_| 0.008);
        let wheelbase = self.number("--wheelbase", WHEELBASE, |_| 0.005);
        let height = self.number("--height", HEIGHT, |_| 0.010);
        let track = self.number("--track", TRACK, |_| 0.010);
        let power = self.at_speed("--power", POWER);
        let torque = self.at_speed("--torque", TORQUE);
        if let (Some((power, power_at)), Some((torque, at))) = (power, torque)
            && let Err(what) = one_engine((power.value, power_at), (torque.value, at))
        {
            self.errors.push(clash("--torque", self.typed, what));
        }
        let layout = self.word("--layout", LAYOUTS);
        let tyres = self.word("--tyres", TYRES);
        let top_speed = self.number("--top-speed", TOP_SPEED, |x| 0.02 * x);
        let driver = self.number("--driver", DRIVER, |_| 2.0);
        let fuel = self.number("--fuel", FUEL, |_| 0.002);
        for wish in WISHES.iter().filter(|wish| wish.due && text(self.typed, wish.option).is_none()) {
            let example = format!("{} {}", wish.option, wish.example);
            let what = Fault::KeyMissing { key: wish.option.into(), help: wish.what, example, because: None };
            self.errors.push(FileErrors { faults: vec![Located { what, place: None }], more: 0 });
        }
        let (power, power_at) = power?;
        Some(Given {
            mass: mass?,
            front_share,
            wheelbase: wheelbase?,
            height: height?,
            track,
            power,
            power_at,
            torque,
            layout: [Layout::Front, Layout::Rear, Layout::All][layout?],
            tyres: [Kind::Road, Kind::TrackDay, Kind::Slick][tyres?],
            top_speed,
            driver,
            fuel,
        })
    }

    fn keep<T>(&mut self, read: Result<T, FileErrors>) -> Option<T> {
        read.map_err(|errors| self.errors.push(errors)).ok()
    }

    fn number(&mut self, option: &'static str, span: Span, usual_sd: fn(f64) -> f64) -> Option<Measured> {
        let source = Source::new(option, text(self.typed, option)?);
        let whole = 0..source.text.len();
        let read = self.keep(argument::measured(&source, whole, span))?;
        Some(with_sd(read, usual_sd))
    }

    /// `96kW@6200rpm`.
    fn at_speed(&mut self, option: &'static str, span: Span) -> Option<(Measured, f64)> {
        let source = Source::new(option, text(self.typed, option)?);
        let Some(at) = source.text.find('@') else {
            let example = WISHES.iter().find(|wish| wish.option == option).map_or("", |wish| wish.example).to_owned();
            let wrong = Wrong::Type { found: "no engine speed", due: "a value at its engine speed", example };
            let place = Place::new(&source, 0..source.text.len());
            self.errors.push(FileErrors::one(Fault::Value { key: option.into(), wrong }, &place));
            return None;
        };
        let behind = at + 1;
        let read = |part: Range<usize>, span| argument::measured(&source, part, span);
        let (value, speed) = (read(0..at, span), read(behind..source.text.len(), ENGINE_SPEED));
        let (value, speed) = (self.keep(value), self.keep(speed));
        Some((with_sd(value?, |x| 0.03 * x), speed?.value))
    }

    fn word(&mut self, option: &'static str, words: &'static [&'static str]) -> Option<usize> {
        let source = Source::new(option, text(self.typed, option)?);
        self.keep(argument::word(&source, words))
    }
}

/// One that was typed without ± is not exact for that.
fn with_sd(read: Measured, usual: fn(f64) -> f64) -> Measured {
    if read.sd > 0.0 { read } else { about(read.value, usual(read.value)) }
}

impl Kind {
    /// As it is typed.
    pub fn word(self) -> &'static str {
        TYRES[self as usize]
    }
}
