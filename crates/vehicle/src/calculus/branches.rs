//! Which way each of the model's conditions goes. States with equal branches lie on one smooth piece of the model; held
//! fixed, they continue that piece smoothly past its end, which is how the lap solver finds where it ends.

/// What becomes of a condition: it is only answered, also noted down, or answered as it was noted before.
pub trait Conditions {
    /// The conditions' own answers do not count: they need not be worked out.
    const HELD: bool;

    /// Which way to go.
    fn note(&mut self, condition: bool) -> bool;

    /// Another condition that may turn out the tightest: is its slack wanted? Held, only that of the one which did.
    fn wants(&mut self) -> bool;

    /// Whether it is the tightest so far.
    fn tightest(&mut self, so_far: bool) -> bool;
}

/// Every condition goes its own way.
pub struct Free;

impl Conditions for Free {
    const HELD: bool = false;

    #[inline(always)]
    fn note(&mut self, condition: bool) -> bool {
        condition
    }

    #[inline(always)]
    fn wants(&mut self) -> bool {
        true
    }

    #[inline(always)]
    fn tightest(&mut self, so_far: bool) -> bool {
        so_far
    }
}

/// The ways taken, in the order the conditions were asked, and which of the slacks was the least.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Branches {
    conditions: u64,
    asked: u16,
    slacks: u8,
    least: u8,
}

impl Conditions for Branches {
    const HELD: bool = false;

    #[inline(always)]
    fn note(&mut self, condition: bool) -> bool {
        self.conditions |= u64::from(condition) << self.asked;
        self.asked += 1;
        condition
    }

    #[inline(always)]
    fn wants(&mut self) -> bool {
        self.slacks += 1;
        true
    }

    #[inline(always)]
    fn tightest(&mut self, so_far: bool) -> bool {
        if so_far {
            self.least = self.slacks;
        }
        so_far
    }
}

/// The same ways again, whatever the conditions say.
pub struct Held {
    conditions: u64,
    /// Slacks still to come up to the least, this one included.
    to_least: u8,
}

impl From<Branches> for Held {
    fn from(branches: Branches) -> Self {
        Self { conditions: branches.conditions, to_least: branches.least }
    }
}

impl Conditions for Held {
    const HELD: bool = true;

    #[inline(always)]
    fn note(&mut self, _: bool) -> bool {
        let way = self.conditions & 1 == 1;
        self.conditions >>= 1;
        way
    }

    #[inline(always)]
    fn wants(&mut self) -> bool {
        self.to_least = self.to_least.wrapping_sub(1);
        self.to_least == 0
    }

    #[inline(always)]
    fn tightest(&mut self, _: bool) -> bool {
        true
    }
}
