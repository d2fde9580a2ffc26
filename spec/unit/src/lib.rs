//! The resolved unit, the plan, and the solver.
//!
//! Takes a description as it was read, and answers what every part of it carries at every duty point. What stands in
//! the description is reached through ids of its nodes only; nothing here opens a file or prints.

mod asked;
mod build;
mod degraded;
pub mod device;
pub mod graph;
pub mod ids;
pub mod missing;
pub mod origin;
mod over_time;
pub mod permit;
pub mod plan;
pub mod side_by_side;
pub mod slip;
pub mod solved;
pub mod solver;
pub mod stock;
pub mod table;
pub mod trace;
pub mod trials;
pub mod variant;

pub use asked::Asked;
pub use ids::{CurveId, DutyId, FigureId, InputId, LaneId, PartId};
pub use loadworthy_language::defaults::Default as Assumption;
pub use loadworthy_language::quantity::Dimension;
pub use loadworthy_language::{PolicyForm, PolicyItem};
pub use loadworthy_source::NodeId;
pub use missing::{Cause, Diagnosis, Reach};
pub use origin::Origin;
pub use over_time::{BEGINS_UNKNOWN, mission};
pub use permit::{Permit, UpTo};
pub use slip::{Move, Slip};
pub use solved::{Derivation, Edit, Glance, Reordered, Solved, WIDTH as LANES_ABREAST};
pub use solver::LaneState;
pub use trials::Trials;
pub use variant::{Duty, Lane, Lanes, Mission, MissionCourse, PolicyValue, Unit, Variant};
