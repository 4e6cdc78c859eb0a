//! Threads where there are some; a browser's module has one, and what is done at once elsewhere is done there in its order.

#[cfg(not(target_arch = "wasm32"))]
pub use rayon::{join, prelude::*};

#[cfg(target_arch = "wasm32")]
pub use one::*;

#[cfg(target_arch = "wasm32")]
mod one {
    pub fn join<A, B>(a: impl FnOnce() -> A, b: impl FnOnce() -> B) -> (A, B) {
        (a(), b())
    }

    pub trait Many: IntoIterator + Sized {
        fn into_par_iter(self) -> Self::IntoIter {
            self.into_iter()
        }
    }
    impl<I: IntoIterator> Many for I {}

    pub trait Slice<T> {
        fn par_iter(&self) -> std::slice::Iter<'_, T>;
        fn par_iter_mut(&mut self) -> std::slice::IterMut<'_, T>;
    }
    impl<T> Slice<T> for [T] {
        fn par_iter(&self) -> std::slice::Iter<'_, T> {
            self.iter()
        }
        fn par_iter_mut(&mut self) -> std::slice::IterMut<'_, T> {
            self.iter_mut()
        }
    }

    pub trait Longer<T>: Extend<T> {
        fn par_extend(&mut self, more: impl IntoIterator<Item = T>) {
            self.extend(more);
        }
    }
    impl<T> Longer<T> for Vec<T> {}

    pub trait Each: Iterator + Sized {
        fn map_init<S, R>(self, init: impl Fn() -> S, f: impl Fn(&mut S, Self::Item) -> R) -> impl Iterator<Item = R> {
            let mut state = init();
            self.map(move |item| f(&mut state, item))
        }
    }
    impl<I: Iterator> Each for I {}
}
