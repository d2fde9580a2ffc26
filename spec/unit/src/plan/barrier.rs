//! Barriers between domains, and the distances that they are asked for.

use loadworthy_physics::insulation::clearance::ClearanceAsked;
use loadworthy_physics::insulation::creepage::CreepageAsked;
use loadworthy_physics::insulation::material::MaterialGroup;
use loadworthy_physics::insulation::protection::Insulation;
use loadworthy_physics::insulation::{Between, PollutionDegree};
use loadworthy_physics::{Length, Voltage};
use loadworthy_source::NodeId;

use crate::ids::{FigureId, InputId, PartId};

/// What isolates two domains.
#[derive(Clone, Debug)]
pub struct Barrier {
    /// The barrier.
    pub part: PartId,
    /// What the description calls it.
    pub name: String,
    /// The two domains; none where they are not stated.
    pub between: Option<(usize, usize)>,
    /// Where it says so.
    pub between_at: Option<NodeId>,
    /// The pairs whose voltages it may have to stand: its own two, or where one of them floats and brings no voltage
    /// itself, what a failed layer beyond may put onto it.
    pub carries: Vec<(usize, usize)>,
    /// Its kind; none where it is not stated.
    pub kind: Option<Insulation>,
    /// The kind as a number, its place in the order of kinds.
    pub kind_stated: InputId,
    /// Material group as a number, its place in the order of groups.
    pub group: InputId,
    /// Pollution degree.
    pub degree: InputId,
    /// Whether the degree is its own, and not that of the surroundings.
    pub has_own_degree: bool,
    /// Pollution degree of the surroundings.
    pub degree_around: InputId,
    /// Highest altitude.
    pub altitude: InputId,
    /// Whether both distances lie on a printed board.
    pub printed: bool,
    /// Whether it keeps apart what hangs on one system.
    pub is_within: bool,
    /// Whether both its sides are gate circuits on one rail, between which nothing stands.
    pub is_one_potential: bool,
    /// Distances that it has, where stated.
    pub clearance: InputId,
    /// Along a surface.
    pub creepage: InputId,
    /// What it is made for, where stated: rms, recurring peak, impulse.
    pub rated: Option<InputId>,
    /// Recurring peak that it is made for.
    pub rated_peak: Option<InputId>,
    /// Frequency up to which it is proven.
    pub proven: Option<InputId>,
    /// Impulse that it is made for.
    pub rated_impulse: Option<InputId>,
    /// What lies across it, by name: where the name stands, and whether anything is called so.
    pub spanned_by: Vec<(String, NodeId, bool)>,
    /// What is solved for it.
    pub figures: BarrierFigures,
}

/// Figures of a barrier.
#[derive(Clone, Copy, Debug)]
pub struct BarrierFigures {
    /// Working voltage, rms.
    pub rms: FigureId,
    /// Recurring peak.
    pub peak: FigureId,
    /// Largest impulse, before it is raised for reinforced insulation.
    pub impulse: FigureId,
    /// Impulse that it must stand.
    pub withstand: FigureId,
    /// Least distance through air.
    pub clearance: FigureId,
    /// Least distance along a surface.
    pub creepage: FigureId,
}

impl Barrier {
    /// Domains whose voltages it may have to stand.
    pub fn carried_by(&self) -> impl Iterator<Item = usize> {
        self.carries.iter().flat_map(|&(one, other)| [one, other])
    }

    /// What its clearance is asked for; `input` and `figure` say what they are in a lane.
    #[must_use]
    pub fn clearance_asked(
        &self,
        input: impl Fn(InputId) -> f64,
        impulse: f64,
        is_fed_by_mains: bool,
    ) -> Option<ClearanceAsked> {
        Some(ClearanceAsked {
            impulse: Voltage::new(impulse),
            degree: degree(input(self.degree))?,
            insulation: self.kind?,
            altitude: Length::new(input(self.altitude)),
            printed_wiring: self.printed,
            // Between the rows of preferred values a circuit that mains feed takes the next one.
            between_rows: if is_fed_by_mains { Between::NextRow } else { Between::Interpolate },
            between_altitudes: Between::Interpolate,
        })
    }

    /// What its creepage distance is asked for.
    #[must_use]
    pub fn creepage_asked(&self, input: impl Fn(InputId) -> f64, rms: f64) -> Option<CreepageAsked> {
        Some(CreepageAsked {
            rms: Voltage::new(rms),
            degree: degree(input(self.degree))?,
            group: group(input(self.group))?,
            insulation: self.kind?,
            printed_wiring: self.printed,
            between_rows: Between::Interpolate,
        })
    }
}

/// The pollution degree that a number stands for.
fn degree(number: f64) -> Option<PollutionDegree> {
    (1..=4).find(|&one| (number - f64::from(one)).abs() < 0.5).and_then(PollutionDegree::of)
}

/// Material groups in the order of their numbers.
pub(crate) const GROUPS: [MaterialGroup; 4] =
    [MaterialGroup::I, MaterialGroup::II, MaterialGroup::IIIa, MaterialGroup::IIIb];

fn group(number: f64) -> Option<MaterialGroup> {
    let place = (0u8..4).find(|&place| (number - f64::from(place)).abs() < 0.5)?;
    GROUPS.get(usize::from(place)).copied()
}
