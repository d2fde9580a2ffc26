//! What passes no barrier, and what protects too little, in words.

use loadworthy_physics::insulation::protection::{Barrier as Worth, Because};
use loadworthy_unit::plan::{Crossing, Form, Isolation, Joins, Span};
use loadworthy_unit::{Dimension, PartId, Solved};

use super::{
    BONDING, EARTHED, ELSEWHERE, INDEPENDENCE, MERGED, NO_METAL, TOUCHED, UNKNOWN, UNNAMED, UNUSED, WEAK,
    bare, chassis, loose, meant, strangers, strays, unknown,
};
use crate::check::Told;
use crate::figure_text::value;
use crate::isolation::{
    Classes, Weak, first_layer, layered, needed_words, part_of, reason, ways, weak, worth_words,
};
use crate::review::Place;
use crate::tell::part_at;
use crate::verdict::Verdict;

/// Places that are shown of many.
pub(super) const MOST_PLACES: usize = 4;

pub(super) fn told(worst: &Verdict, solved: &Solved<'_>) -> Option<Told> {
    let isolation = solved.variant.plan.isolation.as_ref()?;
    let teller = Teller { solved, isolation, part: worst.part };
    match worst.defect {
        UNNAMED => teller.unnamed(),
        ELSEWHERE => teller.elsewhere(),
        UNKNOWN => teller.unknown(),
        MERGED => teller.merged(),
        WEAK => teller.weak(),
        UNUSED => teller.unused(),
        INDEPENDENCE => teller.independence(),
        TOUCHED => teller.touched(),
        BONDING => teller.bonding(),
        EARTHED => chassis::earthed(solved, isolation, worst.part),
        NO_METAL => chassis::without_metal(solved, isolation),
        _ => None,
    }
}

/// A failure with what it is about.
pub(super) struct Teller<'a, 'u> {
    pub(super) solved: &'a Solved<'u>,
    pub(super) isolation: &'a Isolation,
    pub(super) part: PartId,
}

impl Teller<'_, '_> {
    pub(super) fn pair(&self, (one, other): (usize, usize)) -> String {
        format!("`{}` and `{}`", self.isolation.domain(one).name, self.isolation.domain(other).name)
    }

    fn at(&self, part: PartId, label: impl Into<String>) -> Place {
        part_at(self.solved, part, label.into())
    }

    fn unnamed(&self) -> Option<Told> {
        let pair = self.isolation.pairs.iter().find(|pair| pair.part == self.part)?;
        let classes = Classes::of(self.solved, self.isolation);
        let all: Vec<&Crossing> = bare(self.isolation, &classes, pair.between).collect();
        let first = *all.first()?;
        let joins = if all.len() == 1 { "joins" } else { "join" };
        let names = listed(&all.iter().map(|one| self.solved.variant.path(one.part)).collect::<Vec<_>>());
        let saying = format!(
            "{names} {joins} {} and {} no barrier between them",
            self.pair(pair.between),
            if all.len() == 1 { "passes" } else { "pass" }
        );
        let needed = classes.needed(self.isolation, pair.between).insulation;
        let mut told = Told::new(saying, self.at(first.part, what(first)));
        told.because = all[1..].iter().take(MOST_PLACES).map(|one| self.at(one.part, what(one))).collect();
        told.facts = vec![
            format!("joined without a barrier: {names}"),
            format!("needed between them: {}", needed_words(needed)),
        ];
        told.facts.extend(unknown::line(self.isolation, pair.between));
        if let Some(place) = meant::barrier_for(self.isolation, &classes, pair.between) {
            return self.meant(place, pair.between, told);
        }
        let is_signal = all.iter().all(|one| one.kind == Joins::Signal);
        if let Some(loose) = loose::net(self.isolation, &classes, pair.between).filter(|_| is_signal) {
            return Some(self.unbonded(loose, told));
        }
        for crossing in &all {
            let Some((named, node)) = crossing.names_barrier else { continue };
            let named = &self.isolation.barriers[named];
            let Some(between) = named.between else { continue };
            let name = self.solved.variant.path(crossing.part);
            let stands = self.pair(between);
            told.facts.push(format!("`{name}` names `{}`, which stands between {stands}", named.name));
            told.because.push(Place { node, label: "named here, between others".to_owned() });
        }
        for (place, barrier) in self.isolation.barriers.iter().enumerate() {
            let names = strangers::misplaced(self.solved, self.isolation, place);
            let names = names.into_iter().map(|one| &barrier.spanned_by[one]);
            let is_bare = |name: &String| all.iter().any(|crossing| crossing.names.contains(name));
            let crosses =
                |name: &String| self.isolation.crossings.iter().any(|crossing| crossing.names.contains(name));
            let is_between = barrier.between.map(super::ordered) == Some(pair.between);
            let is_told = |name: &String| is_bare(name) || is_between && !crosses(name);
            let own: Vec<_> = names.filter(|(name, ..)| is_told(name)).collect();
            let (Some(between), Some(&&(_, node, _))) = (barrier.between, own.first()) else { continue };
            let names = listed(&own.iter().map(|(name, ..)| name.as_str()).collect::<Vec<_>>());
            let stands = self.pair(between);
            told.facts.push(format!("`{}`, which stands between {stands}, lists {names}", barrier.name));
            let label =
                if is_between { "listed here, and passes nothing" } else { "listed here, between others" };
            told.because.push(Place { node, label: label.to_owned() });
        }
        Some(told)
    }

