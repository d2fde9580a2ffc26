//! What lies between domains and what is worth how much, in words, for whoever draws it; nothing is judged here.

use loadworthy_physics::insulation::protection::{Barrier as Worth, Insulation, Needed};
use loadworthy_unit::Solved;
use loadworthy_unit::plan::{Form, Isolation, Span};

use super::{Classes, ways};

/// Two domains that need protection from one another, with the weakest way between them.
#[derive(Clone, Debug)]
pub struct Way {
    /// The two domains.
    pub between: (usize, usize),
    /// What they need, in words.
    pub needed: &'static str,
    /// Means of protection that they need.
    pub needed_means: u8,
    /// Means of protection on the weakest way; bonding may be one.
    pub means: u8,
    /// What lies on it.
    pub spans: Vec<Span>,
}

/// The weakest way between every two domains that need protection from one another.
#[must_use]
pub fn weakest(solved: &Solved<'_>, isolation: &Isolation) -> Vec<Way> {
    let classes = Classes::of(solved, isolation);
    let all = ways(isolation, &classes).into_iter();
    all.map(|way| Way {
        between: way.between,
        needed: needed_words(way.needed.insulation),
        needed_means: way.needed.insulation.means(),
        means: way.path.means,
        spans: way.spans,
    })
    .collect()
}

/// What something between two domains is worth, in a word.
#[must_use]
pub fn worth(isolation: &Isolation, span: Span) -> &'static str {
    worth_words(isolation.worth(span))
}

/// How many layers it stands for where it is drawn: 0 for what joins, 1 for one layer, 2 for two or what is worth them.
#[must_use]
pub fn layers(isolation: &Isolation, span: Span) -> u8 {
    isolation.worth(span).map_or(0, |worth| worth.means())
}

/// What a domain is, in words.
#[must_use]
pub fn what(isolation: &Isolation, place: usize) -> &'static str {
    match isolation.domain(place).form {
        Form::Circuit { touchable: true } => "circuit that may be touched",
        Form::Circuit { touchable: false } => "circuit out of reach",
        Form::Gates => "gate circuit",
        Form::Metal if isolation.domain(place).is_inside => "metal out of reach",
        Form::Metal => "metal that may be touched",
        Form::Surface => "surface",
    }
}

/// What two domains need, in words.
pub(crate) fn needed_words(needed: Needed) -> &'static str {
    match needed {
        Needed::Functional => "functional insulation",
        Needed::Basic => "basic insulation",
        Needed::DoubleOrReinforced => "double or reinforced insulation",
    }
}

/// What something between them is worth, in words.
pub(crate) fn worth_words(worth: Option<Worth>) -> &'static str {
    match worth {
        Some(Worth::Insulation(Insulation::Functional)) => "functional",
        Some(Worth::Insulation(Insulation::Basic)) => "basic",
        Some(Worth::Insulation(Insulation::Supplementary)) => "supplementary",
        Some(Worth::Insulation(Insulation::Double)) => "double",
        Some(Worth::Insulation(Insulation::Reinforced)) => "reinforced",
        Some(Worth::ProtectiveImpedance) => "a protective impedance",
        Some(Worth::Conductor) => "no insulation",
        None => "of a kind that is not stated",
    }
}
