//! Text, tables and pictures of a ranking, on made-up and on extreme values.
#![allow(clippy::unwrap_used)]

use unladen_questions::rank::Answer;
use unladen_questions::stands::standing::Said;
use unladen_report::draw::look::Paper;
use unladen_report::draw::picture::PlotError;
use unladen_report::rank::json::{rank_csv, rank_json};
use unladen_report::rank::picture::rank_picture;
use unladen_report::rank::text::rank_text;
use unladen_study::rank::best_set::{Set, WithinBudget};
use unladen_study::rank::gain::Sources;
use unladen_study::rank::ranked::{Ranked, Ranking, Whole};
use unladen_study::uncertainty::paired::Unknown;
use unladen_study::uncertainty::reversal::{Reversal, Settles};
use unladen_study::uncertainty::spread::{Difference, How};
use unladen_study::uncertainty::stopwatch::Stopwatch;

fn difference(gain: f64, sd: f64) -> Difference {
    Difference {
        of: 1,
        against: 0,
        gain,
        median: gain,
        interval: [gain - 1.645 * sd, gain + 1.645 * sd],
        sd,
        chance: if gain > 0.0 { 0.97 } else { 0.03 },
        how: if sd > 0.0 { How::FirstOrder } else { How::Certain },
        shares: if sd > 0.0 { vec![(0, 0.8), (1, 0.2)] } else { Vec::new() },
    }
}

fn item(name: &str, kg: f64, gain: f64, sd: f64, places: Option<[usize; 2]>) -> Ranked {
    Ranked {
        name: name.into(),
        rows: Vec::new(),
        with: Vec::new(),
        kg,
        cost: Some(200.0),
        hours: None,
        gain: difference(gain, sd),
        error_s: 2e-4,
        places,
        sources: Some(Sources { mass_s: 0.8 * gain, height_s: 0.2 * gain, ..Sources::default() }),
        phases: [0.1 * gain, 0.2 * gain, 0.6 * gain, 0.1 * gain],
        retuned_s: None,
        kg_equivalent: Some(gain / 0.01),
    }
}

fn ranking(items: Vec<Ranked>) -> Ranking {
    let unknown = |name: &str, unit: &str| Unknown { name: name.into(), sd: 0.4, unit: unit.into() };
    Ranking {
        tracks: vec![("Airfield".into(), 1.0)],
        mass_kg: 1200.0,
        done_kg: -70.0,
        lap_time_s: 75.5,
        lap_time_error_s: 9e-4,
        retuned: None,
        planned: Some(Whole {
            all: item("all that is planned", -18.0, 0.205, 0.02, None),
            sum_s: 0.2,
            left_out: vec![],
        }),
        items,
        yardsticks: vec![item("10 kg less, at the centre of gravity", -10.0, 0.1, 0.002, None)],
        ideas: None,
        reversed_by: Some(Reversal { unknown: 0, sds: -2.1, settles: Settles::At(0.2) }),
        unknowns: vec![unknown("mass of bonnet", "kg"), unknown("mass.cg_height", "m")],
        draws: 16,
        within_budget: None,
    }
}

fn view(found: &Ranking, candidates: &[String]) -> Answer {
    Answer {
        money: None,
        car: "Saloon".into(),
        state: Said { change_kg: -70.0, mass_kg: 1200.0, ..Said::default() },
        entries: Vec::new(),
        candidates: candidates.to_vec(),
        found: found.clone(),
        left_out: Vec::new(),
        comes_with: Vec::new(),
        stopwatch: Stopwatch::new(0.3),
        spread_assumed: true,
        target_kg: None,
        open: None,
        warnings: Vec::new(),
    }
}

fn three() -> Ranking {
    let zero = item("sticker", -1e-6, 1e-8, 0.0, None);
    ranking(vec![item("bonnet", -10.0, 0.12, 0.01, Some([1, 2])), item("wheels", -8.0, 0.1, 0.01, Some([1, 2])), zero])
}

