//! Finds the usual mistakes in a mass budget.

use std::collections::{BTreeSet, HashMap};

use unladen_vehicle::entry::{Entry, Origin, State};
use unladen_vehicle::mass::Part;

use crate::fault::caution::Caution;
use crate::fault::finding::{Located, Warning};
use crate::fault::slip::Slip;
use crate::ledger::Ledger;
use crate::unit::LB;

/// Words of a note that say that a mass was read and not weighed.
const READ: &[&str] =
    &["advert", "brochure", "catalogue", "catalog", "claimed", "forum", "quoted", "seller", "spec", "website"];
/// How far a car reaches beyond its axles and wheels, and how high, m: wide enough for any road car.
const BEYOND: (f64, f64, f64) = (1.3, 0.35, 2.0);
/// Few parts of a car weigh this share of it, and those have one of these names.
const LARGE: f64 = 0.12;
const LARGE_ONES: &[&str] = &[
    "axle",
    "body",
    "cage",
    "differential",
    "driveline",
    "drivetrain",
    "driver",
    "engine",
    "fuel",
    "gearbox",
    "motor",
    "powertrain",
    "shell",
    "subframe",
    "transmission",
];
/// And none weighs this share of it.
const LARGEST: f64 = 0.3;

/// What the car's own size says of positions and masses.
#[derive(Clone, Copy, Debug)]
pub struct Size {
    /// m.
    pub wheelbase: f64,
    /// The wider track, m.
    pub track: f64,
    /// kg.
    pub mass: f64,
}

/// Every likely mistake of a ledger, in the order of its rows; of each kind at most ten a row.
pub fn unlikely(ledger: &Ledger, size: Size) -> Vec<Warning> {
    let mut found = Vec::new();
    let (rows, known) = (Rows::of(&ledger.entries), Known::of(&ledger.entries));
    for (i, entry) in ledger.entries.iter().enumerate() {
        let mut say = |column: &str, slip: Slip| {
            found.push(Located::at(Caution::Slip(slip), &ledger.cell(i, column)));
        };
        alone(entry, size, known.scales, &mut say);
        let mut told = Vec::new();
        for j in rows.beside(i) {
            if let Some(slip) = pair(&rows, i, j, ledger)
                && told.iter().filter(|kind| **kind == std::mem::discriminant(&slip)).count() < SAME
            {
                told.push(std::mem::discriminant(&slip));
                say("item", slip);
            }
        }
        together(ledger, i, &known, &mut say);
    }
    found
}

/// What is asked of the whole ledger for each row.
struct Known<'a> {
    /// Some row names the scale that it was weighed on.
    scales: bool,
    /// Groups of which a row is done.
    begun: BTreeSet<&'a str>,
}

impl<'a> Known<'a> {
    fn of(entries: &'a [Entry]) -> Self {
        let done = entries.iter().filter(|e| e.state == State::Done);
        Self {
            scales: entries.iter().any(|e| e.origin == Origin::Weighed && e.scale.is_some()),
            begun: done.filter_map(|e| e.group.as_deref()).collect(),
        }
    }
}

/// Rows with the words of their names, found again by these.
struct Rows<'a> {
    entries: &'a [Entry],
    words: Vec<BTreeSet<String>>,
    /// Without the words that say which side.
    sides: Vec<BTreeSet<String>>,
    /// Rows of the same words but for the side.
    alike: HashMap<BTreeSet<String>, Vec<usize>>,
    /// Rows by the rarest word of their names: one whose words are all another's too is found by a word of that.
    rarest: HashMap<String, Vec<usize>>,
    /// Rows that exclude this one.
    excluded_by: Vec<Vec<usize>>,
}

/// A row is said to clash so often in one way, and no more.
const SAME: usize = 10;
/// Of rows that are named alike a row is held against so many.
const BESIDE: usize = 100;