    /// What needs no barrier once both domains are bonded, and one is not said to be.
    fn unbonded(&self, loose: usize, mut told: Told) -> Told {
        let domain = self.isolation.domain(loose);
        told.saying = format!("`{}` is not said to be bonded, and {}", domain.name, told.saying);
        let at = self.at(domain.part, "nothing says that it is bonded");
        let first = core::mem::replace(&mut told.at, at);
        told.because.insert(0, first);
        told.because.truncate(MOST_PLACES);
        let why = format!(
            "`bonded: true` at {} where that is so, and then nothing has to stand between them; a barrier where it is not",
            domain.name
        );
        told.no_proposal = Some(why);
        told
    }

    /// What passes no barrier because the one that lists it names two other domains.
    fn meant(&self, place: usize, pair: (usize, usize), mut told: Told) -> Option<Told> {
        let barrier = &self.isolation.barriers[place];
        let (joined, stands) = (self.pair(pair), self.pair(barrier.between?));
        told.saying = format!(
            "`{}` stands between {stands}, and what it lists joins {joined} and passes no barrier there",
            barrier.name
        );
        let label = format!("meant for {joined}, as far as its list tells");
        let at = Place { node: barrier.between_at?, label };
        let first = core::mem::replace(&mut told.at, at);
        told.because.insert(0, first);
        told.because.truncate(MOST_PLACES);
        told.facts.push(format!("listed by `{}`, which stands between {stands}", barrier.name));
        Some(told)
    }

    fn touched(&self) -> Option<Told> {
        let (place, domain) = self.isolation.domains().find(|(_, domain)| domain.part == self.part)?;
        let most = chassis::largest(self.solved, self.isolation, place)?;
        let volts = value(most, Dimension::Voltage);
        let saying = format!("a person can touch `{}`, which comes to {volts}", domain.name);
        let mut told = Told::new(saying, self.at(domain.part, format!("touchable, and up to {volts}")));
        told.facts = vec![
            format!("a person can touch it, with up to {volts} on it"),
            "harmless: up to 60 V direct and 30 V rms alternating (ISO 6469-3)".to_owned(),
        ];
        let is_earthed = chassis::is_earthed(self.solved, self.isolation, (place, domain));
        told.facts.extend(strays::left_for(self.isolation, place).into_iter().map(|left| {
            format!(
                "no bus stands in `{}`, from which barriers keep it apart",
                self.isolation.domain(left).name
            )
        }));
        told.facts.extend(
            is_earthed.then(|| "it stands on the chassis as well: nothing isolates it from there".to_owned()),
        );
        let way =
            "cover it, or lock it until it is discharged; where that is done, `touchable: false` says so";
        told.no_proposal = Some(way.to_owned());
        Some(told)
    }

