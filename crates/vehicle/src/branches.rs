//! Which way each of the model's conditions goes. States with equal branches lie on one smooth piece of the model; held
//! fixed, they continue that piece smoothly past its end, which is how the lap solver finds where it ends.

/// What becomes of a condition: it is only answered, also noted down, or answered as it was noted before.
pub trait Ways {
    /// The conditions' own answers do not count: they need not be worked out.
    const HELD: bool;

    /// Which way to go.
    fn note(&mut self, condition: bool) -> bool;
}

/// Every condition goes its own way.
pub struct Free;

impl Ways for Free {
    const HELD: bool = false;

    #[inline(always)]
    fn note(&mut self, condition: bool) -> bool {
        condition
    }
}

/// The ways taken, in the order the conditions were asked.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Branches {
    ways: u64,
    asked: u32,
}

impl Ways for Branches {
    const HELD: bool = false;

    #[inline(always)]
    fn note(&mut self, condition: bool) -> bool {
        self.ways |= u64::from(condition) << self.asked;
        self.asked += 1;
        condition
    }
}

/// The same ways again, whatever the conditions say.
pub struct Held(u64);

impl From<Branches> for Held {
    fn from(branches: Branches) -> Self {
        Self(branches.ways)
    }
}

impl Ways for Held {
    const HELD: bool = true;

    #[inline(always)]
    fn note(&mut self, _: bool) -> bool {
        let way = self.0 & 1 == 1;
        self.0 >>= 1;
        way
    }
}