#[test]
fn closed_form_what_is_printed() {
    let found = three();
    let text = rank_text(&view(&found, &[]));
    for words in [
        "1–2    bonnet",
        "+0.104 to +0.136",
        "no difference that can be resolved",
        "As it stands now, 1200.0 kg as it laps: the weighing, -70.0 kg.",
        // σ 0.3 s, 0.12 s: δ/σ 0.4 needs 100 a side (power 0.80 at n 100, sources.md 39).
        "100",
        "wheels would come before bonnet if mass of bonnet were off by -0.84 kg (2.1 standard deviations)",
        "known to ± 0.20 kg (1 sd) it would be",
        "put it on a scale",
        "0.0050 s more",
        "80 % mass of bonnet",
    ] {
        // Paragraphs are broken into lines.
        let flat = text.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(text.contains(words) || flat.contains(words), "`{words}` is not in\n{text}");
    }
    let line = |name: &str| text.lines().find(|l| l.contains(name)).unwrap().to_owned();
    assert!(!line("sticker").contains("1e"), "what can't be resolved has no number");
    assert_eq!(text.matches("closed track").count(), 1);
}

#[test]
fn closed_form_the_best_set() {
    let mut found = three();
    let set = |candidates: Vec<usize>, gain| Set {
        candidates,
        kg: -10.0,
        cost: 200.0,
        hours: 4.0,
        gain: difference(gain, 0.01),
    };
    let picked = WithinBudget {
        order: Vec::new(),
        sets: vec![set(vec![0], 0.12), set(vec![1], 0.1)],
        ahead: Some(Difference { chance: 0.7, ..difference(0.02, 0.03) }),
        rest_s: Some(0.09),
        exact: true,
        lapped: 24,
        off_s: 1e-4,
        lightest_kg: None,
    };
    found.within_budget = Some(picked.clone());
    let names = ["bonnet".to_owned(), "wheels".to_owned()];
    let text = rank_text(&view(&found, &names));
    assert!(text.contains("Best set: bonnet. -10.0 kg, 200 money, 4.0 hours; 0.120 s quicker"), "{text}");
    assert!(text.contains("can't be told apart.") && text.contains("Exact: the 24 best sets"), "{text}");
    let json: serde_json::Value = serde_json::from_str(&rank_json(&view(&found, &names)).unwrap()).unwrap();
    assert_eq!(
        (json["best"]["sets"][0]["items"][0].as_str(), json["best"]["exact"].as_bool()),
        (Some("bonnet"), Some(true))
    );
    found.within_budget = Some(WithinBudget { sets: vec![], lightest_kg: Some(-18.0), ..picked });
    let none = rank_text(&Answer { target_kg: Some(-50.0), ..view(&found, &names) });
    assert!(none.contains("-50.0 kg are due") && none.contains("32.0 kg short"), "{none}");
}

#[test]
fn property_machines_get_every_row_and_no_number_that_is_none() {
    let mut found = three();
    let csv = rank_csv(&view(&found, &[])).unwrap();
    assert_eq!(csv.lines().count(), 5);
    let columns = csv.lines().next().unwrap().split(',').count();
    assert!(csv.lines().skip(1).all(|l| l.matches(',').count() >= columns - 1));
    found.items[1].gain.sd = f64::NAN;
    assert!(rank_json(&view(&found, &[])).is_err());
}

#[test]
fn bad_input_pictures_of_extremes() {
    let long = "a very long name that nobody should give a row of a ledger but somebody will ".repeat(4);
    let many: Vec<Ranked> =
        (0..90).map(|i| item(&format!("{long}{i}"), -1.0, 1e-3 * f64::from(90 - i), 2e-3, Some([1, 90]))).collect();
    let heavy = vec![item("cage", 900.0, -40.0, 3.0, Some([1, 1])), item("bolt", -0.1, 5e-4, 0.0, Some([2, 2]))];
    for (name, items) in [("many", many), ("heavy", heavy), ("none", three().items.split_off(2))] {
        let found = ranking(items);
        for paper in [Paper::FILE, Paper::PHONE] {
            crate::labels::apart(&rank_picture(&view(&found, &[]), paper).unwrap());
        }
        let picture = rank_picture(&view(&found, &[]), Paper::FILE).unwrap();
        if let Some(folder) = std::env::var_os("UNLADEN_PICTURES") {
            let path = std::path::Path::new(&folder).join(format!("rank_{name}.svg"));
            std::fs::write(path, &picture.svg).unwrap();
        }
        assert!(picture.svg.contains("data-part=\"bars\""));
    }
    let mut nothing = ranking(Vec::new());
    nothing.yardsticks.clear();
    assert!(matches!(rank_picture(&view(&nothing, &[]), Paper::FILE), Err(PlotError::Empty { .. })));
    let mut bad = three();
    bad.items[0].retuned_s = Some(f64::NAN);
    assert!(rank_picture(&view(&bad, &[]), Paper::FILE).is_err());
}
