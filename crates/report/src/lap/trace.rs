//! Reading a lap's trace: time at a distance, shares of the limits, sectors. Arithmetic on rows; no physics.

use unladen_lap::{Limit, Row};

use crate::lap::place::Place;

/// A solved lap as the pictures and tables take it.
#[derive(Clone, Copy, Debug)]
pub struct LapTrace<'a> {
    /// What it is called beside its curve: a car, or a change.
    pub name: &'a str,
    /// One a station, in driving order; the last may stand at the end of the lap or before it.
    pub rows: &'a [Row],
    /// The track's length, m in plan.
    pub length_m: f64,
    /// Lap time, s.
    pub lap_time_s: f64,
    /// Its numerical error, s.
    pub lap_time_error_s: f64,
}

/// A named place driven through.
#[derive(Clone, Debug, PartialEq)]
pub struct Sector {
    /// The place.
    pub place: String,
    /// Where it starts, m in plan.
    pub start_m: f64,
    /// Its length, m in plan.
    pub length_m: f64,
    /// Time in it, s.
    pub time_s: f64,
    /// Lowest and highest speed in it, m/s.
    pub speeds_mps: [f64; 2],
    /// The limit that rules longest there; none where no row lies in it.
    pub limit: Option<Limit>,
}

impl LapTrace<'_> {
    /// Time at distance `s` since the start, linear between stations.
    pub fn time_at(&self, s: f64) -> f64 {
        self.between(s, self.lap_time_s, |r| r.t)
    }

    /// Speed at distance `s`, m/s: v² linear between stations, as under a steady force.
    pub fn speed_at(&self, s: f64) -> f64 {
        let square = |r: &Row| r.v * r.v;
        self.between(s, self.rows.last().map_or(0.0, square), square).max(0.0).sqrt()
    }

    /// The rows at `from..=to` m.
    pub fn rows_in(&self, from: f64, to: f64) -> &[Row] {
        let (a, b) = (self.rows.partition_point(|r| r.s < from), self.rows.partition_point(|r| r.s <= to));
        &self.rows[a..b.max(a)]
    }

    /// The slowest row in a place.
    pub fn slowest_in(&self, place: &Place) -> Option<&Row> {
        let pieces = place.pieces(self.length_m);
        let rows = pieces.into_iter().flat_map(|(from, to)| self.rows_in(from, to));
        rows.min_by(|a, b| a.v.total_cmp(&b.v))
    }

    fn between(&self, s: f64, at_end: f64, of: impl Fn(&Row) -> f64) -> f64 {
        let after = self.rows.partition_point(|r| r.s <= s);
        let Some(before) = after.checked_sub(1).map(|i| &self.rows[i]) else {
            return self.rows.first().map_or(0.0, of);
        };
        let (s1, y1) = self.rows.get(after).map_or((self.length_m, at_end), |r| (r.s, of(r)));
        if s1 <= before.s {
            return of(before);
        }
        let w = ((s - before.s) / (s1 - before.s)).clamp(0.0, 1.0);
        of(before) + w * (y1 - of(before))
    }

    /// Share of the lap time that each limit rules, in the order of [`Limit::ALL`].
    pub fn shares(&self) -> [f64; Limit::ALL.len()] {
        let mut time = [0.0; Limit::ALL.len()];
        for (i, row) in self.rows.iter().enumerate() {
            let until = self.rows.get(i + 1).map_or(self.lap_time_s, |r| r.t);
            time[index(row.limit)] += (until - row.t).max(0.0);
        }
        let total: f64 = time.iter().sum();
        if total > 0.0 { time.map(|t| t / total) } else { time }
    }

    /// The limits that rule somewhere, with their shares, largest first.
    pub fn ruling(&self) -> Vec<(Limit, f64)> {
        let mut out: Vec<_> = Limit::ALL.into_iter().zip(self.shares()).filter(|(_, share)| *share > 0.0).collect();
        out.sort_by(|a, b| b.1.total_cmp(&a.1));
        out
    }

    /// Stretches `from..to` in m over which `limit` rules.
    pub fn stretches(&self, limit: Limit) -> Vec<(f64, f64)> {
        let mut out: Vec<(f64, f64)> = Vec::new();
        for (i, row) in self.rows.iter().enumerate().filter(|(_, r)| r.limit == limit) {
            let until = self.rows.get(i + 1).map_or(self.length_m, |r| r.s);
            match out.last_mut() {
                Some(last) if last.1 == row.s => last.1 = until,
                _ => out.push((row.s, until)),
            }
        }
        out.retain(|(from, to)| to > from);
        out
    }

    /// Time through each place, s.
    pub fn sectors(&self, places: &[Place]) -> Vec<Sector> {
        let through = |p: &Place| {
            let pieces = p.pieces(self.length_m);
            let time_s = pieces.iter().map(|(from, to)| self.time_at(*to) - self.time_at(*from)).sum();
            let ends = pieces.iter().flat_map(|&(from, to)| [self.speed_at(from), self.speed_at(to)]);
            let inside = pieces.iter().flat_map(|&(from, to)| self.rows_in(from, to)).map(|r| r.v);
            let speeds = ends.chain(inside).fold([f64::INFINITY, 0.0f64], |[l, h], v| [l.min(v), h.max(v)]);
            let (place, limit) = (p.name.clone(), self.longest_in(&pieces));
            Sector { place, start_m: p.start_m, length_m: p.length_m, time_s, speeds_mps: speeds, limit }
        };
        places.iter().map(through).collect()
    }

    /// The limit that rules longest over these stretches.
    fn longest_in(&self, pieces: &[(f64, f64)]) -> Option<Limit> {
        let mut time = [0.0; Limit::ALL.len()];
        for (i, row) in self.rows.iter().enumerate() {
            let (until, t) = self.rows.get(i + 1).map_or((self.length_m, self.lap_time_s), |r| (r.s, r.t));
            let over = |&(from, to): &(f64, f64)| (until.min(to) - row.s.max(from)).max(0.0);
            let share = pieces.iter().map(over).sum::<f64>() / (until - row.s).max(f64::MIN_POSITIVE);
            time[index(row.limit)] += share.min(1.0) * (t - row.t).max(0.0);
        }
        let most = Limit::ALL.into_iter().zip(time).max_by(|a, b| a.1.total_cmp(&b.1));
        most.filter(|(_, t)| *t > 0.0).map(|(limit, _)| limit)
    }

    /// Highest and lowest speed, m/s.
    pub fn extremes(&self) -> (f64, f64) {
        let top = self.rows.iter().map(|r| r.v).fold(f64::NEG_INFINITY, f64::max);
        (top, self.rows.iter().map(|r| r.v).fold(f64::INFINITY, f64::min))
    }
}