    fn elsewhere(&self) -> Option<Told> {
        if let Some(place) = self.isolation.barriers.iter().position(|barrier| barrier.part == self.part) {
            return self.stranger(place);
        }
        let crossing = self
            .isolation
            .crossings
            .iter()
            .find(|one| one.part == self.part && !super::is_where_it_says(self.isolation, one))?;
        let name = self.solved.variant.path(crossing.part);
        let (barrier, at) = crossing.names_barrier?;
        let barrier = &self.isolation.barriers[barrier];
        let joins = self.pair(crossing.between);
        let (saying, fact) = match crossing.listed_by.first() {
            Some(&other) => {
                let other = &self.isolation.barriers[other].name;
                (
                    format!("`{name}` names `{}` as its barrier, and `{other}` lists it", barrier.name),
                    format!("listed by `{other}`, not by `{}`", barrier.name),
                )
            }
            None => (
                format!(
                    "`{name}` joins {joins} and names `{}`, which stands between {}",
                    barrier.name,
                    self.pair(barrier.between?)
                ),
                format!("`{name}` joins {joins}"),
            ),
        };
        let place = Place { node: at, label: "names it here".to_owned() };
        let because = vec![self.at(barrier.part, "this barrier")];
        Some(Told { because, facts: vec![fact], ..Told::new(saying, place) })
    }

    fn unknown(&self) -> Option<Told> {
        let barrier = self.isolation.barriers.iter().find(|barrier| barrier.part == self.part)?;
        let mut open = barrier.spanned_by.iter().filter(|(.., is_known)| !is_known);
        let names: Vec<&str> = unknown::names(barrier).collect();
        let first = open.next()?;
        let saying = format!(
            "`{}` lists {}, and no driver, gate supply, transformer, magnetic component, sensor, signal, stage or contactor with a `coil` is called so",
            barrier.name,
            listed(&names)
        );
        let at = Place { node: first.1, label: "nothing is called so".to_owned() };
        let because =
            open.take(MOST_PLACES).map(|(_, node, _)| Place { node: *node, label: "nor so".to_owned() });
        let facts = vec![format!("names that lead nowhere: {}", listed(&names))];
        let way = "leave it out of the list, or give it the name of what it is meant for".to_owned();
        let no_proposal = Some(way);
        Some(Told { because: because.collect(), facts, no_proposal, ..Told::new(saying, at) })
    }

    fn merged(&self) -> Option<Told> {
        let merged = self.isolation.merged.iter().find(|merged| merged.part == self.part)?;
        let buses = &self.solved.variant.plan.buses;
        let (one, other) = merged.buses;
        let name = |bus: usize| self.solved.variant.path(buses[bus].part).to_owned();
        let saying = format!(
            "`{}` joins the buses `{}` and `{}`: {} are one domain",
            merged.by.0,
            name(one),
            name(other),
            self.pair(merged.between)
        );
        let at = Place { node: merged.by.1, label: "joins them without a barrier".to_owned() };
        let of_bus = |bus: usize| self.isolation.domains().find(|(_, one)| one.stress.buses.contains(&bus));
        let stands = |bus: usize| {
            let label = of_bus(bus).map(|(_, domain)| format!("stands in {}", domain.name));
            self.at(buses[bus].part, label.unwrap_or_default())
        };
        let because = vec![stands(one), stands(other)];
        let mut facts = vec![format!("one by `{}`: {}", merged.by.0, self.pair(merged.between))];
        facts.extend(strays::brought(self.solved, self.isolation, merged));
        let why = "either both buses stand in one domain, or a transformer stands between them";
        Some(Told { because, facts, no_proposal: Some(why.to_owned()), ..Told::new(saying, at) })
    }

