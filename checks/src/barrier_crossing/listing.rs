//! What barriers list that does not pass them, in words.

use loadworthy_unit::{NodeId, PartId};

use super::strangers;
use super::tell::{MOST_PLACES, Teller, listed};
use crate::check::Told;
use crate::isolation::Classes;
use crate::review::Place;

impl Teller<'_, '_> {
    /// Names in the list of a barrier that do not pass it, and in those of others for the same reason.
    pub(super) fn stranger(&self, place: usize) -> Option<Told> {
        let classes = Classes::of(self.solved, self.isolation);
        let groups = strangers::groups(self.solved, self.isolation, &classes);
        let group = groups.into_iter().find(|group| group[0] == place)?;
        let mut sayings = Vec::new();
        let mut places = Vec::new();
        for &one in &group {
            let barrier = &self.isolation.barriers[one];
            let listed_here = strangers::strangers(self.solved, self.isolation, &classes, one);
            let names: Vec<&str> = listed_here.iter().map(|&k| barrier.spanned_by[k].0.as_str()).collect();
            let own = self
                .isolation
                .crossings
                .iter()
                .find(|own| own.names.iter().any(|name| names.first() == Some(&name.as_str())));
            let does = match (own, names.len()) {
                (Some(_), 1) => "joins other domains",
                (Some(_), _) => "join other domains",
                (None, 1) if self.within(names[0]).is_some() => {
                    "is read where it stands, and joins no two domains"
                }
                (None, 1) => "takes its power where it feeds gates, and joins no two domains",
                (None, _) if names.iter().any(|name| self.within(name).is_some()) => {
                    "stay on one side of it, and join no two domains"
                }
                (None, _) => "take their power where they feed gates, and join no two domains",
            };
            let stands = self.pair(barrier.between?);
            sayings.push(format!(
                "`{}` stands between {stands} and lists {}, which {does}",
                barrier.name,
                listed(&names)
            ));
            for &k in &listed_here {
                let name = &barrier.spanned_by[k].0;
                let own = self.isolation.crossings.iter().find(|own| own.names.contains(name));
                let label = match (own, self.within(name)) {
                    (Some(own), _) => format!("joins {}", self.pair(own.between)),
                    (None, Some(at)) => format!("stands in `{at}`, and is read there"),
                    (None, None) => "stands on one side of it".to_owned(),
                };
                // A sensor that says itself where it stands is listed here for what it stands on.
                if let Some((_, at, Some(said))) = self.standing(name) {
                    let label = format!("stands in {} by this word alone", self.isolation.domain(at).name);
                    places.insert(0, Place { node: said, label });
                }
                places.push(Place { node: barrier.spanned_by[k].1, label });
            }
        }
        let mut places = places.into_iter();
        let at = places.next()?;
        let because = places.take(MOST_PLACES).collect();
        Some(Told { because, facts: sayings.clone(), ..Told::new(sayings.swap_remove(0), at) })
    }

    /// The domain of a sensor that is read where it stands.
    fn within(&self, name: &str) -> Option<&str> {
        let (_, at, _) = self.standing(name)?;
        Some(&self.isolation.domain(at).name)
    }

    /// A sensor that is read where it stands, with its domain and where it says so itself.
    fn standing(&self, name: &str) -> Option<(PartId, usize, Option<NodeId>)> {
        self.isolation.within.iter().copied().find(|(part, ..)| self.solved.variant.path(*part) == name)
    }
}
