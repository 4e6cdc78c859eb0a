//! A smooth curve through positions: nodes, knots, the posterior of their noise.

pub(crate) mod banded;
pub(crate) mod knots;
pub(crate) mod nodes;
pub(crate) mod noise;
pub(crate) mod polyline;
pub(crate) mod smooth;
pub(crate) mod spline;
