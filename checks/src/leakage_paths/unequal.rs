//! Suppression capacitors of the two poles of a circuit that floats: pairs, so that its middle stays where the chassis is.

use loadworthy_unit::plan::{Isolation, Pole};
use loadworthy_unit::{Dimension, LaneId, PartId, Solved};

use crate::check::Told;
use crate::figure_text::value;
use crate::review::Place;
use crate::tell::{part_at, place};
use crate::verdict::Verdict;

/// How much more one pole may have than the other: tolerances of 20 % to either side.
const LIKE: f64 = 1.5;

/// What capacitors of its own lead from each pole of a domain, and the pole that has more.
struct Both {
    plus: f64,
    minus: f64,
    /// What strays beside them at either pole.
    stray: f64,
    more: PartId,
}

impl Both {
    fn of(isolation: &Isolation, domain: usize, solved: &Solved<'_>, lane: LaneId) -> Option<Self> {
        let is_minus = |pole: &Pole| solved.variant.path(pole.part).ends_with(".minus");
        let (mut plus, mut minus, mut stray) = (0.0, 0.0, 0.0_f64);
        let mut largest: Option<(f64, PartId, bool)> = None;
        for pole in isolation.poles.iter().filter(|pole| pole.domain == domain) {
            // The last is what strays of the whole domain.
            let (of_all, own) = pole.capacitances.split_last()?;
            stray = stray.max(solved.input(*of_all, lane).unwrap_or(0.0));
            let farad: f64 = own.iter().map(|&one| solved.input(one, lane)).sum::<Option<f64>>()?;
            *(if is_minus(pole) { &mut minus } else { &mut plus }) += farad;
            if largest.is_none_or(|(most, ..)| most < farad) {
                largest = Some((farad, pole.part, is_minus(pole)));
            }
        }
        let (_, more, _) = largest?;
        Some(Self { plus, minus, stray, more })
    }

    fn is_equal(&self) -> bool {
        let (less, more) = (self.plus.min(self.minus), self.plus.max(self.minus));
        more + self.stray <= LIKE * (less + self.stray)
    }
}

/// The pole of a domain with the largest capacitors, and whether both poles have about as much; nothing where none has any, or where it
/// is not known.
pub(super) fn poles(
    isolation: &Isolation,
    domain: usize,
    solved: &Solved<'_>,
    lane: LaneId,
) -> Option<(PartId, bool)> {
    let both = Both::of(isolation, domain, solved, lane)?;
    (both.plus + both.minus > 0.0).then(|| (both.more, both.is_equal()))
}

pub(super) fn told(worst: &Verdict, solved: &Solved<'_>) -> Option<Told> {
    let isolation = solved.variant.plan.isolation.as_ref()?;
    let pole = isolation.poles.iter().find(|pole| pole.part == worst.part)?;
    let both = Both::of(isolation, pole.domain, solved, LaneId::new(0))?;
    let farad =
        |farad: f64| if farad > 0.0 { value(farad, Dimension::Capacitance) } else { "none".to_owned() };
    let saying = format!(
        "capacitors to the chassis are unequal in `{}`: {} from its positive side, {} from its negative one",
        isolation.domain(pole.domain).name,
        farad(both.plus),
        farad(both.minus)
    );
    // The capacitors of the side with more, and of the other one where there are any.
    let own = isolation.poles.iter().filter(|one| one.domain == pole.domain);
    let all = own.flat_map(|one| {
        one.capacitances.split_last().map_or(&[][..], |(_, own)| own).iter().map(move |&farad| (one, farad))
    });
    let (mut first, mut rest): (Option<Place>, Vec<Place>) = (None, Vec::new());
    for (one, input) in all {
        let stated = solved.input(input, LaneId::new(0)).map(|stated| value(stated, Dimension::Capacitance));
        let there = stated.and_then(|text| {
            place(solved, input, LaneId::new(0), format!("{text} from `{}`", solved.variant.path(one.part)))
        });
        if one.part == worst.part && first.is_none() {
            first = there;
        } else {
            rest.extend(there);
        }
    }
    let at = first.unwrap_or_else(|| part_at(solved, worst.part, "the side with more".to_owned()));
    let facts = vec![
        "its middle does not stay where the chassis is, and what switches drives currents through the chassis that pairs would keep within the unit".to_owned(),
    ];
    let why = "a capacitor of the same value and class from the other pole";
    Some(Told { because: rest, facts, no_proposal: Some(why.to_owned()), ..Told::new(saying, at) })
}
