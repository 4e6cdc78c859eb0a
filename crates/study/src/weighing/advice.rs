//! Which reading to improve: the same weighing, one thing better, and how well the CG would be known then.

use crate::weighing::{Known, Loads, Raised, Reading, Weighed, Weighing};

/// One thing better.
#[derive(Clone, Debug, PartialEq)]
pub struct Better {
    /// What.
    pub what: String,
    /// Standard deviation of the height then (without a lift so far: of x), m.
    pub sd: f64,
}

/// Each way to do better, best first. The readings are taken as the found car would give them.
pub fn better(weighing: &Weighing, found: &Weighed) -> Vec<Better> {
    let base = weighing.simulated(found);
    let lifted = found.height.is_some();
    let mut all = Vec::new();
    let mut ask = |what: &str, change: &dyn Fn(&mut Weighing)| {
        let mut w = base.clone();
        change(&mut w);
        // Loads again, for the new lifts.
        let again = w.simulated(found);
        if let Ok(f) = again.solve() {
            let sd = f.height.map_or(f.x.sd, |h| h.sd);
            all.push(Better { what: what.into(), sd });
        }
    };
    ask("scales with half the step, scatter and bias", &|w| {
        let s = &mut w.scales;
        (s.resolution, s.repeatability, s.bias, s.gain) =
            (s.resolution / 2.0, s.repeatability / 2.0, s.bias / 2.0, s.gain / 2.0);
    });
    ask("every reading twice", &|w| w.readings.extend(w.readings.clone()));
    ask("the wheelbase known twice as well", &|w| w.geometry.wheelbase.sd /= 2.0);
    if lifted {
        ask("100 mm more lift", &|w| {
            for r in &mut w.readings {
                if let Some((_, h)) = &mut r.lift {
                    h.value += 0.1;
                }
            }
        });
        ask("lift heights known twice as well", &|w| {
            for r in &mut w.readings {
                if let Some((_, h)) = &mut r.lift {
                    h.sd /= 2.0;
                }
            }
        });
        ask("wheel centres known twice as well", &|w| {
            w.geometry.radius = w.geometry.radius.map(|r| Known { sd: r.sd / 2.0, ..r });
        });
        ask("blocking the suspension (half its error)", &|w| w.method_share /= 2.0);
        for (raised, what) in
            [(Raised::Front, "the front axle raised as well"), (Raised::Rear, "the rear axle raised as well")]
        {
            let highest =
                base.readings.iter().filter_map(|r| r.lift).map(|(_, h)| h).max_by(|a, b| a.value.total_cmp(&b.value));
            let has = base.readings.iter().any(|r| r.lift.is_some_and(|(a, _)| a == raised));
            if let (false, Some(h)) = (has, highest) {
                let loads = if raised == Raised::Front { Loads::Rear(0.0) } else { Loads::Front(0.0) };
                let more = Reading { name: "more".into(), loads, lift: Some((raised, h)), pads: [0.0; 4] };
                ask(what, &|w| w.readings.push(more.clone()));
            }
        }
    }
    all.sort_by(|a, b| a.sd.total_cmp(&b.sd));
    all
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::weighing::{Geometry, Scales};

    /// One low lift on rough scales: by ∂h/∂(scale) of `docs/sources.md` 4 more lift is what helps, and nothing makes
    /// it worse.
    #[test]
    fn closed_form_a_low_lift_wants_to_be_higher() {
        let known = |value, sd| Known { value, sd };
        let geometry = Geometry {
            wheelbase: known(2.45, 0.002),
            track: [1.5; 2],
            radius: [known(0.3, 0.002); 2],
            tyre_rate: [None; 2],
        };
        let scales = Scales { resolution: 0.5, repeatability: 0.5, bias: 0.0, gain: 0.0 };
        let lift = Some((Raised::Rear, known(0.2, 0.002)));
        let readings = vec![
            Reading { name: "level".into(), loads: Loads::Axles([517.0, 583.0]), lift: None, pads: [0.0; 4] },
            Reading { name: "lift".into(), loads: Loads::Front(523.6), lift, pads: [0.0; 4] },
        ];
        let w = Weighing { geometry, scales, readings, fluids: Vec::new(), method_share: 0.01 };
        let found = w.solve().unwrap();
        let all = better(&w, &found);
        let now = w.simulated(&found).solve().unwrap().height.unwrap().sd;
        assert!(all.iter().all(|b| b.sd <= now * (1.0 + 1e-6)), "{all:?} {now}");
        let sd = |what: &str| all.iter().find(|b| b.what.contains(what)).unwrap().sd;
        // 0.2 → 0.3 m: 18.05 in place of 27.2 mm/kg. Twice as good scales: half. Heights hardly matter.
        assert!((sd("100 mm") / now - 2.0 / 3.0).abs() < 0.03, "{} {now}", sd("100 mm"));
        assert!((sd("half the step") / now - 0.5).abs() < 0.03);
        assert!(sd("lift heights") / now > 0.97);
    }
}
