//! From the car as it stands to its target: what each plan takes off or puts on, largest first.

use unladen_questions::ledger::Answer;
use unladen_study::ledger::summary::Step;
use unladen_vehicle::entry::Entry;

use crate::draw::header::Header;
use crate::draw::look::{ACCENT, ACCENT_TEXT, GRID, INK, INK_SOFT, LABEL, Paper, RULE, SERIES, SMALL, stroke};
use crate::draw::measure::font::Face;
use crate::draw::measure::ticks::Axis;
use crate::draw::picture::{Picture, PlotError};
use crate::draw::svg::{Anchor, Canvas, Text, centred, label, small};
use crate::words::aboard::aboard;
use crate::words::number::{fixed, signed, with_sd};

/// What to draw.
#[derive(Clone, Copy, Debug)]
pub struct WaterPlot<'a> {
    /// The car's name.
    pub car: &'a str,
    /// What is aboard.
    pub aboard: &'a str,
    /// The rows of the ledger.
    pub entries: &'a [Entry],
    /// The way there; rows that are done come first.
    pub steps: &'a [Step],
    /// The mass to be reached, kg.
    pub target_kg: Option<f64>,
}

/// A bar: a row, or rows that happen together.
#[derive(Clone, Debug, PartialEq)]
struct Bar {
    name: String,
    kg: f64,
}

/// A row's height: beside its name, or beneath it.
const ROW: [f64; 2] = [22.0, 36.0];
const BAR: f64 = 12.0;
/// Room for names, px.
const NAMES: f64 = 230.0;
/// Room for figures at the end.
const END: [f64; 2] = [110.0, 48.0];
/// More bars than this: the smallest are drawn as one.
const MOST: usize = 24;

/// The plans of a budget.
pub fn waterfall(v: &Answer, paper: Paper) -> Result<Picture, PlotError> {
    let (car, aboard, entries) = (v.car.as_str(), &aboard(v.aboard), v.entries.as_slice());
    let plot = WaterPlot { car, aboard, entries, steps: &v.budget.steps, target_kg: v.target_kg };
    waterfall_picture(&plot, paper)
}

