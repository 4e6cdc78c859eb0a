//! Said with every answer.

/// `docs/model.md` §9 in a paragraph.
pub const NOT_MODELLED: &str = "Not modelled: transients (yaw and roll inertia, dampers, the start of a bend), the yaw moment of \
    unequal drive or brake forces, unsprung mass apart from the sprung, the two wheels of an axle peaking at different slip, tyre \
    temperature and wear, camber and compliance, ride height's effect on the air, the driver's skill, and that a changed car \
    would take another line. Where a decision hangs on one of these, these numbers don't decide it.";

/// Said once.
pub const CAUTION: &str = "These are laps at the limit of grip. Try them on a closed track only, with a car whose structure, brakes, \
    restraints and fire protection are sound: what a part weighs says nothing of what it is there for.";