impl<'a> Rows<'a> {
    fn of(entries: &'a [Entry]) -> Self {
        let words: Vec<_> = entries.iter().map(|e| words(&e.item)).collect();
        let side = |w: &&String| !["left", "right", "front", "rear"].contains(&w.as_str());
        let sides: Vec<BTreeSet<String>> = words.iter().map(|w| w.iter().filter(side).cloned().collect()).collect();
        let mut count: HashMap<&str, usize> = HashMap::new();
        words.iter().flatten().for_each(|w| *count.entry(w).or_default() += 1);
        let (mut alike, mut rarest): (HashMap<_, Vec<usize>>, HashMap<_, Vec<usize>>) = Default::default();
        let mut excluded_by = vec![Vec::new(); entries.len()];
        for (i, entry) in entries.iter().enumerate() {
            alike.entry(sides[i].clone()).or_default().push(i);
            if let Some(word) = words[i].iter().min_by_key(|w| count[w.as_str()]) {
                rarest.entry(word.clone()).or_default().push(i);
            }
            entry.excludes.iter().for_each(|j| excluded_by[*j].push(i));
        }
        Self { entries, words, sides, alike, rarest, excluded_by }
    }

    /// Rows that may have to do with this one, in their order.
    fn beside(&self, i: usize) -> BTreeSet<usize> {
        let few = |all: &[usize]| all.iter().copied().take(BESIDE).collect::<Vec<_>>();
        let mut all: BTreeSet<usize> = self.entries[i].excludes.iter().chain(&self.excluded_by[i]).copied().collect();
        all.extend(self.alike.get(&self.sides[i]).map(|a| few(a)).unwrap_or_default());
        all.extend(self.words[i].iter().filter_map(|w| self.rarest.get(w)).flat_map(|a| few(a)));
        all
    }
}

fn alone(entry: &Entry, size: Size, others: bool, say: &mut impl FnMut(&str, Slip)) {
    let item = entry.item.clone();
    let (before, after) = (entry.change.before, entry.change.after);
    if let (Some(b), Some(a)) = (before, after)
        && a.m > b.m
        && entry.note.is_empty()
    {
        say("mass_after_kg", Slip::Heavier { item: item.clone(), before_kg: b.m, after_kg: a.m });
    }
    for (which, part) in [("before", before), ("after", after)] {
        let Some(part) = part else { continue };
        if let Some((axis, m)) = outside(&part, size) {
            let column = format!("{axis}_{which}_mm");
            say(&column, Slip::Outside { item: item.clone(), which, axis, mm: m * 1e3 });
        }
        let column = format!("mass_{which}_kg");
        let words = words(&format!("{} {}", entry.item, entry.note));
        let large = words.iter().any(|w| LARGE_ONES.contains(&w.as_str()));
        if part.m > if large { LARGEST } else { LARGE } * size.mass {
            say(&column, Slip::Grams { item: item.clone(), kg: part.m });
        }
        if let Some(word) = words.iter().find(|w| ["lb", "lbs", "pounds"].contains(&w.as_str())) {
            say(&column, Slip::Pounds { item: item.clone(), kg: part.m, why: format!("the row says `{word}`") });
        }
    }
    if entry.origin == Origin::Weighed {
        let note = words(&entry.note);
        let read = READ.iter().find(|w| note.contains(**w));
        let why = match (read, &entry.scale) {
            (Some(word), _) => Some(format!("its note says `{word}`")),
            (None, None) if others => Some("no scale is named, as other rows do".into()),
            _ => None,
        };
        if let Some(why) = why {
            say("source", Slip::QuotedAsWeighed { item, why });
        }
    }
}

pub(crate) fn outside(part: &Part, size: Size) -> Option<(char, f64)> {
    let (along, across, high) = BEYOND;
    if !(-along..=size.wheelbase + along).contains(&part.x) {
        return Some(('x', part.x));
    }
    if part.y.abs() > 0.5 * size.track + across {
        return Some(('y', part.y));
    }
    (!(0.0..=high).contains(&part.z)).then_some(('z', part.z))
}