/// Draws it.
pub fn waterfall_picture(plot: &WaterPlot, paper: Paper) -> Result<Picture, PlotError> {
    let Some(now) = plot.steps.iter().rev().find(|s| s.done) else {
        return Err(PlotError::Empty { what: "the list of steps" });
    };
    let last = &plot.steps[plot.steps.len() - 1];
    let bars = bars(plot);
    let title = finding(plot, now, last, &bars);
    let subtitle = format!(
        "{} with {} aboard: from how it stands through what is planned, the largest first",
        plot.car, plot.aboard
    );
    let header = Header::plan(&title, &subtitle, paper);
    let (row, end) = (paper.of(ROW[0], ROW[1]), paper.of(END[0], END[1]));
    let (left, right) = (paper.margin() + paper.of(NAMES, 4.0), paper.right() - end);
    let mut level = now.mass;
    let mut levels = vec![level];
    for bar in &bars {
        level += bar.kg;
        levels.push(level);
    }
    let ends = [now.mass - now.sd, now.mass + now.sd, last.mass - last.sd, last.mass + last.sd];
    let all = levels.iter().chain(&ends).copied().chain(plot.target_kg);
    let (low, high) = all.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)));
    let room = 0.04 * (high - low).max(1.0);
    let axis = Axis::over(low - room, high + room, paper.of(8, 4));
    let px = |kg: f64| left + (right - left) * axis.share(kg);
    let top = header.height + 34.0;
    let bottom = top + row * (bars.len() + 2) as f64;
    let mut canvas = Canvas::new("waterfall", paper.width, bottom + 24.0 + paper.of(24.0, 4.0));
    header.draw(&mut canvas);
    canvas.part("grid", |canvas| {
        for tick in &axis.ticks {
            canvas.line(&[(px(*tick), top), (px(*tick), bottom)], stroke(GRID, 0.8));
            canvas.text(Text { anchor: Anchor::Middle, ..small(&axis.label(*tick), (px(*tick), bottom + 15.0)) });
        }
        canvas.text(small("kg", (right + 8.0, bottom + 15.0)));
    });
    if let Some(target) = plot.target_kg {
        canvas.line(&[(px(target), top - 4.0), (px(target), bottom)], stroke(ACCENT, 1.6));
        let words = format!("target {} kg", fixed(target, 0));
        let half = 0.5 * Face::Regular.width(&words, LABEL);
        let x = px(target).clamp(paper.margin() + half, paper.right() - half);
        canvas.text(Text { anchor: Anchor::Middle, colour: ACCENT_TEXT, ..label(&words, (x, top - 9.0)) });
    }
    let middle = |i: usize| top + row * (i as f64 + 0.5) + paper.of(0.0, 8.0);
    // Figures keep off the line of the target: on its other side where they would lie upon it.
    let clear =
        |from: f64, wide: f64| plot.target_kg.is_none_or(|kg| px(kg) < from - 3.0 || px(kg) > from + wide + 3.0);
    let beside = |[a, b]: [f64; 2], wide: f64, right: bool| {
        let after = |x: f64| (x + 6.0, x + 6.0 + wide < paper.right());
        let before = |x: f64| (x - 6.0 - wide, x - 6.0 - wide > paper.margin());
        let mut tries = [after(a.max(b)), before(a.min(b))];
        if !right {
            tries.reverse();
        }
        let free = tries.iter().find(|(from, inside)| *inside && clear(*from, wide));
        let past = plot.target_kg.map(|kg| after(px(kg)));
        free.or(past.as_ref().filter(|p| p.1)).or(tries.iter().find(|t| t.1)).unwrap_or(&tries[0]).0
    };
    canvas.part("ends", |canvas| {
        for (i, name, step) in [(0, "now", now), (bars.len() + 1, "with all that is planned", last)] {
            let (x, y) = (px(step.mass), middle(i));
            name_of(canvas, name, (left, y), true, paper);
            canvas.line(&[(px(step.mass - step.sd), y), (px(step.mass + step.sd), y)], stroke(INK, 1.4));
            for end in [step.mass - step.sd, step.mass + step.sd] {
                canvas.line(&[(px(end), y - 4.0), (px(end), y + 4.0)], stroke(INK, 1.4));
            }
            canvas.disc((x, y), 4.0, INK);
            let words = format!("{} kg", with_sd(step.mass, step.sd));
            let wide = Face::Semibold.width(&words, LABEL);
            let ends = [px(step.mass - step.sd) - 4.0, px(step.mass + step.sd) + 4.0];
            let at = (beside(ends, wide, true), y + centred(LABEL));
            canvas.text(Text { face: Face::Semibold, halo: true, ..label(&words, at) });
        }
    });
    canvas.part("bars", |canvas| {
        for (i, bar) in bars.iter().enumerate() {
            let (a, b, y) = (px(levels[i]), px(levels[i + 1]), middle(i + 1));
            name_of(canvas, &bar.name, (left, y), false, paper);
            // From the end of the bar above: where this one starts.
            canvas.line(&[(a, y - row + 0.5 * BAR), (a, y - 0.5 * BAR)], stroke(RULE, 1.0));
            let colour = if bar.kg > 0.0 { ACCENT } else { SERIES[0] };
            canvas.rect((a.min(b), y - 0.5 * BAR), ((a - b).abs().max(1.0), BAR), colour);
            let words = signed(&fixed(bar.kg, 1)).replace('-', "−");
            let x = beside([a, b], Face::Regular.width(&words, SMALL), bar.kg > 0.0);
            canvas.text(Text { halo: true, ..small(&words, (x, y + centred(SMALL))) });
        }
        let end = px(level);
        canvas.line(&[(end, middle(bars.len()) + 0.5 * BAR), (end, middle(bars.len() + 1))], stroke(RULE, 1.0));
    });
    let alt = format!(
        "{title}. Bars from {} kg to {} kg. {}",
        fixed(now.mass, 0),
        fixed(last.mass, 0),
        bars.iter().map(|b| format!("{} {} kg", b.name, signed(&fixed(b.kg, 1)))).collect::<Vec<_>>().join("; ")
    );
    canvas.finish(&title, &alt)
}

fn name_of(canvas: &mut Canvas, name: &str, (left, y): (f64, f64), strong: bool, paper: Paper) {
    let face = if strong { Face::Semibold } else { Face::Regular };
    let colour = if strong { INK } else { INK_SOFT };
    if paper.narrow() {
        let words = face.fit(name, LABEL, paper.right() - left);
        return canvas.text(Text { face, colour, halo: true, ..label(&words, (left, y - 0.5 * BAR - 5.0)) });
    }
    let words = face.fit(name, LABEL, NAMES - 14.0);
    canvas.text(Text { anchor: Anchor::End, face, colour, ..label(&words, (left - 12.0, y + centred(LABEL))) });
}

