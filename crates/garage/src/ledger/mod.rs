//! `ledger.csv`: the rows of a car's mass budget, in SI, each with its place in the file.

pub(crate) mod areas;
pub(crate) mod edit;
pub(crate) mod needed;
pub(crate) mod undo;
pub(crate) mod unlikely;

use std::collections::HashMap;

use unladen_vehicle::change::Change;
use unladen_vehicle::entry::{Entry, Origin, Scale, State};
use unladen_vehicle::mass::Part;

use crate::csv_file::cells::{Cells, Header, header};
use crate::csv_file::dialect::Sheet;
use crate::fault::Fault;
use crate::fault::finding::{Faults, FileErrors};
use crate::fault::ledger_fault::LedgerFault;
use crate::fault::source::Place;
use crate::keys::ledger::{LEDGER, index};
use crate::ledger::areas::Areas;
use crate::unit::date;
use crate::unit::near;

pub(crate) const STATES: &[&str] = &["done", "planned", "idea"];
const TURNS: &[&str] = &["wheels", "shaft", "engine"];
const ORIGINS: &[&str] = &["weighed", "quoted", "guessed"];

/// What a part with rotating inertia turns with.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Turns {
    /// The wheels: rims, discs, half-shafts.
    #[default]
    Wheels,
    /// The propshaft, faster than the wheels by the final drive.
    Shaft,
    /// The engine: flywheel, clutch.
    Engine,
}

/// A ledger, read.
#[derive(Clone, Debug)]
pub struct Ledger {
    /// The file as it stands.
    pub sheet: Sheet,
    pub(crate) header: Header,
    /// Its rows.
    pub entries: Vec<Entry>,
    /// The record of each row.
    pub(crate) records: Vec<usize>,
    /// Which positions of each row were filled in: from its area, or of a swap from its other position.
    pub filled_in: Vec<Option<FilledIn>>,
    /// What the rotating inertia of each row turns with.
    pub turns: Vec<Turns>,
    /// What of the things that a car must have one of each row takes out, puts in or swaps.
    pub one_of: Vec<Option<String>>,
    /// The car that says what this one is with each row done, as the file names it.
    pub becomes: Vec<Option<String>>,
    /// What it was read with.
    pub(crate) areas: Option<Areas>,
    pub(crate) scales: Option<Vec<Scale>>,
}

/// Where a position comes from that the row leaves empty.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FilledIn {
    /// Its area.
    Area,
    /// Of a swap, the part that was there before (or comes after).
    Other,
}

impl Ledger {
    /// The line of a row.
    pub fn line(&self, entry: usize) -> usize {
        self.place(entry).line()
    }

    /// Where a row stands.
    pub fn place(&self, entry: usize) -> Place {
        self.sheet.row(self.records[entry])
    }

    /// Where a row's field of this column stands, or the row.
    pub(crate) fn cell(&self, entry: usize, column: &str) -> Place {
        let cells = self.cells(entry);
        match cells.field(index(LEDGER, column)) {
            Some(field) if !self.sheet.value(field).is_empty() => self.sheet.place(field),
            _ => self.place(entry),
        }
    }

    pub(crate) fn cells(&self, entry: usize) -> Cells<'_> {
        Cells { sheet: &self.sheet, header: &self.header, columns: LEDGER, record: self.records[entry] }
    }

    /// Columns of the owner's own, which are left alone.
    pub fn own_columns(&self) -> &[String] {
        &self.header.own
    }
}

