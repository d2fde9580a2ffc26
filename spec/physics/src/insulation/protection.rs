//! How much protection a barrier is worth, and how much two parts of a unit need between them.

use super::voltage_class::VoltageClass;

/// Kind of insulation (IEC 60664-1).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Insulation {
    /// Needed for the circuit to work; protects nobody.
    Functional,
    /// The one layer against shock.
    Basic,
    /// An independent second layer.
    Supplementary,
    /// Both layers.
    Double,
    /// One layer that is worth both.
    Reinforced,
}

impl Insulation {
    /// Whether it is worth two layers and measured like it.
    #[must_use]
    pub const fn is_double(self) -> bool {
        matches!(self, Self::Double | Self::Reinforced)
    }
}

/// What lies between two parts.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Barrier {
    /// A wire, a shunt, a contactor, a single resistor.
    Conductor,
    /// Insulation.
    Insulation(Insulation),
    /// Two or more independent resistors that bound the current even with one of them shorted.
    ProtectiveImpedance,
}

impl Barrier {
    /// How many means of protection it is worth.
    ///
    /// `none for a conductor and for functional insulation, 1 for basic and supplementary, 2 for double and reinforced
    /// insulation and for protective impedance`. Valid: each rated for the whole voltage across it; layers in series
    /// add up only where they are independent. Source: IEC 61140; definitions of IEC 60664-1.
    #[must_use]
    pub const fn means(self) -> u8 {
        match self {
            Self::Conductor | Self::Insulation(Insulation::Functional) => 0,
            Self::Insulation(Insulation::Basic | Insulation::Supplementary) => 1,
            Self::Insulation(Insulation::Double | Insulation::Reinforced) | Self::ProtectiveImpedance => 2,
        }
    }
}

/// Kind of a part of a unit whose potentials belong together.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum DomainKind {
    /// Battery, bus and what is joined to them.
    Power,
    /// A gate circuit that rides on a switching node.
    FloatingPower,
    /// The 12, 24 or 48 V net of the machine and everything on it.
    LowVoltage,
    /// A communication bus or a service port.
    Communication,
    /// Metal that can be touched.
    Chassis,
    /// An insulating face that can be touched.
    Surface,
}

/// How a part is bonded to the chassis, or the chassis to itself.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Bonding {
    /// Not, or not stated.
    None,
    /// Stated without a route.
    Stated,
    /// Stated with the route that the bonding takes.
    ByRoute,
}

/// A part of a unit whose potentials belong together.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Domain {
    /// What it is.
    pub kind: DomainKind,
    /// Its voltage class.
    pub class: VoltageClass,
    /// Number of the system that it is joined to by conductors; none where it is not known.
    pub system: Option<u32>,
    /// How it is bonded.
    pub bonding: Bonding,
}

/// Insulation that a pair needs, in order of what it is worth.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Needed {
    /// Functional insulation.
    Functional,
    /// Basic insulation.
    Basic,
    /// Double or reinforced insulation.
    DoubleOrReinforced,
}

impl Needed {
    /// Means of protection that it stands for.
    #[must_use]
    pub const fn means(self) -> u8 {
        match self {
            Self::Functional => 0,
            Self::Basic => 1,
            Self::DoubleOrReinforced => 2,
        }
    }
}

/// Why a pair needs its insulation.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Because {
    /// Neither side hurts.
    BothHarmless,
    /// One system, inaccessible on both sides: a failure is a short circuit and no shock.
    OneSystem,
    /// A fault in one system must not move the other. A choice of this policy, not a clause of a standard.
    TwoSystems,
    /// A person may touch the other side.
    Touchable,
    /// A person may touch the other side, and its bonding is the second means.
    Bonded,
}

/// What a pair needs and why.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Required {
    /// The insulation.
    pub insulation: Needed,
    /// The reason.
    pub because: Because,
}

/// Insulation that two parts need between them; the same in either order.
///
/// `two means of protection between what hurts and what a person may touch, of which bonding is one`. Valid: a policy
/// in the pattern of ISO 6469-3 and IEC 62477-1; the standard of the machine goes before it. Source: ISO 6469-3 (basic
/// protection and fault protection); IEC 62477-1 (decisive voltage classes).
#[must_use]
pub fn required(one: &Domain, other: &Domain) -> Required {
    let answer = |insulation, because| Required { insulation, because };
    match (is_live(one), is_live(other)) {
        (false, false) => answer(Needed::Functional, Because::BothHarmless),
        (true, true) if !is_open(one) && !is_open(other) => {
            let same = matches!((one.system, other.system), (Some(one), Some(other)) if one == other);
            if same {
                answer(Needed::Functional, Because::OneSystem)
            } else {
                answer(Needed::Basic, Because::TwoSystems)
            }
        }
        // A net that can be touched and hurts is the open side all the same; of two the one that needs more.
        (true, true) => {
            let open = [one, other].into_iter().filter(|domain| is_open(domain)).map(touchable);
            open.max_by_key(|needs| needs.insulation).unwrap_or_else(|| touchable(other))
        }
        (true, false) => touchable(other),
        (false, true) => touchable(one),
    }
}