    fn weak(&self) -> Option<Told> {
        let way = self.way()?;
        let pair = self.pair(way.between);
        let needed = needed_words(way.needed.insulation);
        let own = part_of(self.isolation, way.culprit(self.isolation)?)?;
        let saying = format!(
            "the weakest way between {pair} is worth {}, and they need {needed}: {}",
            means(way.path.means),
            reason(self.isolation, &way)
        );
        let mut told = Told::new(saying, self.at(own, self.label(way.culprit(self.isolation)?)));
        told.because = way
            .spans
            .iter()
            .filter_map(|&span| Some((part_of(self.isolation, span)?, span)))
            .filter(|(part, _)| *part != own)
            .take(MOST_PLACES)
            .map(|(part, span)| self.at(part, self.label(span)))
            .collect();
        told.facts = vec![
            format!("weakest way from {pair}: {}", self.drawn(&way)).replace("` and `", "` to `"),
            format!("needed by our table: {needed}, as {}", reason(self.isolation, &way)),
        ];
        told.worked = self.reckoned(&way);
        let classes = Classes::of(self.solved, self.isolation);
        if let Some(metal) = super::mend::unbonded(self.part, self.isolation, &classes) {
            let domain = self.isolation.domain(metal);
            let at = self.at(domain.part, "nothing says that it is bonded");
            let first = core::mem::replace(&mut told.at, at);
            told.because.insert(0, first);
            told.because.truncate(MOST_PLACES);
            let joined: Vec<&str> =
                loose::waiting(self.isolation, metal).map(|one| self.solved.variant.path(one.part)).collect();
            if !joined.is_empty() {
                let names = listed(&joined);
                told.facts.push(format!(
                    "joined to it without a barrier, which asks for its bonding as well: {names}"
                ));
            }
        }
        Some(told)
    }

    fn way(&self) -> Option<Weak> {
        let classes = Classes::of(self.solved, self.isolation);
        let all = weak(self.isolation, &ways(self.isolation, &classes));
        all.into_iter().find(|weak| {
            weak.culprit(self.isolation).and_then(|span| part_of(self.isolation, span)) == Some(self.part)
        })
    }

    fn drawn(&self, way: &Weak) -> String {
        let parts: Vec<String> = way.spans.iter().map(|&span| self.label(span)).collect();
        parts.join(", then ")
    }

    fn label(&self, span: Span) -> String {
        let worth = self.isolation.worth(span);
        match span {
            Span::Barrier(barrier) => {
                format!("{} is {}", self.isolation.barriers[barrier].name, worth_words(worth))
            }
            Span::Capacitor(capacitor) => {
                let capacitor = &self.isolation.capacitors[capacitor];
                format!("{} of class {} bridges {}", capacitor.name, capacitor.class, worth_words(worth))
            }
            Span::Bonding => "bonding to the chassis".to_owned(),
            Span::OwnStage => "a gate circuit and its own stage".to_owned(),
        }
    }

    fn reckoned(&self, way: &Weak) -> Vec<String> {
        let mut worked: Vec<String> = way
            .spans
            .iter()
            .map(|&span| {
                let means = self.isolation.worth(span).map_or(0, Worth::means);
                format!("{}: {means}", self.label(span))
            })
            .collect();
        worked.extend(way.path.bonded.map(|place| {
            format!("`{}` is bonded and lies on the way: 1", self.isolation.domain(place).name)
        }));
        worked.push(format!(
            "in all {} of {} means of protection",
            way.path.means,
            way.needed.insulation.means()
        ));
        worked.push(
            "needed by our table in the pattern of ISO 6469-3 and IEC 62477-1; the standard of the machine goes before it"
                .to_owned(),
        );
        worked
    }

    fn unused(&self) -> Option<Told> {
        let barrier = self.isolation.barriers.iter().find(|barrier| barrier.part == self.part)?;
        let saying = format!("nothing passes `{}`", barrier.name);
        let at = self.at(barrier.part, "no list and no `crosses`");
        let why = "list what lies across it in `spanned_by`, or leave it out";
        let facts = vec![format!("between {}", self.pair(barrier.between?))];
        Some(Told { facts, no_proposal: Some(why.to_owned()), ..Told::new(saying, at) })
    }