/// Reads a ledger. Without `areas` every position must be there; without `scales` any scale's name will do.
///
/// # Errors
/// Every fault of it.
pub fn parse_ledger(sheet: Sheet, areas: Option<&Areas>, scales: Option<&[Scale]>) -> Result<Ledger, FileErrors> {
    let mut faults = Faults::default();
    let Some(header) = header(&sheet, LEDGER, &mut faults) else {
        return Err(faults.result().err().unwrap_or_else(|| FileErrors::one(Fault::Unreadable, &sheet.row(0))));
    };
    let mut read: Vec<(usize, Entry, Option<FilledIn>, Turns)> = Vec::new();
    for cells in Cells::rows(&sheet, &header, LEDGER, &mut faults) {
        cells.names(&mut faults);
        let turns = cells.word(index(LEDGER, "turns_with"), TURNS, &mut faults);
        let turns = turns.map_or(Turns::default(), |i| [Turns::Wheels, Turns::Shaft, Turns::Engine][i]);
        if let Some((entry, filled)) = row(&cells, areas, scales, &mut faults) {
            read.push((cells.record, entry, filled, turns));
        }
    }
    let records: Vec<usize> = read.iter().map(|r| r.0).collect();
    let filled_in = read.iter().map(|r| r.2).collect();
    let turns = read.iter().map(|r| r.3).collect();
    let mut entries: Vec<Entry> = read.into_iter().map(|r| r.1).collect();
    let names: Vec<String> = entries.iter().map(|e| e.item.clone()).collect();
    let mut first: HashMap<String, usize> = HashMap::new();
    for (i, name) in names.iter().enumerate() {
        first.entry(name.to_ascii_lowercase()).or_insert(i);
    }
    for (i, record) in records.iter().enumerate() {
        let cells = Cells { sheet: &sheet, header: &header, columns: LEDGER, record: *record };
        let named = |column, faults: &mut Faults| others(&cells, column, i, (&names, &first), faults);
        entries[i].excludes = named("excludes", &mut faults).concat();
        entries[i].needs = named("needs", &mut faults);
    }
    let cells = |record: usize| Cells { sheet: &sheet, header: &header, columns: LEDGER, record };
    let word = |column| -> Vec<Option<String>> {
        records.iter().map(|&record| cells(record).text(index(LEDGER, column))).collect()
    };
    let (one_of, becomes) = (word("one_of"), word("becomes"));
    for row in needed::must_have(&mut entries, &one_of) {
        let (item, what) = (entries[row].item.clone(), one_of[row].clone().unwrap_or_default());
        cells(records[row]).fail(LedgerFault::OnlyOne { item, what }, index(LEDGER, "one_of"), &mut faults);
    }
    faults.result()?;
    let (areas, scales) = (areas.cloned(), scales.map(<[Scale]>::to_vec));
    Ok(Ledger { sheet, header, entries, records, filled_in, turns, one_of, becomes, areas, scales })
}

fn row(
    cells: &Cells,
    areas: Option<&Areas>,
    scales: Option<&[Scale]>,
    faults: &mut Faults,
) -> Option<(Entry, Option<FilledIn>)> {
    let at = |name: &str| index(LEDGER, name);
    let item = cells.due(at("item"), faults);
    let state = match cells.due(at("state"), faults) {
        Some(_) => cells.word(at("state"), STATES, faults),
        None => None,
    };
    let origin = match cells.text(at("source")) {
        None => Some(2),
        Some(_) => cells.word(at("source"), ORIGINS, faults),
    };
    let mut number = |name: &str| cells.number(at(name), faults);
    let masses = [number("mass_before_kg"), number("mass_after_kg")];
    let positions = ["before", "after"].map(|w| ["x", "y", "z"].map(|c| number(&format!("{c}_{w}_mm"))));
    let (sd, inertia) = (number("mass_sd_kg"), number("rotating_inertia_kgm2"));
    let (cost, hours) = (number("cost"), number("hours"));
    let day = day(cells, faults);
    let scale = scale(cells, scales, faults);
    let area = area(cells, areas, faults);
    // What is not there is said; of what is wrong nothing more is said.
    let (item, masses) = (item?, [masses[0].ok()?, masses[1].ok()?]);
    let positions = match positions {
        [[Ok(a), Ok(b), Ok(c)], [Ok(d), Ok(e), Ok(f)]] => [[a, b, c], [d, e, f]],
        _ => return None,
    };
    let (change, filled) = change(cells, &item, masses, positions, area, areas, faults)?;
    let entry = Entry {
        item,
        area: cells.text(at("area")),
        state: State::ALL[state?],
        change,
        origin: Origin::ALL[origin?],
        sd: sd.ok()?,
        scale: scale.ok()?,
        rotating_inertia: inertia.ok()?.unwrap_or(0.0),
        cost: cost.ok()?,
        hours: hours.ok()?,
        group: cells.text(at("group")),
        excludes: Vec::new(),
        needs: Vec::new(),
        day: day.ok()?,
        note: cells.text(at("note")).unwrap_or_default(),
    };
    Some((entry, filled))
}

fn day(cells: &Cells, faults: &mut Faults) -> Result<Option<i64>, ()> {
    let column = index(LEDGER, "date");
    let Some(given) = cells.text(column) else { return Ok(None) };
    let day = date::day(&given);
    if day.is_none() {
        cells.fail(LedgerFault::NotADate { given }, column, faults);
    }
    day.map(Some).ok_or(())
}

fn scale(cells: &Cells, scales: Option<&[Scale]>, faults: &mut Faults) -> Result<Option<String>, ()> {
    let column = index(LEDGER, "scale");
    let Some(given) = cells.text(column) else { return Ok(None) };
    let Some(scales) = scales else { return Ok(Some(given)) };
    match scales.iter().find(|s| s.name.eq_ignore_ascii_case(&given)) {
        Some(scale) => Ok(Some(scale.name.clone())),
        None => {
            let meant = near::nearest(&given, scales.iter().map(|s| s.name.as_str())).map(Into::into);
            let known = near::listed(scales.iter().map(|s| s.name.as_str()));
            cells.fail(LedgerFault::UnknownScale { given, meant, known }, column, faults);
            Err(())
        }
    }
}