/// What hurts: a circuit of class B, whatever it is called.
fn is_live(domain: &Domain) -> bool {
    domain.class == VoltageClass::B && !matches!(domain.kind, DomainKind::Chassis | DomainKind::Surface)
}

/// Whether a person may come near it: everything but a power circuit.
fn is_open(domain: &Domain) -> bool {
    !matches!(domain.kind, DomainKind::Power | DomainKind::FloatingPower)
}

fn touchable(open: &Domain) -> Required {
    let bonded = match open.kind {
        DomainKind::Surface => false,
        DomainKind::Chassis => open.bonding >= Bonding::Stated,
        // The negative of a low-voltage net, or of a power stage of class A.
        _ => open.bonding == Bonding::ByRoute,
    };
    if bonded {
        Required { insulation: Needed::Basic, because: Because::Bonded }
    } else {
        Required { insulation: Needed::DoubleOrReinforced, because: Because::Touchable }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use DomainKind::{Chassis, Communication, FloatingPower, LowVoltage, Power, Surface};

    fn domain(kind: DomainKind, system: u32, bonding: Bonding) -> Domain {
        let class = match kind {
            Power | FloatingPower => VoltageClass::B,
            _ => VoltageClass::A,
        };
        Domain { kind, class, system: Some(system), bonding }
    }

    fn all() -> Vec<Domain> {
        let kinds = [Power, FloatingPower, LowVoltage, Communication, Chassis, Surface];
        let bondings = [Bonding::None, Bonding::Stated, Bonding::ByRoute];
        let mut all = Vec::new();
        for kind in kinds {
            for bonding in bondings {
                for class in [VoltageClass::A, VoltageClass::B] {
                    for system in [None, Some(1), Some(2)] {
                        all.push(Domain { kind, class, system, bonding });
                    }
                }
            }
        }
        all
    }

    #[test]
    fn the_order_of_a_pair_does_not_matter() {
        for one in all() {
            for other in all() {
                assert_eq!(required(&one, &other), required(&other, &one), "{one:?} {other:?}");
            }
        }
    }

    #[test]
    fn a_loss_of_bonding_never_lowers_what_is_needed() {
        for one in all() {
            for other in all() {
                let bare = Domain { bonding: Bonding::None, ..other };
                let bare_one = Domain { bonding: Bonding::None, ..one };
                assert!(required(&bare_one, &bare).insulation >= required(&one, &other).insulation);
            }
        }
    }

    #[test]
    fn pairs_of_a_traction_unit() {
        use Bonding::{ByRoute, None, Stated};
        use Needed::{Basic, DoubleOrReinforced, Functional};
        let pairs = [
            (domain(Power, 1, None), domain(LowVoltage, 9, None), DoubleOrReinforced),
            (domain(Power, 1, None), domain(LowVoltage, 9, Stated), DoubleOrReinforced),
            (domain(FloatingPower, 1, None), domain(LowVoltage, 9, ByRoute), Basic),
            (domain(FloatingPower, 1, None), domain(Communication, 9, None), DoubleOrReinforced),
            (domain(Power, 1, None), domain(Chassis, 0, Stated), Basic),
            (domain(Power, 1, None), domain(Chassis, 0, None), DoubleOrReinforced),
            (domain(Power, 1, None), domain(Surface, 0, ByRoute), DoubleOrReinforced),
            (domain(Power, 1, None), domain(FloatingPower, 1, None), Functional),
            (domain(FloatingPower, 1, None), domain(FloatingPower, 1, None), Functional),
            (domain(Power, 1, None), domain(Power, 2, None), Basic),
            (domain(LowVoltage, 9, None), domain(Chassis, 0, Stated), Functional),
            (domain(LowVoltage, 9, None), domain(Communication, 8, None), Functional),
        ];
        for (one, other, needed) in pairs {
            assert_eq!(required(&one, &other).insulation, needed, "{one:?} {other:?}");
        }
        let of_class_a = Domain { class: VoltageClass::A, ..domain(Power, 3, None) };
        assert_eq!(required(&of_class_a, &domain(LowVoltage, 9, None)).insulation, Functional);
        assert_eq!(required(&of_class_a, &domain(Power, 1, None)).insulation, DoubleOrReinforced);
    }

    #[test]
    fn a_barrier_meets_a_need_by_its_means() {
        assert_eq!(Barrier::Conductor.means(), 0);
        assert_eq!(Barrier::ProtectiveImpedance.means(), Needed::DoubleOrReinforced.means());
        assert_eq!(Barrier::Insulation(Insulation::Supplementary).means(), Needed::Basic.means());
        assert_eq!(Barrier::Insulation(Insulation::Functional).means(), Needed::Functional.means());
    }
}