    fn independence(&self) -> Option<Told> {
        let classes = Classes::of(self.solved, self.isolation);
        let ways = layered(self.isolation, &classes);
        let way = ways.into_iter().find(|way| first_layer(self.isolation, way) == Some(self.part))?;
        let saying = format!(
            "between {} two layers count as double: that they are independent, and each made for the whole voltage, is to be shown",
            self.pair(way.between)
        );
        let mut told = Told::new(saying, self.at(self.part, "the first layer"));
        let others = way.spans.iter().filter_map(|&span| part_of(self.isolation, span));
        told.because =
            others.filter(|part| *part != self.part).map(|part| self.at(part, "another")).collect();
        told.facts = vec![self.drawn(&way)];
        told.no_proposal = Some("a remark for whoever designs the layers".to_owned());
        Some(told)
    }

    fn bonding(&self) -> Option<Told> {
        let way =
            self.all().into_iter().find(|way| rests_on_bonding(self.isolation, way) == Some(self.part))?;
        let saying = format!(
            "between {} basic insulation counts as enough, because bonding is the second means: it rests on that route",
            self.pair(way.between)
        );
        let mut told = Told::new(saying, self.at(self.part, "its bonding route is stated as kept"));
        told.no_proposal =
            Some("a remark for whoever keeps the route; without it double insulation is needed".to_owned());
        Some(told)
    }

    fn all(&self) -> Vec<Weak> {
        ways(self.isolation, &Classes::of(self.solved, self.isolation))
    }
}

/// The net whose bonding lets basic insulation be enough.
pub(super) fn rests_on_bonding(isolation: &Isolation, way: &Weak) -> Option<PartId> {
    let is_net = |place: usize| matches!(isolation.domain(place).form, Form::Circuit { .. });
    let (one, other) = way.between;
    if way.needed.because != Because::Bonded || way.path.means != 1 || !is_net(one) || !is_net(other) {
        return None;
    }
    let touched =
        if isolation.domain(one).form == (Form::Circuit { touchable: false }) { other } else { one };
    Some(isolation.domain(touched).part)
}

fn what(crossing: &Crossing) -> String {
    match crossing.kind {
        Joins::Driver => "its gates on one side, its controller on the other",
        Joins::Supply => "takes its power on one side and feeds gates on the other",
        Joins::Core => "feeds gates on one side, from a core whose other windings feed gates on the other",
        Joins::Controller => "stands on one side and takes its power on the other",
        Joins::Discharge => "takes its power on one side and discharges the other",
        Joins::Coil => "its coil takes its power on one side, its contacts stand on the other",
        Joins::Transformer => "its transformer stands between them",
        Joins::Sensor => "measures on one side and is read on the other",
        Joins::Signal => "joins them",
        Joins::Wound => "its windings stand on cooled metal",
        Joins::Cooled => match crossing.isolated_cases {
            Some(true) => "its devices stand on cooled metal with their isolated bases",
            Some(false) => "its devices stand on cooled metal, and what lies under live cases isolates",
            None => "its devices stand on cooled metal",
        },
    }
    .to_owned()
}

fn means(count: u8) -> String {
    match count {
        0 => "no means of protection".to_owned(),
        1 => "1 means of protection".to_owned(),
        more => format!("{more} means of protection"),
    }
}

pub(super) fn listed(names: &[&str]) -> String {
    let shown: Vec<String> = names.iter().take(MOST_PLACES).map(|name| format!("`{name}`")).collect();
    let rest = names.len().saturating_sub(MOST_PLACES);
    match (shown.split_last(), rest) {
        (Some((last, [])), 0) => last.clone(),
        (Some((last, before)), 0) => format!("{} and {last}", before.join(", ")),
        (_, rest) => format!("{} and {rest} more", shown.join(", ")),
    }
}