/// The place of the row's area.
fn area(cells: &Cells, areas: Option<&Areas>, faults: &mut Faults) -> Option<[f64; 3]> {
    let column = index(LEDGER, "area");
    let (name, areas) = (cells.text(column)?, areas?);
    let area = areas.find(&name);
    if area.is_none() {
        let meant = areas.did_you_mean(&name);
        let known = near::listed(areas.0.iter().map(|area| area.name.as_str()));
        cells.fail(LedgerFault::UnknownArea { area: name, meant, known }, column, faults);
    }
    area.map(|a| a.at)
}

fn change(
    cells: &Cells,
    item: &str,
    masses: [Option<f64>; 2],
    positions: [[Option<f64>; 3]; 2],
    area: Option<[f64; 3]>,
    areas: Option<&Areas>,
    faults: &mut Faults,
) -> Option<(Change, Option<FilledIn>)> {
    const WHICH: [&str; 2] = ["before", "after"];
    let column = |i: usize| index(LEDGER, if i == 0 { "mass_before_kg" } else { "mass_after_kg" });
    let masses = masses.map(|m| m.filter(|m| *m > 0.0));
    if masses == [None, None] {
        cells.fail(LedgerFault::NoMass { item: item.into() }, index(LEDGER, "item"), faults);
        return None;
    }
    let mut sound = true;
    let whole = [0, 1].map(|i| match positions[i] {
        [Some(x), Some(y), Some(z)] => Some([x, y, z]),
        [None, None, None] => None,
        _ => {
            sound = false;
            let fault = LedgerFault::HalfAPosition { item: item.into(), which: WHICH[i] };
            cells.fail(fault, column(i), faults);
            None
        }
    });
    if !sound {
        return None;
    }
    let mut filled = None;
    let mut parts = [None, None];
    for i in 0..2 {
        let Some(m) = masses[i] else { continue };
        let (at, how) = match (whole[i], whole[1 - i].filter(|_| masses[1 - i].is_some()), area) {
            (Some(at), ..) => (at, None),
            (None, Some(other), _) => (other, Some(FilledIn::Other)),
            (None, None, Some(area)) => (area, Some(FilledIn::Area)),
            (None, None, None) => {
                let why = match (cells.text(index(LEDGER, "area")), areas) {
                    (None, _) => "no area either".to_owned(),
                    (Some(area), None) => format!("there is no areas.csv to place `{area}`"),
                    // Said where the area is.
                    (Some(_), Some(_)) => return None,
                };
                cells.fail(LedgerFault::NoPosition { item: item.into(), which: WHICH[i], why }, column(i), faults);
                return None;
            }
        };
        filled = filled.or(how);
        parts[i] = Some(Part::point(m, at[0], at[1], at[2]));
    }
    Some((Change { before: parts[0], after: parts[1] }, filled))
}

/// Rows named in `excludes` or `needs`: a whole name, or several between `|`, `;` or commas; each may be one of some,
/// `steel tank or tank of 60 L`.
fn others(
    cells: &Cells,
    column: &'static str,
    own: usize,
    (names, first): (&[String], &HashMap<String, usize>),
    faults: &mut Faults,
) -> Vec<Vec<usize>> {
    let at = index(LEDGER, column);
    let Some(text) = cells.text(at) else { return Vec::new() };
    let find = |name: &str| first.get(&name.trim().to_ascii_lowercase()).copied();
    if let Some(one) = find(&text).filter(|i| *i != own) {
        return vec![vec![one]];
    }
    let mut found = Vec::new();
    for term in text.split(['|', ';', ',']).map(str::trim).filter(|n| !n.is_empty()) {
        // A name may have an "or" in it.
        let one_of: Vec<&str> = if find(term).is_some() { vec![term] } else { term.split(" or ").collect() };
        let mut rows = Vec::new();
        for name in one_of.into_iter().map(str::trim) {
            match find(name) {
                Some(i) if i == own => {
                    let item = names[own].clone();
                    cells.fail(LedgerFault::Itself { column, item }, at, faults);
                }
                Some(i) => rows.push(i),
                None => {
                    let shown = || names.iter().filter(|_| !faults.is_full()).map(String::as_str);
                    let (meant, known) = (near::nearest(name, shown()).map(Into::into), near::listed(shown()));
                    cells.fail(LedgerFault::UnknownItem { column, given: name.into(), meant, known }, at, faults);
                }
            }
        }
        if !rows.is_empty() {
            found.push(rows);
        }
    }
    found
}
