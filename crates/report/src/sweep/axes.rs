//! What is swept, in words.

use unladen_study::sweep::Grid;

use crate::words::number::fixed;

/// Each axis of a grid: `mass 1100 to 1300 kg in 5`.
pub fn axes(grid: &Grid) -> Vec<String> {
    let all = [
        ("mass", &grid.mass, 1.0, " kg", 0),
        ("height of the centre of gravity", &grid.cg_height, 1e3, " mm", 0),
        ("front share", &grid.front_share, 1.0, "", 3),
        ("fuel", &grid.fuel.map(|f| f.0), 1e3, " L", 1),
        ("grip", &grid.grip, 1.0, "", 2),
    ];
    all.into_iter()
        .filter_map(|(name, axis, factor, unit, decimals)| {
            let axis = axis.as_ref()?;
            let [from, to] = axis.ends().map(|x| fixed(x * factor, decimals));
            Some(if axis.count() == 1 {
                format!("{name} {from}{unit}")
            } else {
                format!("{name} {from} to {to}{unit} in {}", axis.count())
            })
        })
        .collect()
}
