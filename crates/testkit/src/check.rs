//! Comparisons that tell their distance, and what is told of many.

/// |got − want| ≤ tolerance, told with its distance.
#[track_caller]
pub fn close(what: &str, got: f64, want: f64, tolerance: f64) {
    println!("{what}: {got:.6}, wanted {want:.6}, off {:.1e} (tolerance {tolerance:.0e})", got - want);
    assert!((got - want).abs() <= tolerance, "{what}: {got} is not {want} ± {tolerance}");
}

/// The quantile of a sorted list.
pub fn quantile(sorted: &[f64], q: f64) -> f64 {
    if sorted.is_empty() { f64::NAN } else { sorted[((sorted.len() - 1) as f64 * q).round() as usize] }
}
