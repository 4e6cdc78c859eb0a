//! `worth --csv`: where along each lap the seconds come from, one line a station.

use crate::lap::json::OutError;
use unladen_study::Worth;

const COLUMNS: [&str; 6] = ["track", "s_m", "s_per_kg", "s_per_mm_height", "s_per_mm_rearward", "s_per_mm_right"];

/// The cumulated derivatives of each track, and those of a kilogram at each place of the car.
pub fn along_csv(tracks: &[Worth]) -> Result<String, OutError> {
    let mut out = csv::Writer::from_writer(Vec::new());
    let mut head: Vec<String> = COLUMNS.map(String::from).to_vec();
    let places = tracks.first().map_or(&[][..], |worth| &worth.places);
    head.extend(places.iter().map(|place| format!("s_per_kg_{}", slug(&place.spot.name))));
    out.write_record(&head).map_err(OutError::Csv)?;
    for worth in tracks {
        let Some(along) = &worth.along else { continue };
        let own = [&along.s_per_kg, &along.s_per_mm_height, &along.s_per_mm_rearward, &along.s_per_mm_right];
        for (i, s_m) in along.s_m.iter().enumerate() {
            let numbers = own.into_iter().chain(&along.places).map(|curve| curve[i]);
            let mut record = vec![worth.track.clone(), s_m.to_string()];
            for (key, value) in head[2..].iter().zip(numbers) {
                if !value.is_finite() {
                    return Err(OutError::NotFinite { key: key.clone() });
                }
                record.push((value + 0.0).to_string());
            }
            out.write_record(&record).map_err(OutError::Csv)?;
        }
    }
    let bytes = out.into_inner().map_err(|e| OutError::Csv(e.into_error().into()))?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}

/// A name as a column's: `driver's seat` is `drivers_seat`.
fn slug(name: &str) -> String {
    let kept = name.to_lowercase().replace(['\'', ','], "");
    kept.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).collect::<Vec<_>>().join("_")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn closed_form_names_of_columns() {
        assert_eq!(slug("driver's seat"), "drivers_seat");
        assert_eq!(slug("front axle, at the hubs"), "front_axle_at_the_hubs");
        assert_eq!(along_csv(&[]).unwrap().lines().count(), 1);
    }
}
