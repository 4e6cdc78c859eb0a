//! What `rank` prints of the best set within a budget.

use unladen_questions::rank::Answer;
use unladen_study::rank::best_set::{Set, Step, WithinBudget};

use crate::rank::certainty::chance;

use crate::words::change::Change;
use crate::words::money::money;
use crate::words::number::{fixed, signed};
use crate::words::table::{paragraph, printable};

/// The best set, the runner-up, and how sure it is that nothing is better.
pub fn pick_text(v: &Answer, picked: &WithinBudget) -> String {
    let [best, rest @ ..] = &picked.sets[..] else { return nothing(v, picked) };
    let mut out = paragraph(&format!("Best set: {}", set(v, best)));
    if let Some(second) = rest.first() {
        out += &paragraph(&format!("Runner-up: {}", set(v, second)));
    }
    if let Some(ahead) = &picked.ahead {
        let words = if ahead.chance >= 0.95 { "" } else { ", so they can't be told apart" };
        out += &paragraph(&format!(
            "The best is ahead by {} s, with a chance of {}{words}.",
            fixed(ahead.gain, 4),
            chance(ahead)
        ));
    }
    let lapped = picked.lapped;
    out += &paragraph(&match (picked.exact, picked.rest_s) {
        (true, None) => format!("Exact: all {lapped} possible sets were lapped."),
        (true, Some(rest)) => format!(
            "Exact: the {lapped} best sets by what rows gain alone and in pairs were lapped whole, which changed them by {} s \
             at most; no other set comes above {} s.",
            fixed(picked.off_s, 4),
            fixed(rest, 4)
        ),
        (false, rest) => format!(
            "The {lapped} best were lapped; no other set gains more than {} s{}.",
            fixed(rest.unwrap_or(0.0), 4),
            if rest.is_some() { "" } else { " (the search was cut short)" }
        ),
    });
    out += &order(v, picked);
    out + &free(v, best)
}

/// In which order to do it.
fn order(v: &Answer, picked: &WithinBudget) -> String {
    if picked.order.len() < 2 {
        return String::new();
    }
    let step = |s: &Step| {
        let names: Vec<String> = s.candidates.iter().map(|&c| printable(&v.candidates[c])).collect();
        let month = s.month.map_or_else(String::new, |month| format!("month {month}: "));
        format!(
            "{month}{} ({} s, {} s in all)",
            names.join(" with "),
            signed(&fixed(s.gain_s, 3)),
            signed(&fixed(s.so_far_s, 3))
        )
    };
    let steps: Vec<String> = picked.order.iter().map(step).collect();
    paragraph(&format!("In this order, what gains most for its money and hours first: {}.", steps.join("; ")))
}

fn set(v: &Answer, set: &Set) -> String {
    let names: Vec<String> = set.candidates.iter().map(|&c| printable(&v.candidates[c])).collect();
    let names = if names.is_empty() { "nothing at all".to_owned() } else { names.join(", ") };
    let (kg, hours) = (signed(&fixed(set.kg, 1)), fixed(set.hours, 1));
    let cost = match v.money.as_deref() {
        Some(symbol) => money(set.cost, Some(symbol)),
        None => format!("{} money", money(set.cost, None)),
    };
    format!("{names}. {kg} kg, {cost}, {hours} hours; {}.", Change::of(&set.gain, 1e-4).words())
}

/// Rows that state no cost or no hours count as free.
fn free(v: &Answer, best: &Set) -> String {
    let items = &v.found.items;
    let of = |c: usize| items.iter().find(|i| i.name == v.candidates[c]);
    let rows = || best.candidates.iter().filter_map(|&c| of(c)).flat_map(|i| i.rows.iter().map(|&r| &v.entries[r]));
    let (unpriced, untimed) =
        (rows().filter(|e| e.cost.is_none()).count(), rows().filter(|e| e.hours.is_none()).count());
    if unpriced + untimed == 0 {
        return String::new();
    }
    paragraph(&format!("Rows without a cost ({unpriced}) or without hours ({untimed}) count as free."))
}

fn nothing(v: &Answer, picked: &WithinBudget) -> String {
    let target = v.target_kg.map(|kg| signed(&fixed(kg, 1)));
    paragraph(&match (target, picked.lightest_kg) {
        (Some(target), Some(lightest)) => format!(
            "No set meets the target: {target} kg are due, and within money and hours {} kg are the most that can be had, {} kg \
             short. Raise the budget, or find other rows.",
            signed(&fixed(lightest, 1)),
            fixed(lightest - v.target_kg.unwrap_or(0.0), 1)
        ),
        _ => "No set meets the budget: not even what must be kept fits.".to_owned(),
    })
}
