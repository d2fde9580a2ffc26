//! Dense numbers for what a plan holds; each indexes one table of its variant.

macro_rules! ids {
    ($($(#[$doc:meta])* $name:ident),+ $(,)?) => {$(
        $(#[$doc])*
        #[derive(Copy, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
        pub struct $name(u32);

        impl $name {
            /// The id with this place in its table.
            #[must_use]
            pub fn new(index: usize) -> Self {
                Self(u32::try_from(index).unwrap_or(u32::MAX))
            }

            /// Its place in its table.
            #[inline]
            #[must_use]
            pub fn index(self) -> usize {
                self.0 as usize
            }
        }
    )+};
}

ids! {
    /// A part of the unit: a stage, a switch position, a chip, a coolant place.
    PartId,
    /// A solved figure.
    FigureId,
    /// A number that the description states, or should.
    InputId,
    /// A data-sheet curve.
    CurveId,
    /// A duty point.
    DutyId,
    /// A lane: one duty point in one corner.
    LaneId,
}
