//! `areas.csv`: parts of the car, each with a place for what nobody has measured.

use crate::csv_file::cells::{Cells, header};
use crate::csv_file::dialect::Sheet;
use crate::fault::Fault;
use crate::fault::finding::{Faults, FileErrors};
use crate::fault::ledger_fault::LedgerFault;
use crate::keys::ledger::{AREAS, index};
use crate::unit::near;

/// An area and its place: behind the front axle, right of the centre plane, above ground, m.
#[derive(Clone, Debug, PartialEq)]
pub struct Area {
    /// Its word.
    pub name: String,
    /// Its middle.
    pub at: [f64; 3],
}

/// Every area of a car.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Areas(pub Vec<Area>);

impl Areas {
    /// By its word, in any case.
    pub fn find(&self, name: &str) -> Option<&Area> {
        self.0.iter().find(|a| a.name.eq_ignore_ascii_case(name.trim()))
    }

    /// The word that a mistyped one most likely means.
    pub(crate) fn did_you_mean(&self, name: &str) -> Option<String> {
        near::nearest(name, self.0.iter().map(|a| a.name.as_str())).map(Into::into)
    }
}

/// Reads `areas.csv`.
///
/// # Errors
/// Every fault of it.
pub fn parse_areas(sheet: &Sheet) -> Result<Areas, FileErrors> {
    let mut faults = Faults::default();
    let mut areas = Areas::default();
    if let Some(header) = header(sheet, AREAS, &mut faults) {
        let name = index(AREAS, "area");
        for row in Cells::rows(sheet, &header, AREAS, &mut faults) {
            let word = row.due(name, &mut faults);
            let mut coordinate = |column: &str| {
                let column = index(AREAS, column);
                match row.number(column, &mut faults) {
                    Ok(None) => {
                        row.fail(LedgerFault::EmptyCell { column: AREAS[column].name }, column, &mut faults);
                        None
                    }
                    found => found.ok().flatten(),
                }
            };
            let at = [coordinate("x_mm"), coordinate("y_mm"), coordinate("z_mm")];
            let (Some(word), [Some(x), Some(y), Some(z)]) = (word, at) else { continue };
            if areas.find(&word).is_some() {
                row.fail(LedgerFault::AreaTwice { area: word }, name, &mut faults);
            } else {
                areas.0.push(Area { name: word, at: [x, y, z] });
            }
        }
        if areas.0.is_empty() && faults.is_empty() {
            faults.push(Fault::Ledger(LedgerFault::NoRows), &sheet.row(header.record));
        }
    }
    faults.result().map(|()| areas)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> Result<Areas, String> {
        parse_areas(&Sheet::parse("areas.csv", text.as_bytes()).unwrap()).map_err(|e| e.to_string())
    }

    #[test]
    fn closed_form_places_in_metres() {
        let areas = read("area;x_mm;y_mm;z_mm;mine\nBoot;3000;-12,5;600;x\n").unwrap();
        assert_eq!(areas.find(" boot").unwrap().at, [3.0, -0.0125, 0.6]);
    }

    #[test]
    fn bad_input_areas() {
        for (text, message) in [
            ("area,x_mm,y_mm\nboot,1,2\n", "areas.csv:1:1: column `z_mm` is missing"),
            ("area,x_mm,y_mm,z_mm\nboot,1,2,\n", "areas.csv:2:1: z_mm is empty"),
            ("area,x_mm,y_mm,z_mm\nboot,1,2,3\nBoot,1,2,3\n", "areas.csv:3:1: area `Boot` twice"),
            ("area,x_mm,y_mm,z_mm\n,1,2,3\n", "areas.csv:2:1: area is empty"),
            ("area,x_mm,y_mm,z_mm\nboot,1,2,9e9\n", "areas.csv:2:10: z_mm: 9e9 is outside -100 … 5000 mm"),
            ("area,x_mm,y_mm,z_mm\n# none\n", "areas.csv:1:1: no rows"),
        ] {
            assert_eq!(read(text), Err(message.into()), "{text}");
        }
    }
}
