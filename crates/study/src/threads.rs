//! Threads where there are some; a browser's module has one, and what is done at once elsewhere is done there in its order.

#[cfg(not(target_arch = "wasm32"))]
pub use rayon::join;

#[cfg(target_arch = "wasm32")]
pub fn join<A, B>(a: impl FnOnce() -> A, b: impl FnOnce() -> B) -> (A, B) {
    (a(), b())
}

/// What `one` makes of each number below `count`, in their order. Each is a piece of work of its own: laps take from a
/// millisecond to many, and whoever is done takes over half of what another has left.
pub fn each<T: Send>(count: usize, one: impl Fn(usize) -> T + Sync) -> Vec<T> {
    let mut made: Vec<Option<T>> = (0..count).map(|_| None).collect();
    fill(&mut made, 0, &one);
    made.into_iter().flatten().collect()
}

/// The same of each of `all`.
pub fn each_of<A: Sync, T: Send>(all: &[A], one: impl Fn(&A) -> T + Sync) -> Vec<T> {
    each(all.len(), |i| one(&all[i]))
}

/// Compiled once for a type, whatever is asked.
fn fill<T: Send>(made: &mut [Option<T>], first: usize, one: &(dyn Fn(usize) -> T + Sync)) {
    match made {
        [] => {}
        [only] => *only = Some(one(first)),
        _ => {
            let (left, right) = made.split_at_mut(made.len() / 2);
            let middle = first + left.len();
            join(|| fill(left, first, one), || fill(right, middle, one));
        }
    }
}
