//! Which way each of the model's conditions goes. States with equal branches lie on one smooth piece of the model; held
//! fixed, they continue that piece smoothly past its end, which is how the lap solver finds where it ends.

/// The ways taken, in the order the conditions were asked; either noted down or held.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Branches {
    ways: u64,
    asked: u32,
    held: bool,
}

impl Branches {
    /// The same ways again, whatever the conditions say.
    pub fn hold(self) -> Self {
        Self { asked: 0, held: true, ..self }
    }

    /// A condition: noted and handed back, or answered as held.
    #[inline(always)]
    pub fn note(&mut self, condition: bool) -> bool {
        let way = if self.held { (self.ways >> self.asked) & 1 == 1 } else { condition };
        if !self.held {
            self.ways |= u64::from(way) << self.asked;
        }
        self.asked += 1;
        way
    }

    /// The ways are held: conditions need not be worked out.
    #[inline(always)]
    pub fn held(&self) -> bool {
        self.held
    }
}