/// The place of a limit in [`Limit::ALL`].
fn index(limit: Limit) -> usize {
    Limit::ALL.iter().position(|l| *l == limit).unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn row(s: f64, t: f64, v: f64, limit: Limit) -> Row {
        Row { s, t, v, a_x: 0.0, a_y: 0.0, gear: 1, limit, load: [0.0; 4] }
    }

    const ROWS: [(f64, f64, f64, Limit); 4] = [
        (0.0, 0.0, 10.0, Limit::Power),
        (100.0, 5.0, 30.0, Limit::Braking),
        (150.0, 7.0, 20.0, Limit::FrontGrip),
        (180.0, 9.0, 10.0, Limit::Power),
    ];

    fn with(rows: &[Row], test: impl Fn(&LapTrace)) {
        let mut closed = rows.to_vec();
        closed.push(row(200.0, 10.0, 10.0, Limit::Power));
        for rows in [rows, &closed] {
            test(&LapTrace { name: "a", rows, length_m: 200.0, lap_time_s: 10.0, lap_time_error_s: 0.0 });
        }
    }

    #[test]
    fn closed_form_times_shares_and_sectors_with_and_without_a_last_row() {
        let rows = ROWS.map(|(s, t, v, l)| row(s, t, v, l));
        with(&rows, |lap| {
            assert_eq!(
                (lap.time_at(-1.0), lap.time_at(50.0), lap.time_at(190.0), lap.time_at(500.0)),
                (0.0, 2.5, 9.5, 10.0)
            );
            assert!((lap.speed_at(125.0) - 650f64.sqrt()).abs() < 1e-12);
            assert_eq!(lap.extremes(), (30.0, 10.0));
            assert_eq!(lap.rows_in(100.0, 150.0).len(), 2);
            let bend = Place { name: "Bend".into(), start_m: 90.0, length_m: 70.0, turning_rad: 1.0 };
            assert_eq!(lap.slowest_in(&bend).map(|r| r.s), Some(150.0));
            let shares = lap.shares();
            assert!((shares.iter().sum::<f64>() - 1.0).abs() < 1e-12);
            assert_eq!(lap.ruling()[0], (Limit::Power, 0.6));
            assert_eq!(lap.stretches(Limit::Power), [(0.0, 100.0), (180.0, 200.0)]);
            let main = Place { name: "Main".into(), start_m: 180.0, length_m: 70.0, turning_rad: 0.0 };
            assert_eq!(lap.sectors(&[main])[0].time_s, 1.0 + 2.5);
        });
    }

    #[test]
    fn bad_input_no_rows_or_two_at_one_place() {
        let lap = LapTrace { name: "a", rows: &[], length_m: 1.0, lap_time_s: 1.0, lap_time_error_s: 0.0 };
        assert_eq!((lap.time_at(0.5), lap.shares().iter().sum::<f64>(), lap.ruling().len()), (0.0, 0.0, 0));
        let rows =
            [row(0.0, 0.0, 1.0, Limit::Power), row(1.0, 1.0, 2.0, Limit::Power), row(1.0, 1.0, 3.0, Limit::Shift)];
        let lap = LapTrace { rows: &rows, length_m: 2.0, lap_time_s: 2.0, ..lap };
        assert_eq!(lap.stretches(Limit::Power), [(0.0, 1.0)]);
        assert!(lap.time_at(1.0).is_finite());
    }
}