/// What two rows say of each other, told at the later one.
fn pair(rows: &Rows, i: usize, j: usize, ledger: &Ledger) -> Option<Slip> {
    let (entry, other) = (&rows.entries[i], &rows.entries[j]);
    let line = || ledger.line(j);
    let exclusive = entry.excludes.contains(&j) || other.excludes.contains(&i);
    if exclusive {
        let both = j < i && entry.state == State::Done && other.state == State::Done;
        return both.then(|| Slip::BothDone { item: entry.item.clone(), with: other.item.clone(), other: line() });
    }
    let (off, before) = (entry.change.before?, other.change.before?);
    let removed = |e: &Entry| e.change.after.is_none();
    let (mine, its) = (&rows.words[i], &rows.words[j]);
    if j < i && mine == its && removed(entry) == removed(other) {
        return Some(Slip::RemovedTwice { item: entry.item.clone(), other: line() });
    }
    // The same part on the other side, 2.2 or 1000 times as heavy.
    if i != j && !rows.sides[i].is_empty() && rows.sides[i] == rows.sides[j] {
        let ratio = off.m / before.m;
        let why = || format!("{} in line {} is {} kg", other.item, line(), before.m);
        if (ratio * LB - 1.0).abs() < 0.012 {
            return Some(Slip::Pounds { item: entry.item.clone(), kg: off.m, why: why() });
        }
        if (ratio / 1000.0 - 1.0).abs() < 0.05 {
            return Some(Slip::Grams { item: entry.item.clone(), kg: off.m });
        }
    }
    let meant = ((off.x - before.x).powi(2) + (off.y - before.y).powi(2) + (off.z - before.z).powi(2)).sqrt() < 0.4;
    let part = its.is_subset(mine) && its.len() < mine.len() && off.m < before.m;
    let told = entry.group.is_some() && entry.group == other.group || !entry.note.is_empty();
    (part && meant && removed(entry) && removed(other) && !told).then(|| Slip::PartOfAssembly {
        part: entry.item.clone(),
        whole: other.item.clone(),
        other: line(),
    })
}

fn together(ledger: &Ledger, i: usize, known: &Known, say: &mut impl FnMut(&str, Slip)) {
    let entry = &ledger.entries[i];
    if entry.state == State::Done {
        let undone = |need: &&Vec<usize>| !need.iter().any(|&j| ledger.entries[j].state == State::Done);
        for need in entry.needs.iter().filter(undone) {
            let names: Vec<&str> = need.iter().map(|&j| ledger.entries[j].item.as_str()).collect();
            let (with, other) = (names.join(" or "), need.first().map_or(0, |&j| ledger.line(j)));
            say("needs", Slip::NeedsUndone { item: entry.item.clone(), with, other });
        }
    } else if let Some(group) = &entry.group
        && known.begun.contains(group.as_str())
    {
        say("group", Slip::HalfAGroup { group: group.clone(), item: entry.item.clone() });
    }
}

