//! The way of a budget by date.

use unladen_garage::written;
use unladen_questions::ledger::Answer;
use unladen_study::ledger::summary::Budget;

use crate::draw::look::Paper;
use crate::draw::picture::{Picture, PlotError};
use crate::ledger::burn::{BurnPlot, burn_picture};
use crate::words::aboard::aboard;

/// Kilograms against dates.
pub fn burn_down(v: &Answer, paper: Paper) -> Result<Picture, PlotError> {
    let names: Vec<String> = v.entries.iter().map(|e| e.item.clone()).collect();
    let plot = BurnPlot {
        car: &v.car,
        aboard: &aboard(v.aboard),
        steps: &v.budget.steps,
        names: &names,
        target_kg: v.target_kg,
        dates: &months(&v.budget),
    };
    burn_picture(&plot, paper)
}

/// The first of each month between the first row and the last, every second or third where there are many.
fn months(budget: &Budget) -> Vec<(i64, String)> {
    const NAMES: [&str; 12] = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];
    let days: Vec<i64> = budget.steps.iter().filter(|s| s.done).filter_map(|s| s.day).collect();
    let (Some(first), Some(last)) = (days.iter().min(), days.iter().max()) else { return Vec::new() };
    let starts: Vec<i64> = (*first..=*last).filter(|d| written(*d).ends_with("-01")).collect();
    let every = starts.len().div_ceil(8).max(1);
    let name = |day: i64| {
        let date = written(day);
        let month = date.get(5..7).and_then(|m| m.parse::<usize>().ok()).unwrap_or(1);
        format!("{} {}", NAMES[(month - 1).min(11)], &date[..4])
    };
    starts.into_iter().step_by(every).map(|day| (day, name(day))).collect()
}