/// Planned rows, groups as one, what saves most first; the smallest together where there are many.
fn bars(plot: &WaterPlot) -> Vec<Bar> {
    let mut all: Vec<Bar> = Vec::new();
    for step in plot.steps.iter().filter(|s| !s.done) {
        let Some(entry) = step.row.and_then(|row| plot.entries.get(row)) else { continue };
        let (name, kg) = (entry.group.clone().unwrap_or_else(|| entry.item.clone()), entry.change.mass());
        match all.iter_mut().find(|b| entry.group.is_some() && b.name == name) {
            Some(bar) => bar.kg += kg,
            None => all.push(Bar { name, kg }),
        }
    }
    if all.len() > MOST {
        all.sort_by(|a, b| b.kg.abs().total_cmp(&a.kg.abs()));
        let rest = all.split_off(MOST - 1);
        let name = format!("{} smaller ones", rest.len());
        all.push(Bar { name, kg: rest.iter().map(|b| b.kg).sum() });
    }
    all.sort_by(|a, b| a.kg.total_cmp(&b.kg));
    all
}

fn finding(plot: &WaterPlot, now: &Step, last: &Step, bars: &[Bar]) -> String {
    let change = last.mass - now.mass;
    let most = bars.first().filter(|b| b.kg < 0.0).map_or_else(String::new, |b| {
        format!(", most of all {} ({})", b.name, signed(&fixed(b.kg, 0)).replace('-', "−"))
    });
    let whole = format!("The plans change it by {} kg{most}", signed(&fixed(change, 0)).replace('-', "−"));
    match plot.target_kg {
        Some(target) => {
            let over = last.mass - target;
            let side = if over > 0.0 { "above" } else { "below" };
            format!("{whole}, and end {} kg {side} the target", with_sd(over.abs(), last.sd))
        }
        None => whole,
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use unladen_vehicle::change::Change;
    use unladen_vehicle::entry::{Origin, State};
    use unladen_vehicle::mass::Part;

    fn entry(item: &str, kg: f64, group: Option<&str>) -> Entry {
        let part = Some(Part::point(kg.abs(), 1.0, 0.0, 0.5));
        let change = if kg < 0.0 { Change { before: part, after: None } } else { Change { before: None, after: part } };
        Entry {
            item: item.into(),
            area: None,
            state: State::Planned,
            change,
            origin: Origin::Weighed,
            sd: None,
            scale: None,
            rotating_inertia: 0.0,
            cost: None,
            hours: None,
            group: group.map(Into::into),
            excludes: Vec::new(),
            needs: Vec::new(),
            day: None,
            note: String::new(),
        }
    }

    fn steps(entries: &[Entry]) -> Vec<Step> {
        let mut mass = 1000.0;
        let mut all = vec![Step { row: None, day: None, mass, sd: 1.0, done: true }];
        for (i, e) in entries.iter().enumerate() {
            mass += e.change.mass();
            all.push(Step { row: Some(i), day: None, mass, sd: 1.5, done: false });
        }
        all
    }

    #[test]
    fn closed_form_groups_are_one_bar_and_the_title_says_where_it_ends() {
        let entries = [
            entry("a", -5.0, Some("g")),
            entry("b", -20.0, None),
            entry("c", -8.0, Some("g")),
            entry("cage", 30.0, None),
        ];
        let steps = steps(&entries);
        let plot = WaterPlot { car: "c", aboard: "x", entries: &entries, steps: &steps, target_kg: Some(995.0) };
        let names: Vec<_> = bars(&plot).into_iter().map(|b| (b.name, b.kg)).collect();
        assert_eq!(names, [("b".into(), -20.0), ("g".into(), -13.0), ("cage".into(), 30.0)]);
        let picture = waterfall_picture(&plot, Paper::FILE).unwrap();
        assert_eq!(
            picture.title,
            "The plans change it by −3 kg, most of all b (−20), and end 2.0 ± 1.5 kg above the target"
        );
        assert!(picture.svg.contains(">target 995 kg</text>") && picture.svg.contains(">+30.0</text>"));
    }

    #[test]
    fn property_sixty_rows_are_drawn_as_two_dozen() {
        let entries: Vec<Entry> = (0..60).map(|i| entry(&format!("part {i}"), -0.1 - f64::from(i), None)).collect();
        let steps = steps(&entries);
        let plot = WaterPlot { car: "c", aboard: "x", entries: &entries, steps: &steps, target_kg: None };
        let all = bars(&plot);
        assert_eq!(all.len(), MOST);
        let sum: f64 = all.iter().map(|b| b.kg).sum();
        assert!((sum - entries.iter().map(|e| e.change.mass()).sum::<f64>()).abs() < 1e-9);
        assert!(all.iter().any(|b| b.name == "37 smaller ones"), "{all:?}");
    }

    #[test]
    fn bad_input_nothing_to_draw() {
        let plot = WaterPlot { car: "c", aboard: "x", entries: &[], steps: &[], target_kg: None };
        assert!(matches!(waterfall_picture(&plot, Paper::FILE), Err(PlotError::Empty { .. })));
    }
}