/// The words of a name, in small letters.
fn words(text: &str) -> BTreeSet<String> {
    let lower = text.to_lowercase();
    lower.split(|c: char| !c.is_alphanumeric()).filter(|w| !w.is_empty()).map(Into::into).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::csv_file::dialect::Sheet;
    use crate::ledger::parse_ledger;

    const HEAD: &str = "item,state,mass_before_kg,x_before_mm,y_before_mm,z_before_mm,mass_after_kg,x_after_mm,y_after_mm,\
                        z_after_mm,source,scale,group,excludes,needs,note\n";
    const SIZE: Size = Size { wheelbase: 2.57, track: 1.505, mass: 1284.0 };

    fn found(rows: &str) -> Vec<(usize, String)> {
        let sheet = Sheet::parse("l.csv", format!("{HEAD}{rows}").as_bytes()).unwrap();
        let ledger = parse_ledger(sheet, None, None).unwrap();
        unlikely(&ledger, SIZE).iter().map(|w| (w.place.as_ref().unwrap().line(), w.what.to_string())).collect()
    }

    /// (rows, line, message).
    #[test]
    fn bad_input_the_usual_mistakes_are_found_and_named() {
        for (rows, line, message) in [
            (
                "rear seat,done,9,1900,0,500,,,,,weighed,b,,,,\nRear Seat,done,9,1900,0,500,,,,,weighed,b,,,,\n",
                3,
                "Rear Seat comes off twice, here and in line 2",
            ),
            (
                "seat right,done,16,1300,350,450,,,,,weighed,b,,,,\nseat right runners,done,3,1300,350,350,,,,,weighed,b,,,,\n",
                3,
                "seat right runners may be counted in seat right of line 2 already",
            ),
            (
                "battery,done,9,300,400,700,14,300,400,700,weighed,b,,,,\n",
                2,
                "battery gets heavier, 9 to 14 kg, without a note why",
            ),
            (
                "tank A,done,,,,,6,2700,0,400,quoted,,,tank B,,\ntank B,done,,,,,8,2700,0,400,quoted,,,,,\n",
                3,
                "tank B and tank A exclude each other, and both are done (line 2)",
            ),
            ("spare wheel,done,15,39500,0,500,,,,,guessed,,,,,\n", 0, ""),
            (
                "spare wheel,done,15,4000,0,500,,,,,guessed,,,,,\n",
                2,
                "spare wheel before, at x 4000 mm, is outside the car",
            ),
            ("mirror,done,1,900,1200,900,,,,,guessed,,,,,\n", 2, "mirror before, at y 1200 mm, is outside the car"),
            (
                "wing,planned,,,,,4,3200,0,1200,weighed,b,,,,seller says 4\n",
                2,
                "wing counts as weighed, but its note says `seller`",
            ),
            (
                "hood,done,9,0,0,900,,,,,weighed,bench,,,,\nlid,done,7,3000,0,900,,,,,weighed,,,,,\n",
                3,
                "lid counts as weighed, but no scale is named, as other rows do",
            ),
            ("carpet,done,4200,1300,0,300,,,,,guessed,,,,,\n", 2, "carpet: 4200 kg; typed in grams?"),
            ("horn,done,350,0,0,400,,,,,guessed,,,,,\n", 2, "horn: 350 kg; typed in grams?"),
            (
                "door left,done,18.4,900,-700,600,,,,,guessed,,,,,\ndoor right,done,40.6,900,700,600,,,,,guessed,,,,,\n",
                3,
                "door right: 40.6 kg; typed in pounds? (door left in line 2 is 18.4 kg)",
            ),
            (
                "heater,done,12,400,0,600,,,,,guessed,,,,,12 lb\n",
                2,
                "heater: 12 kg; typed in pounds? (the row says `lb`)",
            ),
            (
                "shaft,done,8,1300,0,300,,,,,guessed,,,,diff,\ndiff,planned,30,0,0,300,,,,,guessed,,,,,\n",
                2,
                "shaft is done, but needs diff of line 3, which is not",
            ),
            (
                "a,done,8,1300,0,300,,,,,guessed,,conv,,,\nb,planned,30,0,0,300,,,,,guessed,,conv,,,\n",
                3,
                "group `conv` is done in part: b is not",
            ),
        ] {
            if line == 0 {
                // Beyond what a column can hold is a fault, not a slip.
                let sheet = Sheet::parse("l.csv", format!("{HEAD}{rows}").as_bytes()).unwrap();
                assert!(parse_ledger(sheet, None, None).is_err());
                continue;
            }
            assert_eq!(found(rows), [(line, message.to_owned())], "{rows}");
        }
    }

    #[test]
    fn property_a_sound_ledger_has_none() {
        let rows = "seat right,done,16,1300,350,450,7,1300,350,430,weighed,b,,,,\n\
                    seat left,done,15.8,1300,-350,450,,,,,weighed,b,,,,\n\
                    tank A,done,,,,,6,2700,0,400,quoted,,,tank B,,\ntank B,planned,,,,,8,2700,0,400,quoted,,,,,\n\
                    cage,planned,,,,,38,1500,0,800,quoted,,,,,by the rules\n\
                    engine with gearbox,planned,232,0,0,500,171,0,0,480,quoted,,,,,\n";
        assert_eq!(found(rows), []);
    }
}
