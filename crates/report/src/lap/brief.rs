//! A lap with the answer first: its time, and place by place what rules there and what weight and its place cost.

use unladen_lap::Limit;
use unladen_questions::advised;
use unladen_questions::lap::Answer;

use crate::draw::look::limit_name;
use crate::lap::answer::summary;
use crate::lap::json::SectorOut;
use crate::lap::text::ruling;
use crate::words::brief::{Brief, Verdict};
use crate::words::number::{distance, fixed, kmh};
use crate::words::state;
use crate::words::sure::unknown::shared;
use crate::words::table::{Align, Table, printable};
use crate::words::verdict::of_lap;

/// The order of the places.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Order {
    /// As they are driven through.
    #[default]
    Road,
    /// Where 10 kg cost most first.
    Worth,
}

/// Places that are shown; of more, those where 10 kg cost most.
const SHOWN: usize = 24;

/// The text.
pub fn lap_brief(v: &Answer, order: Order) -> String {
    let lap = summary(v);
    let about = format!(
        "{} over {}, {} to {} km/h. {}",
        v.name,
        distance(lap.length_m),
        fixed(kmh(lap.min_speed_mps), 0),
        fixed(kmh(lap.top_speed_mps), 0),
        state::state(&v.state)
    );
    let dearest = (order == Order::Worth).then(|| dearest(&lap.sectors)).flatten();
    let mut brief = Brief::new(&of_lap(v), "");
    if let Some(words) = &dearest {
        brief = brief.also(&Verdict::words(words));
    }
    brief = brief.note(&printable(&about));
    if !lap.sectors.is_empty() {
        let (table, left) = by_place(&lap.sectors, order);
        let mut note = "ms longer there: by 10 kg more, by the centre of gravity 10 mm up, 10 mm back.".to_owned();
        if left > 0 {
            note += &format!(" {left} more places, where 10 kg cost less, by --detail.");
        }
        brief = brief.table(&table).note(&note);
    }
    let shares = v.range.iter().flat_map(|r| &r.hangs_on).map(|(key, share)| (key.as_str(), *share));
    brief = brief.fact("ruled by", ruling(&lap.limits.0)).perhaps("hangs on", shared(shares));
    for caveat in &v.caveats {
        brief = brief.fact("warning", printable(&advised(caveat)));
    }
    brief.of_laps().text()
}

/// Where ten kilograms cost most, and ten millimetres of height.
fn dearest(sectors: &[SectorOut]) -> Option<String> {
    let most = |of: fn(&SectorOut) -> f64| sectors.iter().max_by(|a, b| of(a).total_cmp(&of(b)));
    let (mass, height) = (most(|s| s.s_per_kg)?, most(|s| s.s_per_mm_height)?);
    let ms = |s: f64| fixed(1e4 * s, 1);
    let all: f64 = sectors.iter().map(|s| s.s_per_kg).sum();
    let (own, up) = (ms(mass.s_per_kg), ms(height.s_per_mm_height));
    let at = if mass.place == height.place { "there too".into() } else { format!("at {}", height.place) };
    Some(format!("10 kg cost most at {}, {own} ms of {}; 10 mm of height {at}, {up} ms", mass.place, ms(all)))
}

/// Thousandths of a second longer, in words where it is shorter.
fn longer(s: f64) -> String {
    let ms = 1e3 * s;
    let text = fixed(ms.abs(), 1);
    if ms < 0.0 && text != "0.0" { format!("{text} less") } else { text }
}

fn by_place(sectors: &[SectorOut], order: Order) -> (Table, usize) {
    let mut table = Table::new(&[
        ("place", Align::Left),
        ("s", Align::Point),
        ("km/h", Align::Left),
        ("ruled by", Align::Left),
        ("10 kg", Align::Point),
        ("10 mm up", Align::Point),
        ("10 mm back", Align::Point),
    ]);
    let mut chosen: Vec<(usize, &SectorOut)> = sectors.iter().enumerate().collect();
    chosen.sort_by(|a, b| b.1.s_per_kg.total_cmp(&a.1.s_per_kg));
    let left = chosen.len().saturating_sub(SHOWN);
    chosen.truncate(SHOWN);
    if order == Order::Road {
        chosen.sort_by_key(|(i, _)| *i);
    }
    for (_, s) in chosen {
        let limit = Limit::ALL.into_iter().find(|l| Some(l.key()) == s.limit).map_or("", limit_name);
        table.row(&[
            s.place.clone(),
            fixed(s.time_s, 2),
            format!("{}–{}", fixed(kmh(s.min_speed_mps), 0), fixed(kmh(s.top_speed_mps), 0)),
            limit.to_owned(),
            longer(10.0 * s.s_per_kg),
            longer(10.0 * s.s_per_mm_height),
            longer(10.0 * s.s_per_mm_rearward),
        ]);
    }
    (table, left)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sector(place: &str, s_per_kg: f64) -> SectorOut {
        SectorOut {
            place: place.into(),
            s_m: 0.0,
            length_m: 80.0,
            time_s: 3.456,
            min_speed_mps: 20.0,
            top_speed_mps: 30.0,
            limit: Some("front_grip"),
            s_per_kg,
            s_per_mm_height: 1e-4,
            s_per_mm_rearward: -2e-4,
        }
    }

    #[test]
    fn closed_form_places_by_road_and_by_worth() {
        let sectors = [sector("Windsock", 1e-4), sector("Tower", 3e-4)];
        let text = |order| by_place(&sectors, order).0.text(0);
        let want = "\
place     s     km/h    ruled by    10 kg  10 mm up  10 mm back
Windsock  3.46  72–108  front grip  1.0    1.0       2.0 less
Tower     3.46  72–108  front grip  3.0    1.0       2.0 less
";
        assert_eq!(text(Order::Road), want);
        assert!(text(Order::Worth).find("Tower") < text(Order::Worth).find("Windsock"));
        let many: Vec<SectorOut> = (0..40).map(|i| sector(&format!("p{i}"), f64::from(i))).collect();
        let (table, left) = by_place(&many, Order::Road);
        assert_eq!((table.text(0).lines().count(), left), (SHOWN + 1, 16));
        assert!(table.text(0).contains("p39") && !table.text(0).contains("p0 "));
    }
}
